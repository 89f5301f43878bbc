#!/usr/bin/env python3
"""Calibrates the defaults on many trials at once, each with parameters of its own that are pulled together.

    calibrate.py FOLDER [--program stoverturn] [--rounds 25] [--seeds 2] [--without STUDY] [--jobs 2]

FOLDER is one that make_trials.py has filled. What is fitted to what stands in studies.toml and population.toml beside this
script. Writes population.json there (means, spreads, error sizes, every study's estimates) and prints tables.

Model: in study s parameter j is m_j + a normal deviation of standard deviation w_j, on the parameter's own scale (log, logit).
Every round fits each study by `stoverturn fit` with the present m and w as prior, then brings m, w and the error sizes up to
date from the estimates and their curvature (an EM algorithm with Laplace's approximation; Wolfinger 1993 from memory).
Python's standard library alone."""
import argparse
import concurrent.futures
import csv
import json
import math
import pathlib
import statistics
import subprocess
import tomllib

HERE = pathlib.Path(__file__).resolve().parent
NINE_OF_TEN = 1.6448536269514722  # a normal's central 90 % is its mean -+ this many standard deviations
SPREAD_PRIOR_STUDIES = 2.0  # the spread of a parameter is what that many studies of its first guess say, and the data
SMALLEST_SPREAD = 0.05
TO_SCALE = {"linear": lambda x: x, "log": math.log, "logit": lambda x: math.log(x / (1 - x))}
FROM_SCALE = {"linear": lambda u: u, "log": math.exp, "logit": lambda u: 1 / (1 + math.exp(-u))}


def parameter_rows(program):
    """The program's own table, by name."""
    text = subprocess.run([program, "parameters", "--json"], check=True, capture_output=True, text=True).stdout
    return {row["name"]: row for row in json.loads(text)["parameters"]}


def first_guess(population, rows):
    """mean and spread on the scale, and the scale, of every population."""
    guess = {}
    for name, p in population.items():
        row = rows[p.get("parameter", name)]
        scale = row["fit_scale"]
        mean = TO_SCALE[scale](p["mean"])
        guess[name] = {"parameter": row["name"], "scale": scale, "mean": mean, "first": mean,
                       "spread": p["spread"], "guess": p["spread"],
                       "lower": row["lower"], "upper": p.get("upper", row["upper"])}
    return guess


def bounds_on_scale(p):
    inside = 1.001e-3 if p["scale"] == "logit" else 0.0  # fits keep that far from 0 and 1
    return TO_SCALE[p["scale"]](max(p["lower"], inside)), TO_SCALE[p["scale"]](min(p["upper"], 1 - inside) if inside else p["upper"])


def prior_spread(p):
    """The population's spread, less where nine of ten values would otherwise reach beyond the parameter's bounds."""
    lower, upper = bounds_on_scale(p)
    return min(p["spread"], min(p["mean"] - lower, upper - p["mean"]) / (1.001 * NINE_OF_TEN))


def fit_text(study, population):
    """A fit file of one study with the present population as prior."""
    lines = ['title = "calibration"', 'units = "si"', f'scenario = "{study["scenario"]}"', "[data]"]
    lines += [f'file = "{study["data"]}"', f"measures = {json.dumps(study['measures'])}"]
    lines += [f"{key} = {json.dumps(value)}" for key, value in study.get("soil", {}).items()]
    lines += ["[estimate]"]
    for address, name in study["estimate"].items():
        p = population[name]
        back = FROM_SCALE[p["scale"]]
        low, high = (back(p["mean"] + sign * NINE_OF_TEN * prior_spread(p)) for sign in (-1, 1))
        start = back(p["mean"])
        lines.append(f'"{address}" = {{ start = {start!r}, upper = {min(p["upper"], back(bounds_on_scale(p)[1])):.6g}, prior = {{ low = {low!r}, high = {high!r} }} }}')
    lines += ["[error]"] + [f'{measure} = "as stated"' for measure in study["measures"]]
    lines += ["[methods]", "starts = 1", "population = false", "profiles = false", "draws = 0", ""]
    return "\n".join(lines) + "\n"


def with_errors(text, errors):
    """A trial's CSV with the present size of error beside every measured column, in place of what it says of scatter."""
    comments = [line for line in text.splitlines() if line.startswith("#")]
    table = list(csv.reader(line for line in text.splitlines() if line and not line.startswith("#")))
    header = [name.strip() for name in table[0]]
    keep = [i for i, name in enumerate(header) if " sd [" not in name and name not in ("n", "sd") and not name.startswith("sd [")]
    measured = [i for i in keep if header[i].split(" [")[0] in errors]
    per_unit = {"%": 100, "mg/kg": 1 / 0.26}  # g m-2 in mg/kg of 260 kg m-2 of soil: 200 mm of 1.3 g/cm3
    rows = [[header[i] for i in keep] + [header[i].replace(" [", " sd [") for i in measured]]
    for row in table[1:]:
        sd = []
        for i in measured:
            name, unit = header[i].rstrip("]").split(" [")
            sd.append(f"{per_unit[unit] * errors[name]:.4g}" if row[i].strip() else "")
        rows.append([row[i] for i in keep] + sd)
    return "\n".join(comments + [",".join(row) for row in rows]) + "\n"


