#!/usr/bin/env python3
"""Every published figure beside what stoverturn predicts, with a band of 90 % where the program makes draws.

    compare_figures.py [--program stoverturn] [--csv OUT.csv] [--table OUT.md] [--check SCORE.json | --accept SCORE.json]
    compare_figures.py --short --check accepted-score.json      # no draws, nothing from ../shared: for every build

figures.csv holds the figures, figures.md its columns. A row with `trial` stands for all bags of that file, which
../real-trials/make_trials.py makes from the open data at run time. Python's standard library alone.
"""
import argparse
import collections
import concurrent.futures
import csv
import json
import math
import pathlib
import re
import shutil
import statistics
import subprocess
import sys
import tempfile

import predicted as model
import soil_sensors

HERE = pathlib.Path(__file__).resolve().parent
TRIALS = HERE.parent / "real-trials"
# One standard deviation, points of per cent or mg/kg: errors within a study, of bags and of the model, as calibrate.py found them.
BAG_SCATTER = {"mass left": 7.2, "carbon left": 11.0, "nitrogen left": 13.3, "highest nitrogen left": 13.3, "respired carbon": 2.0,
               "mineral nitrogen": 9.3}
SCATTER_OF_OTHERS = 7.2
# An error that makes the prediction of little use: figures of other units count by it.
SCALES = {"%": 10.0, "% of start": 20.0, "g/kg/d": 2.0, "mm": 50.0, "degC": 1.5, "m3/m3": 0.05, "g/g": 0.5, "1": 0.3,
          "g/kg": 1.0, "mg/kg": 10.0, "d": 10.0}
MARGIN = 0.05  # of the accepted score: what another machine or compiler never reaches, a lost process does
MEASURES = ("mass left [%]", "carbon left [%]", "nitrogen left [%]", "phosphorus left [%]", "potassium left [%]",
            "sulfur left [%]", "respired carbon [%]", "mineral nitrogen [mg/kg]")
GENERATED = "climate", "normals"


def rows(path):
    with open(path, newline="", encoding="utf-8") as f:
        return list(csv.DictReader(line for line in f if not line.startswith("#")))


def trial_figures(row, trial):
    """One figure for every measured number in a trial file, or of the treatments that the row names."""
    wanted = row["treatment"].split()
    for number, bag in enumerate(rows(trial), start=1):
        if wanted and bag["treatment"] not in wanted:
            continue
        for measure in (m for m in MEASURES if bag.get(m)):
            parts = {c: bag.get(c) or "" for c in ("treatment", "component", "placement")}
            name, unit = measure.removesuffix("]").split(" [")
            yield {**row, **parts, "id": f"{row['id']}-{number}-{name.split()[0]}", "quantity": name,
                   "when": bag["days [d]"], "observed": bag[measure], "unit": unit}


def all_figures(table, folder, notes):
    figures = []
    for row in rows(table):
        if not row["trial"]:
            figures.append(row)
        elif (folder / row["trial"]).exists():
            figures += trial_figures(row, folder / row["trial"])
        else:
            notes.append(f"{row['id']}: {row['trial']} is not there")
    return figures


def range_of(observed):
    """Lowest and highest value that agrees with what was published: "41", "> 0", "< 1", "3.1 to 3.8"."""
    if observed.startswith(">"):
        return float(observed[1:]), math.inf
    if observed.startswith("<"):
        return -math.inf, float(observed[1:])
    ends = [float(e) for e in observed.split(" to ")]
    return ends[0], ends[-1]


def prepare(folder, data, short):
    """Scenarios, trials and weather in one folder; for the short form only what the repository has."""
    for place in (TRIALS, HERE):
        for file in place.glob("*"):
            if file.suffix in (".toml", ".csv") and file.name != "figures.csv":
                shutil.copy(file, folder)
    if not short and data.is_dir():
        subprocess.run([sys.executable, str(TRIALS / "make_trials.py"), str(folder), "--data", str(data)], check=True,
                       stdout=subprocess.DEVNULL)
        soil_sensors.write_weather(data, folder / "ames-weather.csv")


