#!/usr/bin/env python3
"""Leaves sites out: how well do parameters fitted elsewhere predict one litter in another climate, against simple curves?

    cross_validate.py FOLDER [--program stoverturn] [--data ../shared/data] [--curves FILE] [--folds N]
                      [--sites KEY,KEY] [--measures carbon,nitrogen] [--estimate NAME,NAME] [--hold NAME=VALUE,...]
                      [--variants "NAME;NAME"]

For each variant of the climate of the model: fits shared parameters to all sites but those left out with `stoverturn fit`,
predicts these, and does the same with curves of one or two numbers, fitted by least squares to the same points.
FOLDER/sites.csv has errors by site, FOLDER/scores.csv those over all sites, both without what was measured.
Python's standard library alone; the scores and curves below are meant to be imported elsewhere too.
"""
import argparse
import collections
import csv
import json
import math
import pathlib
import random
import statistics
import subprocess
import sys

import make_oak
from calibrate import NINE_OF_TEN

ESTIMATE = ("k_hol", "k_lig", "contact", "k_wash_sol")  # shared by all sites
ESTIMATE_WITH_N = ESTIMATE + ("N_structure", "k_rem")
MEASURES = {"carbon": "carbon left", "nitrogen": "nitrogen left"}  # in fit files, and in residuals

# Settings of the model that differ from its defaults, as TOML of [model] and [parameters] of every scenario.
VARIANTS = {
    "default": {},
    "drying 0.12": {"residue_drying": 0.12},
    "drying 0.06": {"residue_drying": 0.06},
    "drying 0.02": {"residue_drying": 0.02},
    "drying 1": {"residue_drying": 1.0},
    "q10 of 2": {"temperature": "q10"},
    "q10 of 3": {"temperature": "q10", "q10": 3.0},
    "yan_hunt": {"temperature": "yan_hunt"},
    "q10 of 2, drying 0.06": {"temperature": "q10", "residue_drying": 0.06},
    "yan_hunt, drying 0.06": {"temperature": "yan_hunt", "residue_drying": 0.06},
    "contact 0.05": {"contact": 0.05},
    "contact 0.17": {"contact": 0.17},
    "contact 0.5": {"contact": 0.5},
    "contact 0.17, drying 0.06": {"contact": 0.17, "residue_drying": 0.06},
}


# ---- scores ----

def rmse(errors):
    return math.sqrt(statistics.fmean(e * e for e in errors))


def bias(errors):
    """Mean of predicted less measured."""
    return statistics.fmean(errors)


def spread(errors, fitted):
    """Standard deviation of the errors of what `fitted` numbers were fitted to. Sites differ in it as bags do."""
    return math.sqrt(sum(e * e for e in errors) / max(1, len(errors) - fitted))


def coverage(errors, sds):
    """Share of errors within the 90 % band of their standard deviation."""
    return statistics.fmean(abs(e) <= NINE_OF_TEN * s for e, s in zip(errors, sds))


def difference(first, second, draws=4000, seed=1):
    """RMSE of `first` less that of `second`, errors by site: (5 %, as it is, 95 %), by drawing whole sites with return."""
    def of(errors, names):
        return rmse([e for name in names for e in errors[name]])
    names, generator = sorted(first), random.Random(seed)
    drawn = sorted(of(first, pick) - of(second, pick)
                   for pick in ([generator.choice(names) for _ in names] for _ in range(draws)))
    return drawn[int(0.05 * draws)], of(first, names) - of(second, names), drawn[int(0.95 * draws)]


def slope(x, y):
    """Least squares: slope of y on x, its standard error, and r2."""
    mx, my = statistics.fmean(x), statistics.fmean(y)
    sxx = sum((a - mx) ** 2 for a in x)
    b = sum((a - mx) * (c - my) for a, c in zip(x, y)) / sxx
    left = sum((c - my - b * (a - mx)) ** 2 for a, c in zip(x, y))
    whole = sum((c - my) ** 2 for c in y)
    return b, math.sqrt(left / max(1, len(x) - 2) / sxx), 1 - left / whole if whole else 0.0


# ---- curves ----

def minimum(f, low, high, steps=60):
    """Where f, with one minimum between low and high, is least; golden section."""
    ratio = (math.sqrt(5) - 1) / 2
    a, b = high - ratio * (high - low), low + ratio * (high - low)
    fa, fb = f(a), f(b)
    for _ in range(steps):
        if fa < fb:
            high, b, fb = b, a, fa
            a = high - ratio * (high - low)
            fa = f(a)
        else:
            low, a, fa = a, b, fb
            b = low + ratio * (high - low)
            fb = f(b)
    return (low + high) / 2


