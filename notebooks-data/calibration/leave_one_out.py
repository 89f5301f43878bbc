#!/usr/bin/env python3
"""How well the calibration predicts studies that it was not fitted to, against a curve in degree days fitted the same way.

    leave_one_out.py FOLDER [--program stoverturn] [--rounds 2] [--draws 100] [--seeds 3] [--only STUDY] [--csv OUT.csv]

FOLDER holds what make_trials.py made, and population.json of calibrate.py. One study after the other is left out. What the
other studies said in calibrate.py, each freed of its prior, gives means and spreads without it; --rounds rounds of calibrate.py
without it follow (0: none). Then its bags are predicted with draws of a new place, and with exp(-k D), D degree days above 0 C of
where the residue lies, one k for residue in and one for residue on and above the soil, fitted to all other studies by least squares.
Prints root mean square error, bias and the share of figures inside the 90 % band. Python's standard library alone."""
import argparse
import collections
import concurrent.futures
import copy
import csv
import json
import math
import pathlib
import random
import statistics
import sys
import tomllib

import calibrate
import compare_figures
import cross_validate
import predicted as model

SOIL, OPEN = "buried", "surface"
MEASURES = {"mass": "mass left", "carbon": "carbon left", "nitrogen": "nitrogen left", "respired": "respired carbon",
            "mineral_nitrogen": "mineral nitrogen"}


# ---- the population without a study ----

def without(stored, studies, left_out):
    """The population from what all other studies said in calibrate.py, their estimates moved as the prior moves."""
    population, said = copy.deepcopy(stored["population"]), {}
    others = {n: s for n, s in studies.items() if n != left_out}
    for name in others:
        for j, (mean, variance) in stored["studies"][name].items():
            prior = calibrate.prior_spread(population[j]) ** 2
            precision = max(1 / variance - 1 / prior, 1e-6 / prior)
            said[name, j] = (mean / variance - population[j]["mean"] / prior) / precision, precision
    for j, p in population.items():
        p.update({"mean": p["first"], "spread": p["guess"], "se": p["guess"]})
    for _ in range(50):
        by_study = {name: {} for name in others}
        for (name, j), (value, precision) in said.items():
            p = population[j]
            prior = calibrate.prior_spread(p) ** 2
            variance = 1 / (precision + 1 / prior)
            by_study[name][j] = (variance * (precision * value + p["mean"] / prior), variance)
        if calibrate.update_population(population, others, by_study) < 0.002:
            break
    for j, p in population.items():  # what no other study tells is the first guess again
        if not any(j == x for _, x in said):
            p.update({"mean": p["first"], "spread": p["guess"], "se": p["guess"]})
    return population, others


def addresses(study, scenario, population):
    """Parameters of the study's scenario that differ from place to place, and the population of each."""
    found = dict(study["estimate"])
    taken = {address.split("@")[0] for address in found} | set(tomllib.loads(scenario.read_text()).get("parameters", {}))
    return found | {name: name for name, p in population.items() if name == p["parameter"] and name not in taken}


def new_place(population, found, components, treatments, draws, seed):
    """What `parameters =` of a scenario reads: the population's values as estimates, and draws of a new place."""
    dice = random.Random(seed)
    z = {name: [dice.gauss(0, 1) for _ in range(draws)] for name in population}
    unknowns, columns = [], []
    for address, name in found.items():
        p = population[name]
        parameter, *places = address.split("@")
        target = {"parameter": parameter, "component": "", "treatment": ""}
        for place in places:
            target["component" if place in components else "treatment"] = place
        back = calibrate.FROM_SCALE[p["scale"]]
        low, high = calibrate.bounds_on_scale(p)
        spread = math.hypot(p["spread"], p.get("se", p["spread"]))
        width = 1e-6 * (high - low)
        columns.append([back(min(max(p["mean"] + spread * x, low + width), high - width)) for x in z[name]])
        unknowns.append({"name": address, "unit": "", "meaning": "", "estimate": back(p["mean"]), "scale": p["scale"],
                         "se_on_scale": spread, "bounds": [p["lower"], p["upper"]], "prior": {"shape": "flat"},
                         "intervals": {}, "targets": [target]})
    n = len(unknowns)
    return {"stoverturn_fit": 1, "program": "leave_one_out.py", "title": "a new place", "level": 0.9, "observations": 1,
            "converged": True, "treatments": [{"label": t, "key": t} for t in treatments], "unknowns": unknowns, "covariance": [[0.0] * n for _ in range(n)],
            "draws_are": "posterior", "draws_in_all": draws, "draws": [list(d) for d in zip(*columns)], "warnings": []}