def settings_of(text, seeds):
    """One list of --set for each run of a scenario: other seeds where its weather is generated."""
    weather = text.get("weather", {})
    if seeds > 1 and any(k in weather for k in GENERATED):
        return [[f"weather.seed={seed}"] for seed in range(1, seeds + 1)]
    return [[]]


def run_once(given, folder, name, number, settings):
    scenario = folder / name
    settings = settings + given.set
    asked = [f"draws={given.draws}"] if given.draws else []
    out = f"run-{scenario.stem}-{number}"
    try:
        daily = model.run(given.program, scenario, folder, out, settings + asked)
    except model.NotPredicted as refused:
        if not asked or "draws" not in str(refused):
            raise
        daily = model.run(given.program, scenario, folder, out, settings)
    series = model.Series(daily, scenario)
    daily.unlink()
    return series


def run_all(given, folder, figures, notes):
    """Series of all runs by scenario. A scenario that is not there or cannot run is told and left out."""
    wanted = []
    for name in dict.fromkeys(f["scenario"] for f in figures if f["scenario"]):
        if not (folder / name).exists():
            notes.append(f"{name} is not there")
            continue
        text = model.tomllib.loads((folder / name).read_text(encoding="utf-8"))
        file = text.get("weather", {}).get("file")
        if file and not (folder / file).exists():
            notes.append(f"{name}: {file} is not there")
            continue
        wanted += [(name, number, settings) for number, settings in enumerate(settings_of(text, given.seeds))]
    runs = collections.defaultdict(list)
    with concurrent.futures.ThreadPoolExecutor(given.jobs) as pool:
        started = [(name, pool.submit(run_once, given, folder, name, n, sets)) for name, n, sets in wanted]
        for name, future in started:
            try:
                runs[name].append(future.result())
            except model.NotPredicted as problem:
                notes.append(f"{name}: {problem}")
    return runs


def combined(first, second, sign):
    """Difference or quotient of two predictions. Its band takes the two as independent, so it is too wide for one field."""
    middle = first[1] - second[1] if sign == "-" else first[1] / second[1]
    if first[0] is None or second[0] is None:
        return None, middle, None
    pull = (1.0, 1.0) if sign == "-" else (1 / second[1], first[1] / second[1] ** 2)
    down = math.hypot((first[1] - first[0]) * pull[0], (second[2] - second[1]) * pull[1])
    up = math.hypot((first[2] - first[1]) * pull[0], (second[1] - second[0]) * pull[1])
    return middle - down, middle, middle + up


def predict(figures, runs, notes):
    """Adds low, predicted, high to every figure that can be predicted."""
    done = {}
    pairs = []
    for f in figures:
        pair = re.fullmatch(r"(\S+) ([-/]) (\S+)", f["quantity"])
        if pair:
            pairs.append((f, *pair.groups()))
        elif runs.get(f["scenario"]):
            try:
                done[f["id"]] = model.pooled([model.predicted(s, f) for s in runs[f["scenario"]]])
            except model.NotPredicted as problem:
                notes.append(f"{f['id']}: {problem}")
    for f, first, sign, second in pairs:
        if first in done and second in done:
            done[f["id"]] = combined(done[first], done[second], sign)
    for f in figures:
        if f["id"] in done and f["observed"]:
            low, f["predicted"], high = done[f["id"]]
            of_bags = model.QUANTITIES.get(f["quantity"], (0, 0, 0, False))[3]
            scatter = of_bags * BAG_SCATTER.get(f["quantity"], SCATTER_OF_OTHERS)
            own = float(f["plus_minus"]) if f["plus_minus"] else model.NINE_OF_TEN * scatter
            if low is not None:
                f["low"] = f["predicted"] - math.hypot(f["predicted"] - low, own)
                f["high"] = f["predicted"] + math.hypot(high - f["predicted"], own)