def with_seed(text, seed):
    """A scenario whose generated weather is another realisation."""
    return "\n".join(f"seed = {seed}" if line.startswith("seed =") else line for line in text.split("\n"))


def with_means(text, study, population):
    """A scenario in which what the study does not estimate has the population's mean, whatever the program's defaults are."""
    own = tomllib.loads(text).get("parameters", {})
    lines = [f"{name} = {FROM_SCALE[p['scale']](p['mean'])!r}" for name, p in population.items()
             if name == p["parameter"] and name not in study["estimate"] and name not in own]
    if "\n[parameters]" in text:
        return text.replace("\n[parameters]", "\n[parameters]\n" + "\n".join(lines), 1)
    return text + "\n[parameters]\n" + "\n".join(lines) + "\n"


def unknown_of(result, address):
    """The unknown of a fit's JSON that an address such as tissue@cob means."""
    parameter, *places = address.split("@")
    for unknown in result["unknowns"]:
        target = unknown["targets"][0] if unknown["targets"] else {}
        of = [target[key] for key in ("component", "treatment") if target.get(key)]
        if target.get("parameter") == parameter and sorted(of) == sorted(places):
            return unknown
    raise SystemExit(f"no {address} among {[u['name'] for u in result['unknowns']]}")


def fit(job):
    """Fits one study under one realisation of its weather. -> estimates and variances on their scales, residuals."""
    program, folder, name, study, population, errors, seed = job
    work = folder / f"calibration-{name}-{seed}"
    work.mkdir(exist_ok=True)
    (work / study["data"]).write_text(with_errors((folder / study["data"]).read_text(), errors))
    (work / study["scenario"]).write_text(
        with_means(with_seed((folder / study["scenario"]).read_text(), seed), study, population))
    for extra in study.get("files", []):
        (work / extra).write_text((folder / extra).read_text())
    (work / "fit.toml").write_text(fit_text(study, population))
    done = subprocess.run([program, "fit", "fit.toml", "--overwrite", "--quiet", "--threads", "1"], cwd=work,
                          capture_output=True, text=True)
    if done.returncode != 0:
        raise SystemExit(f"{name}: {done.stderr.strip()[:2000]}")
    result = json.loads((work / "fit-fit.json").read_text())
    estimates = {}
    for address, population_name in study["estimate"].items():
        found = unknown_of(result, address)
        p = population[population_name]
        se = found["se_on_scale"]
        estimates[population_name] = (TO_SCALE[p["scale"]](found["estimate"]), prior_spread(p) ** 2 if se is None else se**2)
    with open(work / "fit-fit-residuals.csv", newline="", encoding="utf-8") as f:
        residuals = [(r["measure"], float(r["observed"]) - float(r["predicted"])) for r in csv.DictReader(f)]
    return name, estimates, residuals


def averaged(fits):
    """Of several realisations of the weather: the mean, and the variance within and between them."""
    estimates = {}
    for name in fits[0][1]:
        means, variances = zip(*(f[1][name] for f in fits))
        between = statistics.pvariance(means) if len(means) > 1 else 0.0
        estimates[name] = (statistics.fmean(means), statistics.fmean(variances) + between)
    return estimates


def update_population(population, studies, by_study):
    """Means by what each study alone says (its estimate freed of the prior), spreads by EM. -> largest shift over spread."""
    largest = 0.0
    for name, p in population.items():
        told = [(studies[s]["weight"], *e[name]) for s, e in by_study.items() if name in e]
        prior = prior_spread(p) ** 2
        weights, values = [], []
        for weight, mean, variance in told:
            precision = 1 / variance - 1 / prior
            if precision < 0.02 / prior:  # it says nothing: what comes back is the prior
                continue
            values.append((mean / variance - p["mean"] / prior) / precision)
            weights.append(weight / (prior + 1 / precision))
        told_by = len(weights)
        weights.append(1 / p["guess"] ** 2)  # what was thought of the mean before: the first guess, as unsure as its spread
        values.append(p["first"])
        mean = sum(w * v for w, v in zip(weights, values)) / sum(weights)
        scatter = sum(weight * ((m - mean) ** 2 + v) for weight, m, v in told)
        number = sum(weight for weight, _, _ in told)
        variance = (SPREAD_PRIOR_STUDIES * p["guess"] ** 2 + scatter) / (SPREAD_PRIOR_STUDIES + number)
        mean = min(max(mean, p["mean"] - p["spread"]), p["mean"] + p["spread"])  # no leap further than one spread
        lower, upper = bounds_on_scale(p)
        room = 0.5 * p["guess"]  # a prior of some width has to fit inside the bounds
        mean = min(max(mean, lower + room), upper - room)
        largest = max(largest, abs(mean - p["mean"]) / p["spread"])
        p.update({"mean": mean, "spread": max(math.sqrt(variance), SMALLEST_SPREAD), "told by": told_by,
                  "se": 1 / math.sqrt(sum(weights))})
    return largest


