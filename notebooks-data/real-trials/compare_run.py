#!/usr/bin/env python3
"""Sets what runs of a scenario predict beside what a trial measured.

    compare_run.py NAME-trial.csv "without a fit=NAME-daily.csv" fitted=FITTED-daily.csv [--plot PLOT.csv] [--no-points]

The daily files are of `stoverturn run NAME.toml --daily`. Prints, by measure, treatment, placement or component, the root mean
square error and the mean of predicted less measured of each run, in points of per cent. PLOT.csv gets the measured points
(but for --no-points) and the predicted curves, told apart by the column `what`. Python's standard library alone.
"""
import argparse
import collections
import csv
import datetime
import math
import pathlib

MEASURES = ("mass left [%]", "nitrogen left [%]", "carbon left [%]")
VARIABLES = {  # by measure and by what the bags tell apart; carbon left is no series
    ("mass left [%]", ""): "dry_matter",
    ("mass left [%]", "placement"): "dry_matter_by_placement",
    ("mass left [%]", "component"): "dry_matter_by_component",
    ("nitrogen left [%]", ""): "nitrogen_in_residue",
    ("nitrogen left [%]", "placement"): "nitrogen_by_placement",
    ("nitrogen left [%]", "component"): "nitrogen_by_component",
}


def rows(path):
    with open(path, newline="", encoding="utf-8") as f:
        return list(csv.DictReader(line for line in f if not line.startswith("#")))


def measured_points(trial, split):
    """(day, % left) by (measure, treatment, part)."""
    points = collections.defaultdict(list)
    for r in trial:
        for measure in MEASURES:
            if r.get(measure) and (measure, split) in VARIABLES:
                key = (measure, r.get("treatment", ""), r.get(split, ""))
                points[key].append((int(r["days [d]"]), float(r[measure])))
    return points


def predicted(daily, split, named):
    """% left of the first day, by (measure, treatment, part) and day. One treatment is "" where bags name none."""
    names = {variable: measure for (measure, of), variable in VARIABLES.items() if of == split}
    curves = collections.defaultdict(dict)
    start = {}
    for r in daily:
        if r["variable"] not in names:
            continue
        key = (names[r["variable"]], r["treatment"] if named else "", r[split] if split else "")
        date = datetime.date.fromisoformat(r["date"])
        first, amount = start.setdefault(key, (date, float(r["value"])))
        if amount > 0:
            curves[key][(date - first).days] = 100 * float(r["value"]) / amount
    return curves


def thinned(curve):
    """Every day of the first two weeks, every seventh after that, and the last."""
    return [(day, left) for day, left in sorted(curve.items()) if day <= 14 or day % 7 == 0 or day == max(curve)]


def print_errors(points, runs, split):
    print(f"{'measure':18} {'treatment':12} {split:10} {'n':>3}" + "".join(f" {what:>20}" for what in runs))
    print(f"{'':46}" + f" {'rmse':>13} {'bias':>6}" * len(runs))
    for key, measured in points.items():
        print(f"{key[0]:18} {key[1]:12} {key[2]:10} {len(measured):3d}", end="")
        for curves in runs.values():
            off = [curves[key][day] - value for day, value in measured]
            print(f" {math.sqrt(sum(d * d for d in off) / len(off)):14.1f} {sum(off) / len(off):6.1f}", end="")
        print()


def write_plot(path, points, runs, split, with_points):
    series = [("measured", key, measured) for key, measured in points.items() if with_points]
    series += [(what, key, thinned(curves[key])) for what, curves in runs.items() for key in points]
    with open(path, "w", newline="", encoding="utf-8") as f:
        out = csv.writer(f, lineterminator="\n")
        out.writerow(("what", "measure", "treatment", split or "part", "days", "left"))
        for what, (measure, treatment, part), values in series:
            out.writerows((what, measure.split(" left")[0], treatment, part, day, f"{left:.1f}") for day, left in values)


def main():
    arguments = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    arguments.add_argument("trial", type=pathlib.Path)
    arguments.add_argument("runs", nargs="+", metavar="NAME=DAILY.csv")
    arguments.add_argument("--plot", type=pathlib.Path)
    arguments.add_argument("--no-points", action="store_true")
    given = arguments.parse_args()
    trial = rows(given.trial)
    split = next((c for c in ("placement", "component") if c in trial[0]), "")
    points = measured_points(trial, split)
    runs = {}
    for run in given.runs:
        what, _, daily = run.partition("=")
        runs[what] = predicted(rows(daily), split, "treatment" in trial[0])
    print_errors(points, runs, split)
    if given.plot:
        write_plot(given.plot, points, runs, split, not given.no_points)


if __name__ == "__main__":
    main()