def decay_curve(x, k, shape=1.0):
    """What is left at x: exp(-(k x)^shape); with shape 1 k may be negative, as for N that comes in."""
    return math.exp(-k * x) if shape == 1 else math.exp(-((k * x) ** shape))


def fit_curve(x, y, n, shapes=(1.0,)):
    """k and shape of the decay_curve nearest to y by least squares, each point counted n times as the bags it is of."""
    longest = max(x)

    def cost(k, shape):
        return sum(m * (decay_curve(a, k, shape) - b) ** 2 for a, b, m in zip(x, y, n))

    def best(shape):
        low = -1.0 if shape == 1 else 1e-6
        k = minimum(lambda q: cost(q / longest, shape), low, 20.0) / longest
        return cost(k, shape), k, shape
    return min(best(shape) for shape in shapes)[1:]


CURVES = {  # of what they run over, and with which shapes
    "exponential, days": ("days", (1.0,)),
    "exponential, degree days": ("degree days", (1.0,)),
    "exponential, wet degree days": ("wet degree days", (1.0,)),
    "Weibull, degree days": ("degree days", tuple(0.4 + 0.05 * i for i in range(34))),
}


# ---- the program ----

def call(program, folder, *arguments):
    done = subprocess.run([program, *arguments, "--overwrite", "--quiet"], cwd=folder, capture_output=True, text=True)
    if done.returncode:
        sys.exit(f"{program} {' '.join(arguments)}, in {folder}:\n{done.stderr}")


def known_parameters(program):
    return subprocess.run([program, "parameters"], capture_output=True, text=True, check=True).stdout


def settings(variant):
    """TOML that a variant adds to every scenario. Tolerances are wide for speed; errors stay far below a point."""
    model = {name: value for name, value in variant.items() if isinstance(value, str)}
    parameters = {name: value for name, value in variant.items() if not isinstance(value, str)}
    lines = ["", "[model]", "relative_tolerance = 1e-5", "absolute_tolerance = 1e-6"]
    lines += [f'{name} = "{value}"' for name, value in model.items()]
    lines += ["", "[parameters]"] + [f"{name} = {value}" for name, value in parameters.items()]
    return "\n".join(lines) + "\n"


def daily(program, folder, key):
    """The site's daily series of a run: temperature of air and of residue on the ground, its wetness, the soil's filling."""
    call(program, folder, "run", f"{key}-scenario.toml", "--daily", "-o", f"{key}-run")
    names = {("residue_temperature", "standing"): "air temperature", ("residue_temperature", "surface"): "surface temperature",
             ("residue_wetness", "surface"): "wetness", ("residue_wetness", "buried"): "pore space"}
    series = {name: [] for name in names.values()}
    with open(folder / f"{key}-run-daily.csv", newline="", encoding="utf-8") as f:
        header = next(f)
        for r in csv.DictReader([header, *(line for line in f if "residue_" in line)]):
            if (r["variable"], r["placement"]) in names:
                unit = {"%": 0.01, "degC": 1.0}[r["unit"]]
                series[names[r["variable"], r["placement"]]].append(unit * float(r["value"]))
    for made in folder.glob(f"{key}-run*"):
        made.unlink()
    return series


def clocks(series):
    """By name, what has passed on each day since the start: days, degree days above 0 C of the air, these by wetness."""
    passed = {"days": [0.0], "degree days": [0.0], "wet degree days": [0.0]}
    for t, w in zip(series["air temperature"], series["wetness"]):
        for name, step in zip(passed, (1.0, max(0.0, t), max(0.0, t) * w)):
            passed[name].append(passed[name][-1] + step)
    return passed


def fit(program, folder, name, sites, estimate, measures):
    """Fits, and gives the estimates with their bounds and (site, measure, day, measured, predicted) of every point."""
    text = make_oak.fit_file(sites, estimate, measures)
    (folder / f"{name}.toml").write_text(text, encoding="utf-8")
    call(program, folder, "fit", f"{name}.toml", "--threads", "1")
    told = json.loads((folder / f"{name}-fit.json").read_text(encoding="utf-8"))
    found = {u["name"]: (u["estimate"], u["bounds"]) for u in told["unknowns"] if u["name"] in estimate}
    points = []
    with open(folder / f"{name}-fit-residuals.csv", newline="", encoding="utf-8") as f:
        for r in csv.DictReader(f):
            points.append((r["treatment"].split(":")[0], r["measure"], int(r["day"]), float(r["observed"]),
                           float(r["predicted"])))
    return found, points


