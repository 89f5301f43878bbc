#!/usr/bin/env python3
"""How well the calibration predicts studies that it was not fitted to, against a curve in degree days fitted the same way.

    leave_one_out.py FOLDER [--program stoverturn] [--rounds 4] [--draws 100] [--csv OUT.csv]

FOLDER holds what make_trials.py made, and population.json of calibrate.py, where every search begins. One study after the other is
left out: calibrate.py without it, then its bags predicted with draws of a new place, and with exp(-k D), D degree days above 0 C of
where the residue lies, one k for residue in and one for residue on and above the soil, fitted to all other studies by least squares.
Prints root mean square error, bias and the share of figures inside the 90 % band. Python's standard library alone."""
import argparse
import collections
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


def new_place(population, study, draws, seed):
    """What `parameters =` of a scenario reads: the population's values as estimates, and draws of a new place."""
    dice = random.Random(f"{seed}")
    z = {name: [dice.gauss(0, 1) for _ in range(draws)] for name in population}
    unknowns, columns = [], []
    for address, name in study["estimate"].items():
        p = population[name]
        parameter, *places = address.split("@")
        components = study.get("components", [])
        target = {"parameter": parameter, "component": "", "treatment": ""}
        for place in places:
            target["component" if place in components else "treatment"] = place
        back = calibrate.FROM_SCALE[p["scale"]]
        spread = math.hypot(p["spread"], p.get("se", p["spread"]))
        inside = lambda x: min(max(x, p["lower"] * (1 + 1e-9)), p["upper"] * (1 - 1e-9))
        columns.append([inside(back(p["mean"] + spread * x)) for x in z[name]])
        unknowns.append({"name": address, "unit": "", "meaning": "", "estimate": back(p["mean"]), "scale": p["scale"],
                         "se_on_scale": spread, "bounds": [p["lower"], p["upper"]], "prior": {"shape": "flat"},
                         "intervals": {}, "targets": [target]})
    n = len(unknowns)
    return {"stoverturn_fit": 1, "program": "leave_one_out.py", "title": "a new place", "level": 0.9, "observations": 1,
            "converged": True, "treatments": [], "unknowns": unknowns, "covariance": [[0.0] * n for _ in range(n)],
            "draws_are": "posterior", "draws_in_all": draws, "draws": [list(d) for d in zip(*columns)], "warnings": []}


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
    wanted = {"mass": "mass left", "carbon": "carbon left", "nitrogen": "nitrogen left", "respired": "respired carbon"}
    measures = {wanted[m] for m in study["measures"] if m in wanted}
    return [f for f in compare_figures.trial_figures(row, folder / study["data"])
            if f["quantity"] in measures and int(float(f["when"])) > 0]


def run_with(program, folder, study, fit, name):
    scenario = folder / study["scenario"]
    (folder / f"{name}.json").write_text(json.dumps(fit))
    daily = model.run(program, scenario, folder, name, [f'parameters={name}.json', f"draws={len(fit['draws'])}"])
    return model.Series(daily, scenario)


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


def score(rows, key):
    of = [r for r in rows if r.get(key) is not None]
    errors = [r[key] - r["observed"] for r in of]
    inside = [r["low " + key] <= r["observed"] <= r["high " + key] for r in of]
    return len(of), cross_validate.rmse(errors), statistics.fmean(errors), statistics.fmean(inside), statistics.median(map(abs, errors))


def main():
    given = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    given.add_argument("folder", type=pathlib.Path)
    given.add_argument("--program", default="stoverturn")
    given.add_argument("--rounds", type=int, default=4)
    given.add_argument("--draws", type=int, default=100)
    given.add_argument("--jobs", type=int, default=2)
    given.add_argument("--csv", type=pathlib.Path)
    a = given.parse_args()
    studies = tomllib.loads((calibrate.HERE / "studies.toml").read_text())["study"]
    stored = json.loads((a.folder / "population.json").read_text())
    rows, series_of = [], {}
    for name, study in studies.items():
        study["components"] = components_of(a.folder / study["scenario"])
    for left_out, study in studies.items():
        figures = figures_of(left_out, study, a.folder)
        if not figures:
            continue
        population = json.loads(json.dumps(stored["population"]))
        errors = dict(stored["errors"])
        others = {n: s for n, s in studies.items() if n != left_out}
        for p in population.values():  # what only the study left out tells goes back to the first guess
            if not any(p is population[v] for s in others.values() for v in s["estimate"].values()):
                p.update({"mean": p["first"], "spread": p["guess"], "se": p["guess"]})
        calibrate.calibrate(a.program, a.folder, others, population, errors, a.rounds, 1, a.jobs, report=lambda line: None)
        series = run_with(a.program, a.folder, study, new_place(population, study, a.draws, left_out), "left-out")
        series_of[left_out] = series
        for f in figures:
            try:
                low, middle, high = model.predicted(series, f)
            except model.NotPredicted as why:
                print(f"{f['id']}: {why}", file=sys.stderr)
                continue
            own = calibrate.NINE_OF_TEN * 100 * errors[f["quantity"]]
            D, in_soil = degree_days(series, f)
            rows.append({"study": left_out, "quantity": f["quantity"], "id": f["id"], "observed": float(f["observed"]),
                         "model": middle, "low model": middle - math.hypot(middle - low, own),
                         "high model": middle + math.hypot(high - middle, own), "D": D, "in soil": in_soil})
        print(f"{left_out}: rmse {score([r for r in rows if r['study'] == left_out], 'model')[1]:.1f}", flush=True)
    of_bags = [r for r in rows if r["quantity"] != "respired carbon"]
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
    print(f"\n{'study left out':18} {'quantity':16} {'n':>3}  {'rmse':>5} {'bias':>6} {'in band':>7}   degree days: {'rmse':>5} {'bias':>6} {'in band':>7}")
    groups = collections.defaultdict(list)
    for r in rows:
        groups[r["study"], r["quantity"]].append(r)
        groups["all", r["quantity"]].append(r)
        material = studies[r["study"]]["material"]
        groups[f"all {material}", r["quantity"]].append(r)
    for (study, quantity), part in groups.items():
        n, e, b, inside, median = score(part, "model")
        line = f"{study:18} {quantity:16} {n:3d}  {e:5.1f} {b:6.1f} {100 * inside:5.0f} %"
        if all(r.get("curve") is not None for r in part):
            _, e, b, inside, _ = score(part, "curve")
            line += f"                {e:5.1f} {b:6.1f} {100 * inside:5.0f} %"
        print(line + f"   median error {median:.1f}")
    if a.csv:
        with open(a.csv, "w", newline="", encoding="utf-8") as f:
            out = csv.writer(f, lineterminator="\n")
            out.writerow(("id", "quantity", "predicted", "low", "high", "degree_day_curve"))
            out.writerows((r["id"], r["quantity"], f"{r['model']:.1f}", f"{r['low model']:.1f}", f"{r['high model']:.1f}",
                           f"{r['curve']:.1f}" if r.get("curve") is not None else "") for r in rows)


if __name__ == "__main__":
    main()
