#!/usr/bin/env python3
"""Turns one oak leaf litter at many grassland sites into files that stoverturn reads: scenarios and trial data by site.

    make_oak.py FOLDER [--data ../shared/data] [--curves FILE]

Writes NAME-scenario.toml and NAME-trial.csv of each site that has data, and oak.toml, a fit of all of them. Carbon and
nitrogen left of the control plots; mass is left out, soil got into the bags. FILE holds published Weibull curves of carbon
left at sites that have no means (site, shape, scale_years, rss, bags, harvests, deployed); they are read once a year.
Python's standard library alone. The data stay where they are; what is made here is not meant to be committed.
"""
import argparse
import csv
import datetime
import math
import pathlib
import sys

HERE = pathlib.Path(__file__).resolve().parent
DATA = HERE.parents[2] / "shared" / "data"
MONTH_DAYS = (31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)

# C and N of what was put out are measured. Fibre is from memory of oak leaf litter: acid-detergent lignin 20 to 25 %,
# neutral-detergent solubles 30 to 35 % of dry matter, ash 4 to 5 %. 10 g in a bag of about 20 cm x 20 cm (size assumed).
SCENARIO = """\
# {site}. Normals are from memory, set to the filed MAT of {mat:.2f} C and MAP of {map:.0f} mm. Made by make_oak.py.
title = "Oak leaf litter, {site}"
units = "si"
duration = "{duration} d"

[weather]
latitude = {latitude}
elevation = "{elevation:.0f} m"
seed = 1

[weather.normals]
tmax = "{tmax} degC"
tmin = "{tmin} degC"
rain = "{rain} mm"
wet_days = [{wet}]

[harvest]
date = {deployed}
residue = "250 g/m2"
material = "oak leaf"

[material."oak leaf".component.leaf]
mass_share = 1.0
shape = "sheet"
lab = {{ basis = "dry", carbon = "48.37 %", nitrogen = "0.927 %", NDF = "68 %", ADL = "22 %" }}
"""


def rows(path):
    with open(path, newline="", encoding="utf-8") as f:
        return list(csv.DictReader(line for line in f if not line.startswith("#")))


def mean_of_year(months):
    return sum(d * m for d, m in zip(MONTH_DAYS, months)) / sum(MONTH_DAYS)


def climate(typed, filed):
    """Normals of a row of oak_sites.csv, set to MAT and MAP of the row of sites.csv, or of its own where that has none."""
    def number(name):
        return float(filed[name] or typed[name])
    months = {name: [float(v) for v in typed[name].split()] for name in ("tmax_C", "tmin_C", "rain_mm", "wet_days")}
    shift = number("MAT_C") - mean_of_year([(h + l) / 2 for h, l in zip(months["tmax_C"], months["tmin_C"])])
    scale = number("MAP_mm") / sum(months["rain_mm"])
    return {"mat": number("MAT_C"), "map": number("MAP_mm"), "pet": float(filed["PET_mm"] or "nan"),
            "latitude": number("latitude"), "elevation": number("elevation_m"),
            "tmax": [t + shift for t in months["tmax_C"]], "tmin": [t + shift for t in months["tmin_C"]],
            "rain": [p * scale for p in months["rain_mm"]], "wet": months["wet_days"]}


def measured(data):
    """By site: day laid out, and (days, carbon left, sd, nitrogen left, sd, n) of each harvest of the control plots, %."""
    found = {}
    for r in rows(data / "nutnet-oak-multisite" / "site_treatment_harvest_means.csv"):
        if r["treatment"] == "Control":
            percent = [f"{100 * float(r[name]):.2f}" if r[name] else ""
                       for name in ("C_remaining_mean", "C_remaining_sd", "N_remaining_mean", "N_remaining_sd")]
            days = round(float(r["days_mean"]))
            found.setdefault(r["site"], (r["deployed_first"], []))[1].append((days, *percent, int(r["n_C"])))
    return found