def update_errors(errors, studies, fits, population):
    """Root mean square of the residuals over what is left of their number after the estimates have taken theirs."""
    sums, numbers = {}, {}
    for name, by_seed in fits.items():
        for _, estimates, residuals in by_seed:
            taken = sum(max(0.0, 1 - v / prior_spread(population[n]) ** 2) for n, (_, v) in estimates.items())
            share = studies[name]["weight"] * max(0.0, 1 - taken / len(residuals)) / len(by_seed)
            for measure, r in residuals:
                sums[measure] = sums.get(measure, 0.0) + studies[name]["weight"] * r * r / len(by_seed)
                numbers[measure] = numbers.get(measure, 0.0) + share
    for measure in sums:
        if measure in errors and numbers[measure] > 0:
            errors[measure] = max(0.02, math.sqrt(sums[measure] / numbers[measure]))


def calibrate(program, folder, studies, population, errors, rounds, seeds, jobs, report=print):
    by_study, fits = {}, {}
    with concurrent.futures.ThreadPoolExecutor(jobs) as pool:
        for number in range(1, rounds + 1):
            work = [(program, folder, name, study, population, errors, seed)
                    for name, study in studies.items()
                    for seed in range(1, (seeds if study["weather"] == "generated" else 1) + 1)]
            fits = {}
            for name, estimates, residuals in pool.map(fit, work):
                fits.setdefault(name, []).append((name, estimates, residuals))
            by_study = {name: averaged(f) for name, f in fits.items()}
            update_errors(errors, studies, fits, population)
            shift = update_population(population, studies, by_study)
            report(f"round {number}: largest shift {shift:.3f} spreads; errors "
                   + ", ".join(f"{m} {e:.3f}" for m, e in errors.items()))
            if shift < 0.02:
                break
    return by_study, fits


def print_result(population, studies, by_study, fits):
    print(f"\n{'parameter':28} {'value':>9} {'9 of 10 new places':>24} {'spread':>7} {'se':>6} {'studies':>7}")
    for name, p in population.items():
        back = FROM_SCALE[p["scale"]]
        new = math.hypot(p["spread"], p.get("se", p["spread"]))
        low, high = back(p["mean"] - NINE_OF_TEN * new), back(p["mean"] + NINE_OF_TEN * new)
        print(f"{name:28} {back(p['mean']):9.4g} {low:11.4g} to {high:9.4g} {new:7.3f} {p.get('se', 0):6.3f} {p.get('told by', 0):7d}")
    print(f"\n{'study':18} {'data':>4} {'rmse':>6} {'bias':>6}  estimates")
    for name, estimates in by_study.items():
        residuals = [r for f in fits[name] for m, r in f[2] if not m.startswith("mineral")]
        rmse = math.sqrt(statistics.fmean(r * r for r in residuals)) if residuals else math.nan
        bias = -statistics.fmean(residuals) if residuals else math.nan
        shown = ", ".join(f"{n} {FROM_SCALE[population[n]['scale']](m):.3g}" for n, (m, _) in estimates.items())
        print(f"{name:18} {len(fits[name][0][2]):4d} {100 * rmse:6.1f} {100 * bias:6.1f}  {shown}")


def main():
    given = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    given.add_argument("folder", type=pathlib.Path)
    given.add_argument("--program", default="stoverturn")
    given.add_argument("--rounds", type=int, default=25)
    given.add_argument("--seeds", type=int, default=2, help="realisations of generated weather")
    given.add_argument("--without", action="append", default=[], metavar="STUDY")
    given.add_argument("--only", action="append", default=[], metavar="STUDY")
    given.add_argument("--jobs", type=int, default=2)
    given.add_argument("--settings", type=pathlib.Path, default=HERE / "population.toml")
    given.add_argument("--output", default="population.json")
    a = given.parse_args()
    settings = tomllib.loads(a.settings.read_text())
    studies = {name: s for name, s in tomllib.loads((HERE / "studies.toml").read_text())["study"].items()
               if name not in a.without and (not a.only or name in a.only)}
    population = first_guess(settings["population"], parameter_rows(a.program))
    errors = dict(settings["error"])
    by_study, fits = calibrate(a.program, a.folder, studies, population, errors, a.rounds, a.seeds, a.jobs)
    print_result(population, studies, by_study, fits)
    for p in population.values():
        p["value"] = FROM_SCALE[p["scale"]](p["mean"])
        p["new place"] = math.hypot(p["spread"], p.get("se", p["spread"]))
    (a.folder / a.output).write_text(json.dumps({"population": population, "errors": errors, "studies": by_study}, indent=1))


if __name__ == "__main__":
    main()
