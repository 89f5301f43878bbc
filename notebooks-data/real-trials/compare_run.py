#!/usr/bin/env python3
"""Sets what a scenario predicts beside what a trial measured.

    compare_run.py NAME-daily.csv NAME-trial.csv [--curves CURVES.csv] [--points POINTS.csv]

NAME-daily.csv is of `stoverturn run NAME.toml --daily`. Prints, by treatment, placement or component and measure, the root
mean square error and the mean of predicted less measured, in points of per cent. CURVES.csv gets the predicted curves
every second day, POINTS.csv the measured points, both in the same columns, for plots. Python's standard library alone.
"""
import argparse
import collections
import csv
import datetime
import math
import pathlib

MEASURES = ("mass left [%]", "nitrogen left [%]")
VARIABLES = {  # by measure and by what the bags tell apart
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


def predicted(daily, split):
    """Per cent left of the first day by (measure, treatment, part), by day."""
    names = {VARIABLES[measure, split]: measure for measure in MEASURES}
    curves = collections.defaultdict(dict)
    start = {}
    for r in daily:
        if r["variable"] not in names:
            continue
        key = (names[r["variable"]], r["treatment"], r[split] if split else "")
        date = datetime.date.fromisoformat(r["date"])
        first, amount = start.setdefault(key, (date, float(r["value"])))
        if amount > 0:
            curves[key][(date - first).days] = 100 * float(r["value"]) / amount
    return curves


def main():
    arguments = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    for name in ("daily", "trial"):
        arguments.add_argument(name, type=pathlib.Path)
    for name in ("--curves", "--points"):
        arguments.add_argument(name, type=pathlib.Path)
    given = arguments.parse_args()
    trial = rows(given.trial)
    split = next((c for c in ("placement", "component") if c in trial[0]), "")
    curves = predicted(rows(given.daily), split)
    points = collections.defaultdict(list)
    for r in trial:
        for measure in MEASURES:
            if r.get(measure):
                points[measure, r.get("treatment", ""), r.get(split, "")].append((int(r["days [d]"]), float(r[measure])))
    if not any(key[1] for key in points):  # one treatment, which the trial does not name
        curves = {(m, "", part): curve for (m, _, part), curve in curves.items()}
    print(f"{'measure':18} {'treatment':20} {split:10} {'n':>3} {'rmse':>6} {'bias':>6}")
    for key, measured in points.items():
        off = [curves[key][day] - value for day, value in measured]
        rmse = math.sqrt(sum(d * d for d in off) / len(off))
        print(f"{key[0]:18} {key[1]:20} {key[2]:10} {len(off):3d} {rmse:6.1f} {sum(off) / len(off):6.1f}")
    header = ("measure", "treatment", split or "part", "days", "left")
    for path, table in ((given.curves, {k: sorted(curves[k].items())[::2] for k in points}), (given.points, points)):
        if path is None:
            continue
        with open(path, "w", newline="", encoding="utf-8") as f:
            out = csv.writer(f, lineterminator="\n")
            out.writerow(header)
            for (measure, treatment, part), series in table.items():
                out.writerows((measure.split(" left")[0], treatment, part, day, f"{left:.1f}") for day, left in series)


if __name__ == "__main__":
    main()