def read_off(curves):
    """As measured(), of published Weibull curves of carbon left, once a year; the sd is that of bags about the curve."""
    found = {}
    for r in rows(curves):
        sd = f"{100 * math.sqrt(float(r['rss']) / (int(r['bags']) - 2)):.2f}"
        points = []
        for year in range(1, int(r["harvests"]) + 1):
            left = math.exp(-((year / float(r["scale_years"])) ** float(r["shape"])))
            points.append((round(365.25 * year), f"{100 * left:.2f}", sd, "", "", int(r["bags"]) // int(r["harvests"])))
        found[r["site"]] = (r["deployed"], points)
    return found


def sites(data, curves=None):
    """Sites with data: site, key, deployed, points as of measured(), whether they are of a curve, and their climate."""
    filed = {r["site"]: r for r in rows(data / "nutnet-oak-multisite" / "sites.csv")}
    of_curves = read_off(curves) if curves else {}
    points = measured(data)
    found = []
    for typed in rows(HERE / "oak_sites.csv"):
        of_curve = typed["site"] not in points
        if typed["site"] in points or typed["site"] in of_curves:
            deployed, harvests = (of_curves if of_curve else points)[typed["site"]]
            found.append({"site": typed["site"], "key": typed["key"], "deployed": deployed, "points": harvests,
                          "of_curve": of_curve, **climate(typed, filed[typed["site"]])})
    return found


def scenario(site, extra=""):
    def twelve(values):
        return " ".join(f"{v:.2f}" for v in values)
    text = SCENARIO.format(**{**site, "duration": max(p[0] for p in site["points"]) + 1,
                              "tmax": twelve(site["tmax"]), "tmin": twelve(site["tmin"]), "rain": twelve(site["rain"]),
                              "wet": ", ".join(f"{w:g}" for w in site["wet"])})
    return text + extra


def write_trial(path, site):
    with open(path, "w", newline="", encoding="utf-8") as f:
        out = csv.writer(f, lineterminator="\n")
        out.writerow(("days [d]", "carbon left [%]", "carbon left sd [%]", "nitrogen left [%]", "nitrogen left sd [%]", "n"))
        out.writerows(site["points"])


def fit_file(found, estimate, measures=("carbon", "nitrogen")):
    """A fit of these sites together; `estimate` maps names to tables, as TOML text. One start, as there are many fits."""
    trials = [f'[[trial]]\nsite = "{s["key"]}"\ndata = "{s["key"]}-trial.csv"\nscenario = "{s["key"]}-scenario.toml"\n\n'
              for s in found]
    lines = ['title = "Oak leaf litter at many sites"', "", "[data]",
             f"measures = [{', '.join(f'{chr(34)}{m}{chr(34)}' for m in measures)}]", "",
             *trials, "[estimate]", *(f"{name} = {table}" for name, table in estimate.items()), "",
             "[methods]", "draws = 0", "profiles = false", "population = false", "starts = 1"]
    return "\n".join(lines) + "\n"


def make(folder, data, curves=None, extra=""):
    folder.mkdir(parents=True, exist_ok=True)
    found = sites(data, curves)
    for site in found:
        (folder / f"{site['key']}-scenario.toml").write_text(scenario(site, extra), encoding="utf-8")
        write_trial(folder / f"{site['key']}-trial.csv", site)
    return found


def main():
    arguments = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    arguments.add_argument("folder", type=pathlib.Path, help="where the files go; made if it is not there")
    arguments.add_argument("--data", type=pathlib.Path, default=DATA,
                           help="folder of the open data (default: ../shared/data beside the repository)")
    arguments.add_argument("--curves", type=pathlib.Path, help="published curves of sites without means")
    given = arguments.parse_args()
    if not given.data.is_dir():
        sys.exit(f"make_oak.py: {given.data} is not there; say where the open data are with --data")
    found = make(given.folder, given.data, given.curves)
    (given.folder / "oak.toml").write_text(fit_file(found, {"k_hol": "{}", "k_lig": "{}", "contact": "{}"}), encoding="utf-8")
    print(f"made {len(found)} sites in {given.folder}")


if __name__ == "__main__":
    main()