# ---- one study ----

def components_of(scenario):
    """Names of all components in a scenario's own materials and of the built-in ones that studies use."""
    text = tomllib.loads(scenario.read_text())
    names = {"stalk", "leaf", "husk", "cob", "straw", "stem", "shoot"}
    for m in text.get("material", {}).values():
        names |= set(m.get("component", {}))
    return sorted(names)


def figures_of(name, study, folder):
    row = {"id": name, "study": name, "treatment": "", "component": "", "placement": "", "quantity": "", "when": "",
           "observed": "", "unit": "", "scenario": study["scenario"]}
    measures = {MEASURES[m] for m in study["measures"]}
    return [f for f in compare_figures.trial_figures(row, folder / study["data"])
            if f["quantity"] in measures and float(f["when"]) > 0]


def run_with(program, folder, study, population, draws, seeds, name):
    """Series of the study's scenario at new places, one for each seed of generated weather."""
    scenario = folder / study["scenario"]
    found = addresses(study, scenario, population)
    treatments = tomllib.loads(scenario.read_text()).get("treatment", {})
    place = new_place(population, found, study["components"], treatments, draws, name)
    (folder / f"{name}.json").write_text(json.dumps(place))
    fit = [f"parameters={name}.json", f"draws={draws}"]
    of_weather = [[f"weather.seed={seed}"] for seed in range(1, seeds + 1)] if study["weather"] == "generated" else [[]]
    series = []
    for settings in of_weather:
        daily = model.run(program, scenario, folder, name, fit + settings)
        series.append(model.Series(daily, scenario))
        daily.unlink()
    return series


def degree_days(series, figure):
    """Degree days above 0 C until a figure's day, and whether the residue lies in the soil."""
    text = series.text
    placement = figure["placement"]
    treatment = text.get("treatment", {}).get(figure["treatment"], {})
    shares = treatment.get("harvest", {}).get("placement", text.get("harvest", {}).get("placement", {OPEN: ""}))
    placement = placement or (SOIL if SOIL in shares else OPEN)
    values = series.get("residue_temperature", {**figure, "component": "", "placement": placement})
    return sum(max(0.0, t) for t in values[:series.days(figure["when"])[1]]), placement == SOIL


def curve_rates(points):
    """k by (in soil, quantity), least squares over (D, share left) of the studies it is fitted to."""
    parts = collections.defaultdict(list)
    for in_soil, quantity, D, left in points:
        parts[in_soil, quantity].append((D, left))
    return {key: cross_validate.fit_curve([d for d, _ in part], [y for _, y in part], [1] * len(part))[0]
            for key, part in parts.items() if len(part) > 1}


def predict(series, figures, errors):
    """One row for every figure: the model's prediction with its band, degree days and where the residue lies."""
    rows = []
    for f in figures:
        try:
            low, middle, high = model.pooled([model.predicted(s, f) for s in series])
            per_unit = 1 / 0.26 if f["unit"] == "mg/kg" else 100  # as in calibrate.py
            own = calibrate.NINE_OF_TEN * per_unit * errors[f["quantity"]]
            row = {"study": f["study"], "quantity": f["quantity"], "id": f["id"], "observed": float(f["observed"]), "model": middle,
                   "low model": middle - math.hypot(middle - low, own), "high model": middle + math.hypot(high - middle, own)}
            row["D"], row["in soil"] = degree_days(series[0], f)
            rows.append(row)
        except model.NotPredicted as why:
            print(f"{f['id']}: {why}", file=sys.stderr)
    return rows


def add_curves(rows, studies):
    """exp(-k D) beside the model, for what bags hold of mass, C and N."""
    of_bags = [r for r in rows if r["quantity"].endswith(" left")]
    for left_out in studies:
        train = [r for r in of_bags if r["study"] != left_out]
        rates = curve_rates([(r["in soil"], r["quantity"], r["D"], r["observed"] / 100) for r in train])
        off = collections.defaultdict(list)
        for r in train:
            if (r["in soil"], r["quantity"]) in rates:
                off[r["quantity"]].append(100 * math.exp(-rates[r["in soil"], r["quantity"]] * r["D"]) - r["observed"])
        for r in of_bags:
            k = rates.get((r["in soil"], r["quantity"]))
            if r["study"] == left_out and k is not None:
                half = calibrate.NINE_OF_TEN * cross_validate.rmse(off[r["quantity"]])
                r["curve"] = 100 * math.exp(-k * r["D"])
                r["low curve"], r["high curve"] = r["curve"] - half, r["curve"] + half