def held(found):
    """[estimate] that can move by a millionth alone: a fit with it is a prediction."""
    tables = {}
    for name, (value, (low, high)) in found.items():
        step = 1e-6 * max(abs(value), 1e-3)
        a, b = max(low, value - step), min(high, value + step)
        tables[name] = f"{{ start = {(a + b) / 2:.12g}, lower = {a:.12g}, upper = {b:.12g} }}"
    return tables


def starting(found):
    """[estimate] that begins at what was found before, a little within its bounds."""
    tables = {}
    for name, (value, (low, high)) in found.items():
        margin = 0.01 * (high - low)
        tables[name] = f"{{ start = {min(max(value, low + min(margin, value)), high - margin):.8g} }}"
    return tables


# ---- cross-validation ----

def dealt(sites, folds):
    """Sites in so many folds, dealt by temperature so that each fold has cold and warm ones. 0: one by one."""
    order = sorted(sites, key=lambda s: s["mat"])
    return [order[i::folds] for i in range(folds)] if folds else [[s] for s in order]


def predicted_by_curves(training, left_out, passed, bags):
    """By curve: errors at the points left out, with the standard deviation of the training errors."""
    found = {}
    for name, (clock, shapes) in CURVES.items():
        for measure in sorted({p[1] for p in training}):
            if measure != "carbon left" and len(shapes) > 1:
                continue
            here = [p for p in training if p[1] == measure]
            x = [passed[p[0]][clock][p[2]] for p in here]
            k, shape = fit_curve(x, [p[3] for p in here], [bags[p[0], p[2]] for p in here], shapes)
            sd = spread([decay_curve(a, k, shape) - p[3] for a, p in zip(x, here)], 2 if len(shapes) > 1 else 1)
            for p in left_out:
                if p[1] == measure:
                    value = decay_curve(passed[p[0]][clock][p[2]], k, shape)
                    found.setdefault((name, measure), []).append((p[0], p[2], value - p[3], sd, value))
    return found


def cross_validate(program, folder, sites, estimate, measures, folds):
    """By (method, measure): (site, day, error, sd of training errors, predicted) of every point; and the whole fit."""
    passed = {s["key"]: clocks(daily(program, folder, s["key"])) for s in sites}
    bags = {(s["key"], p[0]): p[5] for s in sites for p in s["points"]}
    whole, whole_points = fit(program, folder, "whole", sites, {name: "{}" for name in estimate}, measures)
    found = collections.defaultdict(list)
    for out in dealt(sites, folds):
        training = [s for s in sites if s not in out]
        there, known = fit(program, folder, "training", training, starting(whole), measures)
        _, points = fit(program, folder, "left-out", out, held(there), measures)
        for measure in sorted({p[1] for p in known}):
            sd = spread([p[4] - p[3] for p in known if p[1] == measure], len(estimate))
            found["model", measure] += [(p[0], p[2], p[4] - p[3], sd, p[4]) for p in points if p[1] == measure]
        for key, errors in predicted_by_curves(known, points, passed, bags).items():
            found[key] += errors
    return found, whole, whole_points


# ---- what is written ----

def scores(found):
    """By (method, measure): RMSE of points, RMSE of the means of sites, bias, coverage, number of points."""
    table = {}
    for key, points in found.items():
        errors = [p[2] for p in points]
        by_site = collections.defaultdict(list)
        for p in points:
            by_site[p[0]].append(p[2])
        table[key] = (rmse(errors), rmse([bias(e) for e in by_site.values()]), bias(errors),
                      coverage(errors, [p[3] for p in points]), len(errors))
    return table


def site_errors(found, method, measure):
    by_site = collections.defaultdict(list)
    for p in found[method, measure]:
        by_site[p[0]].append(p[2])
    return by_site


