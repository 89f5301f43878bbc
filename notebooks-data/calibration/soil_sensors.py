#!/usr/bin/env python3
"""Soil temperature and water of the drivers (docs/model.md Eq. 28 to 33) against sensors in Boone, Iowa, 2018 and 2019.

    soil_sensors.py [--program stoverturn] [--data ../shared/data] [--plain] [--csv DAYS.csv]

Prints bias, root mean square error and correlation of daily means at 15 cm, and of temperature at 45 cm (predicted for 40 cm,
the deepest the program allows), with the defaults; then (but for --plain) fits a few parameters on one year and tests them on
the other. Python's standard library alone. soil-sensors-scenario.toml says what was assumed.
"""
import argparse
import collections
import concurrent.futures
import csv
import itertools
import math
import pathlib
import statistics
import tempfile

import predicted as model

HERE = pathlib.Path(__file__).resolve().parent
SCENARIO = HERE / "soil-sensors-scenario.toml"
COMPARED = {  # name: (treatment, variable, placement, sensor's unit, depth in cm)
    "temperature, 15 cm": ("upper", "residue_temperature", "buried", "soilT_C", "15"),
    "temperature, 45 cm": ("lower", "residue_temperature", "buried", "soilT_C", "45"),
    "water, 15 cm": ("upper", "soil_moisture", "", "soilVWC", "15"),
}
SEARCHES = {  # name: (what it is judged by, values tried)
    "temperature": (("temperature, 15 cm", "temperature, 45 cm"), {
        "diffusivity_mm2_s": (0.15, 0.2, 0.3, 0.4, 0.5, 0.7, 1.0),
        "mulch_insulation": (0.0, 0.35, 1.0, 2.0, 3.0)}),
    "water": (("water, 15 cm",), {
        "soil.field_capacity": (0.26, 0.29, 0.32, 0.35, 0.38),
        "k_drain": (0.1, 0.2, 0.4, 1.0),
        "mulch_shade": (0.0, 0.5, 1.0)}),
}


def rows(path):
    with open(path, newline="", encoding="utf-8") as f:
        return list(csv.DictReader(f))


def write_weather(data, path):
    """The 41 years of Ames as the program reads them, without the days that the data's own list of flags doubts."""
    source = data / "weather-ames-iowa"
    doubted = {r["date"] for r in rows(source / "qc_flags.csv") if "large but possible" not in r["reason"]}
    with open(path, "w", newline="", encoding="utf-8") as f:
        f.write("# latitude: 42.02\n# elevation: 335 m\n")
        out = csv.writer(f, lineterminator="\n")
        out.writerow(("date", "tmin [degC]", "tmax [degC]", "rain [mm]"))
        for r in rows(source / "mrs_wea.csv"):
            if r["date"] not in doubted:
                out.writerow((r["date"], r["mint_c"], r["maxt_c"], r["rain_mm"]))


def observed(data):
    """Mean over plots by (sensor's unit, depth) and date; days on which fewer than five plots report are left out."""
    values = collections.defaultdict(lambda: collections.defaultdict(list))
    for r in rows(data / "weather-ames-iowa" / "soilsensors.csv"):
        if r["sensor_type"] == "5TM" and r["value"] not in ("", "NA"):
            values[r["sensor_unit"], r["sensor_depth_cm"]][r["date"]].append(float(r["value"]))
    return {key: {d: statistics.fmean(v) for d, v in days.items() if len(v) >= 5} for key, days in values.items()}


def plots_scatter(data, unit, depth):
    """Standard deviation between plots on a day, mean over days."""
    days = collections.defaultdict(list)
    for r in rows(data / "weather-ames-iowa" / "soilsensors.csv"):
        of = (r["sensor_type"], r["sensor_unit"], r["sensor_depth_cm"])
        if of == ("5TM", unit, depth) and r["value"] not in ("", "NA"):
            days[r["date"]].append(float(r["value"]))
    return statistics.fmean(statistics.stdev(v) for v in days.values() if len(v) >= 5)


def simulate(program, folder, settings):
    name = "soil-" + "-".join(f"{k.rsplit('.', maxsplit=1)[-1]}{v}" for k, v in settings.items())
    daily = model.run(program, folder / SCENARIO.name, folder, name, [f"{k}={v}" for k, v in settings.items()])
    series = model.Series(daily, SCENARIO)
    daily.unlink()
    return series


def curve(series, name):
    """Predicted values by date."""
    treatment, variable, placement, _, _ = COMPARED[name]
    values = series.get(variable, {"treatment": treatment, "component": "", "placement": placement})
    return {series.first.fromordinal(series.first.toordinal() + i).isoformat(): v for i, v in enumerate(values)}