def judge(figures):
    """Adds error (0 inside the published range), scaled error and whether the band holds the figure."""
    for f in figures:
        least, most = range_of(f["observed"])
        f["error"] = max(0.0, f["predicted"] - most) + min(0.0, f["predicted"] - least)
        f["scaled"] = abs(f["error"]) / SCALES[f["unit"]]
        if "low" in f:
            f["inside"] = f["low"] <= most and f["high"] >= least


def mean_over(figures, name, value):
    """Means by the values of a column, then the mean of those: every study, or group, counts alike."""
    parts = collections.defaultdict(list)
    for f in figures:
        parts[f[name]].append(f)
    return statistics.fmean(value(part) for part in parts.values())


def mean_scaled(figures):
    return statistics.fmean(f["scaled"] for f in figures)


def total_score(figures):
    """Mean over groups of the mean over studies of the mean scaled error: 0 is perfect, 1 wrong by SCALES throughout."""
    return mean_over(figures, "group", lambda group: mean_over(group, "study", mean_scaled))


def summary(figures, name):
    """A line for each value of a column: it, figures, median error in points, mean scaled error, share inside or None."""
    for part in dict.fromkeys(f[name] for f in figures):
        of = [f for f in figures if f[name] == part]
        points = [abs(f["error"]) for f in of if f["unit"] == "%"]
        banded = [f["inside"] for f in of if "inside" in f]
        yield (part, len(of), statistics.median(points) if points else None, statistics.fmean(f["scaled"] for f in of),
               statistics.fmean(banded) if banded else None)


def printed_summary(figures, out):
    print(f"{'':18} {'figures':>7} {'median error':>12} {'over scale':>10} {'in 90 % band':>12}", file=out)
    for name in ("group", "study"):
        for part, n, points, scaled, inside in summary(figures, name):
            print(f"{part:18} {n:7d} {'-' if points is None else f'{points:.1f}':>12} {scaled:10.2f} "
                  f"{'-' if inside is None else f'{100 * inside:.0f} %':>12}", file=out)
        print(file=out)
    print(f"total score {total_score(figures):.4f} of {len(figures)} figures", file=out)


def cell(f, name, digits=1):
    value = f.get(name)
    if value is None:
        return ""
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else f"{value:.{digits}f}"


def digits_of(f):
    return 3 if f["unit"] in ("m3/m3",) else 2 if f["unit"] in ("1", "g/g") else 1


def write_csv(path, figures):
    """Without the observed values, and so without errors, of trials that are not ours to print."""
    columns = ("id", "study", "mark", "treatment", "component", "placement", "quantity", "when", "observed", "unit",
               "plus_minus")
    with open(path, "w", newline="", encoding="utf-8") as f:
        out = csv.writer(f, lineterminator="\n")
        out.writerow((*columns, "predicted", "low", "high", "inside"))
        for x in figures:
            shown = x if x["printable"] != "no" else {**x, "observed": ""}
            numbers = (cell(x, c, digits_of(x)) for c in ("predicted", "low", "high"))
            out.writerow((*(shown[c] for c in columns), *numbers, cell(x, "inside")))


def write_table(path, figures):
    """Markdown: typed figures one by one, trials as a line each."""
    with open(path, "w", encoding="utf-8") as out:
        out.write("| study | what | published | predicted | 90 % band | inside | mark |\n|---|---|---|---|---|---|---|\n")
        for f in (f for f in figures if not f["trial"]):
            where = ", ".join(f[c] for c in ("treatment", "component", "placement", "when") if f[c])
            band = f"{cell(f, 'low', digits_of(f))} to {cell(f, 'high', digits_of(f))}" if "low" in f else ""
            pm = f" ± {f['plus_minus']}" if f["plus_minus"] else ""
            what = f["label"] or f["quantity"]
            out.write(f"| {f['study']} | {what}{': ' if where else ''}{where} | {f['observed']}{pm} {f['unit']} | "
                      f"{cell(f, 'predicted', digits_of(f))} | {band} | {cell(f, 'inside')} | {f['mark']} |\n")
        out.write("\n| study | figures | median error, points | error over scale | in the 90 % band |\n")
        out.write("|---|---|---|---|---|\n")
        for part, n, points, scaled, inside in summary(figures, "study"):
            out.write(f"| {part} | {n} | {'' if points is None else f'{points:.1f}'} | {scaled:.2f} | "
                      f"{'' if inside is None else f'{100 * inside:.0f} %'} |\n")