def against_climate(found, sites, method, measure):
    """Slopes of the mean error of a site on its climate: (what, slope, se, r2)."""
    errors = site_errors(found, method, measure)
    there = [s for s in sites if s["key"] in errors]
    for what, value in (("MAT, C", lambda s: s["mat"]), ("MAP, m", lambda s: s["map"] / 1000),
                        ("ln of MAP/PET", lambda s: math.log(s["map"] / s["pet"]) if s["pet"] > 0 else None)):
        pairs = [(value(s), bias(errors[s["key"]])) for s in there if value(s) is not None]
        yield what, *slope([a for a, _ in pairs], [b for _, b in pairs])


def write(path, header, lines):
    with open(path, "w", newline="", encoding="utf-8") as f:
        out = csv.writer(f, lineterminator="\n")
        out.writerow(header)
        out.writerows(lines)


def report(variant, found, sites, whole, site_lines, score_lines):
    fitted = ", ".join(f"{name} {value:.4g}" for name, (value, _) in whole.items())
    print(f"\n{variant}: {fitted}")
    for (method, measure), (points, of_sites, mean, cover, n) in scores(found).items():
        print(f"  {measure:14} {method:29} rmse {points:.3f}  of site means {of_sites:.3f}  bias {mean:+.3f}  "
              f"in 90 % band {100 * cover:3.0f} %  n {n}")
        score_lines.append((variant, measure, method, n, f"{100 * points:.1f}", f"{100 * of_sites:.1f}",
                            f"{100 * mean:+.1f}", f"{100 * cover:.0f}", fitted if method == "model" else ""))
        for what, b, se, r2 in against_climate(found, sites, method, measure):
            if method in ("model", "exponential, degree days", "exponential, days"):
                print(f"  {'':14} {'':29} error on {what}: {100 * b:+.2f} +- {100 * se:.2f} points, r2 {r2:.2f}")
        for s in sites:
            errors = site_errors(found, method, measure).get(s["key"])
            if errors:
                site_lines.append((variant, s["key"], f"{s['mat']:.1f}", f"{s['map']:.0f}", measure, method, len(errors),
                                   f"{100 * rmse(errors):.1f}", f"{100 * bias(errors):+.1f}",
                                   "curve" if s["of_curve"] else "means"))
    sys.stdout.flush()


def listed(text):
    return tuple(text.split(","))


def held_values(text):
    return {name: float(value) for name, value in (pair.split("=") for pair in text.split(","))}


def main():
    arguments = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    arguments.add_argument("folder", type=pathlib.Path)
    arguments.add_argument("--program", default="stoverturn")
    arguments.add_argument("--data", type=pathlib.Path, default=make_oak.DATA)
    arguments.add_argument("--curves", type=pathlib.Path)
    arguments.add_argument("--folds", type=int, default=0, help="so many groups of sites instead of each site alone")
    arguments.add_argument("--sites", type=listed, help="these alone, by key")
    arguments.add_argument("--measures", type=listed, default=("carbon",))
    arguments.add_argument("--estimate", type=listed)
    arguments.add_argument("--hold", type=held_values, default={}, help="parameters of every variant, NAME=VALUE,...")
    arguments.add_argument("--variants", type=lambda text: tuple(text.split(";")),
                           default=("default",), help="; ".join(VARIANTS))
    given = arguments.parse_args()
    estimate = given.estimate or (ESTIMATE_WITH_N if "nitrogen" in given.measures else ESTIMATE)
    table = known_parameters(given.program)
    unknown = [name for name in estimate if f"`{name}`" not in table] + [v for v in given.variants if v not in VARIANTS]
    if unknown:
        sys.exit(f"cross_validate.py: {given.program} or VARIANTS do not know {', '.join(unknown)}")
    site_lines, score_lines = [], []
    for name in given.variants:
        variant = {**given.hold, **VARIANTS[name]}
        sites = make_oak.make(given.folder, given.data, given.curves, settings(variant))
        sites = [s for s in sites if not given.sites or s["key"] in given.sites]
        free = [p for p in estimate if p not in variant]
        found, whole, _ = cross_validate(given.program, given.folder, sites, free, given.measures, given.folds)
        report(name, found, sites, whole, site_lines, score_lines)
        write(given.folder / "sites.csv", ("variant", "site", "MAT_C", "MAP_mm", "measure", "method", "dates",
                                           "rmse [points]", "bias [points]", "held against"), site_lines)
        write(given.folder / "scores.csv", ("variant", "measure", "method", "n", "rmse [points]", "rmse of site means",
                                            "bias [points]", "in 90 % band [%]", "fitted to all"), score_lines)


if __name__ == "__main__":
    main()