# ---- what is printed ----

def score(rows, key):
    errors = [r[key] - r["observed"] for r in rows]
    inside = [r["low " + key] <= r["observed"] <= r["high " + key] for r in rows]
    return len(rows), cross_validate.rmse(errors), statistics.fmean(errors), statistics.median(map(abs, errors)), statistics.fmean(inside)


def report(rows, studies, out):
    """A Markdown table: every study and measure, then all by material; rmse, bias, median error, share in the band."""
    groups = collections.defaultdict(list)
    for r in rows:
        groups[r["study"], r["quantity"]].append(r)
    for r in rows:
        groups[f"**all, {studies[r['study']]['material']}**", r["quantity"]].append(r)
    for r in rows:
        groups["**all**", r["quantity"]].append(r)
    out.write("| study left out | measure | figures | rmse | bias | median error | in the band | degree days: rmse | bias | median error | in the band |\n"
              "|---|---|---|---|---|---|---|---|---|---|---|\n")
    for (study, quantity), part in groups.items():
        cells = []
        for key in ("model", "curve"):
            with_key = [r for r in part if r.get(key) is not None]
            n, e, b, median, inside = score(with_key, key) if with_key else (0, *[math.nan] * 4)
            cells += [f"{e:.1f}", f"{b:+.1f}", f"{median:.1f}", f"{100 * inside:.0f} %"] if with_key else [""] * 4
        out.write(f"| {study} | {quantity} | {len(part)} | {' | '.join(cells)} |\n")


def write_csv(path, rows, printable):
    with open(path, "w", newline="", encoding="utf-8") as f:
        out = csv.writer(f, lineterminator="\n")
        out.writerow(("id", "quantity", "observed", "predicted", "low", "high", "degree_day_curve"))
        out.writerows((r["id"], r["quantity"], f"{r['observed']:.1f}" if r["study"] in printable else "", f"{r['model']:.1f}",
                       f"{r['low model']:.1f}", f"{r['high model']:.1f}", f"{r['curve']:.1f}" if r.get("curve") is not None else "")
                      for r in rows)


def arguments():
    given = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    given.add_argument("folder", type=pathlib.Path)
    given.add_argument("--program", default="stoverturn")
    given.add_argument("--rounds", type=int, default=2)
    given.add_argument("--draws", type=int, default=100)
    given.add_argument("--seeds", type=int, default=3, help="realisations of generated weather, pooled")
    given.add_argument("--jobs", type=int, default=2)
    given.add_argument("--only", action="append", default=[], metavar="STUDY")
    given.add_argument("--csv", type=pathlib.Path, help="write every prediction here")
    given.add_argument("--table", type=pathlib.Path, help="write the Markdown table here too")
    return given.parse_args()


def main():
    a = arguments()
    studies = tomllib.loads((calibrate.HERE / "studies.toml").read_text())["study"]
    stored = json.loads((a.folder / "population.json").read_text())
    for study in studies.values():
        study["components"] = components_of(a.folder / study["scenario"])

    def left_out_rows(name):
        population, others = without(stored, studies, name)
        errors = dict(stored["errors"])
        if a.rounds:
            calibrate.calibrate(a.program, a.folder, others, population, errors, a.rounds, 1, a.jobs, report=lambda line: None)
        series = run_with(a.program, a.folder, studies[name], population, a.draws, a.seeds, f"left-out-{name}")
        return predict(series, figures_of(name, studies[name], a.folder), errors)

    rows = []
    with concurrent.futures.ThreadPoolExecutor(1 if a.rounds else a.jobs) as pool:  # fits share the folder
        for name, found in zip(a.only or studies, pool.map(left_out_rows, a.only or studies)):
            rows += found
            print(f"{name}: {len(found)} figures", file=sys.stderr, flush=True)
    add_curves(rows, studies)
    report(rows, studies, sys.stdout)
    if a.table:
        with open(a.table, "w", encoding="utf-8") as out:
            report(rows, studies, out)
    if a.csv:
        printable = {r["study"] for r in compare_figures.rows(calibrate.HERE / "figures.csv") if r["printable"] != "no"}
        write_csv(a.csv, rows, printable)


if __name__ == "__main__":
    main()