def how_to_accept(form):
    short = "--short " if form == "short" else ""
    return (f"Look at the lines above. If that is what is wanted: notebooks-data/calibration/compare_figures.py {short}"
            f"--program PROGRAM --accept notebooks-data/calibration/accepted-score.json, and say why in the commit.")


def check(path, form, figures):
    """Exit code: 1 when the score is worse than the accepted one by more than MARGIN, or of other figures."""
    accepted = json.loads(path.read_text(encoding="utf-8")).get(form)
    total = total_score(figures)
    if accepted is None or accepted["figures"] != len(figures):
        was = accepted["figures"] if accepted else "no"
        print(f"{path.name}: accepted of {was} figures ({form}), now {len(figures)}: look, then --accept")
        return 1
    worse = total > accepted["total"] * (1 + MARGIN)
    print(f"accepted {accepted['total']:.4f}, now {total:.4f}: {'worse' if worse else 'fine'} (margin {100 * MARGIN:.0f} %)")
    if worse:
        print(f"The defaults, or the model, now meet the published figures less well. {how_to_accept(form)}")
    return 1 if worse else 0


def accept(path, form, figures):
    scores = json.loads(path.read_text(encoding="utf-8")) if path.exists() else {}
    scores[form] = {"total": round(total_score(figures), 4), "figures": len(figures)}
    path.write_text(json.dumps(scores, indent=2) + "\n", encoding="utf-8")


def arguments():
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("--program", default="stoverturn")
    parser.add_argument("--figures", type=pathlib.Path, default=HERE / "figures.csv")
    parser.add_argument("--data", type=pathlib.Path, default=HERE.parents[2] / "shared" / "data")
    parser.add_argument("--draws", type=int, default=200, help="draws of a new place; 0: none, no bands")
    parser.add_argument("--seeds", type=int, default=1, help="seeds of generated weather, pooled")
    parser.add_argument("--jobs", type=int, default=2, help="programs at once")
    parser.add_argument("--set", action="append", default=[], metavar="NAME=VALUE", help="for every run")
    parser.add_argument("--short", action="store_true", help="no draws, nothing from the open data")
    parser.add_argument("--csv", type=pathlib.Path, help="write every figure here")
    parser.add_argument("--table", type=pathlib.Path, help="write a Markdown table here")
    parser.add_argument("--check", type=pathlib.Path, help="compare the total with this file; fail when worse")
    parser.add_argument("--accept", type=pathlib.Path, help="write the total to this file")
    given = parser.parse_args()
    if given.short:
        given.draws = 0
    return given


def main():
    given = arguments()
    notes = []
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        prepare(folder, given.data, given.short)
        figures = all_figures(given.figures, folder, notes)
        predict(figures, run_all(given, folder, figures, notes), notes)
    figures = [f for f in figures if "predicted" in f]
    for note in dict.fromkeys(notes):
        if not (given.short and "is not there" in note):
            print(f"left out: {note}", file=sys.stderr)
    if not figures:
        sys.exit("compare_figures.py: no figure could be predicted")
    judge(figures)
    printed_summary(figures, sys.stdout)
    if given.csv:
        write_csv(given.csv, figures)
    if given.table:
        write_table(given.table, figures)
    form = "short" if given.short else "full"
    if given.accept:
        accept(given.accept, form, figures)
    return check(given.check, form, figures) if given.check else 0


if __name__ == "__main__":
    sys.exit(main())