def agreement(name, series, measured, year):
    """(days, bias, rmse, rmse without the bias, correlation) of predicted less measured in a year."""
    _, _, _, unit, depth = COMPARED[name]
    predicted = curve(series, name)
    pairs = [(predicted[d], v) for d, v in sorted(measured[unit, depth].items()) if d.startswith(year)]
    off = [p - v for p, v in pairs]
    bias = statistics.fmean(off)
    rmse = math.sqrt(statistics.fmean(o * o for o in off))
    return len(pairs), bias, rmse, math.sqrt(max(0.0, rmse**2 - bias**2)), statistics.correlation(*zip(*pairs))


def print_agreement(series, measured, names=tuple(COMPARED)):
    print(f"{'':20} {'year':>5} {'days':>5} {'bias':>7} {'rmse':>7} {'less bias':>9} {'r':>6}")
    for name in names:
        for year in ("2018", "2019"):
            n, *numbers, r = agreement(name, series, measured, year)
            digits = 3 if "water" in name else 2
            print(f"{name:20} {year:>5} {n:5d} {numbers[0]:+7.{digits}f} {numbers[1]:7.{digits}f} "
                  f"{numbers[2]:9.{digits}f} {r:6.2f}")


def search(given, folder, measured, search_name):
    """The best of a grid in each year, and what each best does in the other year."""
    names, tried = SEARCHES[search_name]
    points = [dict(zip(tried, values)) for values in itertools.product(*tried.values())]
    with concurrent.futures.ThreadPoolExecutor(2) as pool:
        runs = list(pool.map(lambda point: simulate(given.program, folder, point), points))

    def cost(series, year):
        return statistics.fmean(agreement(n, series, measured, year)[2] for n in names)

    default = simulate(given.program, folder, {})
    print(f"\n{search_name}: {len(points)} combinations of {', '.join(tried)}; mean rmse of {' and '.join(names)}")
    for fitted, tested in (("2018", "2019"), ("2019", "2018")):
        best = min(range(len(points)), key=lambda i: cost(runs[i], fitted))
        print(f"  fitted on {fitted}: {points[best]}; rmse {cost(default, fitted):.3f} -> {cost(runs[best], fitted):.3f}; "
              f"in {tested} {cost(default, tested):.3f} -> {cost(runs[best], tested):.3f}")
    best = min(range(len(points)), key=lambda i: cost(runs[i], "2018") + cost(runs[i], "2019"))
    print(f"  fitted on both: {points[best]}")
    print_agreement(runs[best], measured, names)


def print_residue(series):
    """What residue does to the temperature at 15 cm in the model, by season."""
    figure = {"component": "", "placement": "buried"}
    bare = series.get("residue_temperature", {**figure, "treatment": "no_residue"})
    covered = series.get("residue_temperature", {**figure, "treatment": "much_residue"})
    print("\n9 t/ha of corn residue less bare soil, temperature at 15 cm, model:")
    for label, when in (("December to February", "2017-12-01..2018-02-28"), ("May, June", "2018-05-01..2018-06-30")):
        first, last = series.days(when)
        print(f"  {label}: {statistics.fmean(c - b for c, b in zip(covered[first:last + 1], bare[first:last + 1])):+.2f} K")


def write_days(path, series, measured):
    with open(path, "w", newline="", encoding="utf-8") as f:
        out = csv.writer(f, lineterminator="\n")
        out.writerow(("what", "date", "measured", "predicted"))
        for name, (_, _, _, unit, depth) in COMPARED.items():
            predicted = curve(series, name)
            out.writerows((name, d, f"{v:.3f}", f"{predicted[d]:.3f}") for d, v in sorted(measured[unit, depth].items()))


def main():
    arguments = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    arguments.add_argument("--program", default="stoverturn")
    arguments.add_argument("--data", type=pathlib.Path, default=HERE.parents[2] / "shared" / "data")
    arguments.add_argument("--plain", action="store_true", help="the defaults alone, no search")
    arguments.add_argument("--csv", type=pathlib.Path, help="measured and predicted values of every day")
    given = arguments.parse_args()
    measured = observed(given.data)
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        write_weather(given.data, folder / "ames-weather.csv")
        (folder / SCENARIO.name).write_text(SCENARIO.read_text(encoding="utf-8"), encoding="utf-8")
        default = simulate(given.program, folder, {})
        print("defaults, predicted less measured")
        print_agreement(default, measured)
        for what, (_, _, _, unit, depth) in COMPARED.items():
            print(f"  between plots: {what} sd {plots_scatter(given.data, unit, depth):.3f}")
        print_residue(default)
        if given.csv:
            write_days(given.csv, default, measured)
        for what in () if given.plain else SEARCHES:
            search(given, folder, measured, what)


if __name__ == "__main__":
    main()
