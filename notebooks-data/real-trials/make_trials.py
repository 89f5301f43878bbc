#!/usr/bin/env python3
"""Turns open trials into files that stoverturn reads: FOLDER gets trial data, weather, scenarios and fit files.

    make_trials.py FOLDER [--data ../shared/data]

Python's standard library alone. The data stay where they are; what is made here is not meant to be committed. Trials whose few
published figures stand beside this file are copied. README.md beside this file says what each set is, whose it is and what
was assumed.
"""
import argparse
import csv
import datetime
import math
import pathlib
import shutil
import statistics
import sys

HERE = pathlib.Path(__file__).resolve().parent


def rows(path):
    with open(path, newline="", encoding="utf-8") as f:
        return list(csv.DictReader(f))


def write(path, header, lines, comments=()):
    with open(path, "w", newline="", encoding="utf-8") as f:
        for comment in comments:
            f.write(f"# {comment}\n")
        out = csv.writer(f, lineterminator="\n")
        out.writerow(header)
        out.writerows(lines)


def haiti(data, folder):
    source = data / "lynch2016-haiti-residues"
    labels = {"maize": "corn", "sorghum_sudangrass": "sorghum", "common_bean": "bean", "sunn_hemp": "sunn_hemp"}
    bags = [r for r in rows(source / "litterbag_digitised.csv") if r["day"] != "0" and r["mass_remaining_pct"]]
    bag = [(labels[r["residue"]], r["placement"], r["day"]) for r in bags]
    credit = ("Lynch et al. 2016, doi:10.1186/s40064-016-2651-1, CC BY 4.0; means read off figures 2 to 7",)
    write(folder / "haiti-trial.csv", ("treatment", "placement", "days [d]", "mass left [%]", "carbon left [%]", "nitrogen left [%]"),
          [(*b, r["mass_remaining_pct"], r["C_remaining_pct_of_day0"], r["N_remaining_pct_of_day0"]) for b, r in zip(bag, bags)],
          credit)
    record = []
    for r in rows(source / "daily_weather_digitised.csv"):
        mean = r["mean_air_temp_C"]
        span = (f"{float(mean) - 5:.2f}", f"{float(mean) + 5:.2f}") if mean else ("", "")
        record.append((*span, f"{10 * float(r['rain_cm_as_axis_label']):.1f}"))
    first = datetime.date(2013, 5, 1)  # of the record; the year before it and the day after it are the record again
    weather = [((first + datetime.timedelta(days=d)).isoformat(), *record[d % len(record)])
               for d in range(-365, len(record) + 1)]
    write(folder / "haiti-weather.csv", ("date", "tmin [degC]", "tmax [degC]", "rain [mm]"), weather,
          ("latitude: 18.92", "elevation: 158.5 m", "from 2013-05-01 daily means of figure 1, 5 K down and up, rain in cm as labelled; before and after that the",
           "same days once more"))


def illinois(data, folder):
    labels = {"cereal_rye": "rye", "hairy_vetch": "vetch"}
    lines = [
        (labels[r["crop"]], 7 * int(r["week"]), r["mass_remaining_pct_digitised_fig2"],
         r["N_remaining_pct_from_table5"])
        for r in rows(data / "sievers-cook2018-illinois" / "remaining_by_week.csv")
        if r["part"] == "shoots" and r["week"] != "0"
    ]
    write(folder / "illinois-trial.csv", ("treatment", "days [d]", "mass left [%]", "nitrogen left [%]"), lines)


def filed(data, entry, series):
    """Rows of the database's series, without day 0: (what `series` says of it, days, per cent left)."""
    for r in rows(data / "aridec-crop-residues" / "tidy_mass_remaining.csv"):
        days = round(float(r["time_days"]))
        if r["entry"] == entry and r["series"] in series and days > 0:
            yield (*series[r["series"]], days, r["remaining_pct"])


def inner_mongolia(data, folder):
    write(folder / "inner-mongolia-trial.csv", ("days [d]", "mass left [%]"), filed(data, "Hu2018", {"MS": ()}))


def lingbao(data, folder):
    parts = {"FR": "culm", "L": "leaf", "S": "sheath"}
    series = {part + place: (name, {"G": "surface", "B": "buried"}[place])
              for part, name in parts.items() for place in "GB"}
    write(folder / "lingbao-trial.csv", ("component", "treatment", "days [d]", "mass left [%]"),
          filed(data, "Hou2019", series))


def cerrado(data, folder):
    series = {"CrRSF": ("fine",), "CrRSC": ("coarse",)}
    write(folder / "cerrado-trial.csv", ("treatment", "days [d]", "mass left [%]"),
          filed(data, "PenaPena2016", series))


def illinois_2021(data, folder):
    """C and N left of what came back on day 0, by soil; weather from inches and degF."""
    labels = {"CR": "rye", "AR": "ryegrass", "PC": "pennycress"}
    bags = [r for r in rows(data / "isu-illinois2021-covercrop" / "remaining_means.csv")
            if r["species_code"] in labels and int(r["n_chem"] or 0) > 1]
    first = {(r["species_code"], r["soil_block"]): r for r in bags if r["day"] == "0"}
    lines = []
    for r in bags:
        if r["day"] != "0":
            start = first[r["species_code"], r["soil_block"]]
            left = [f"{100 * float(r[f'{e}_remaining_pct_{what}']) / float(start[f'{e}_remaining_pct_mean']):.1f}"
                    for e in "CN" for what in ("mean", "sd")]
            lines.append((labels[r["species_code"]], r["soil_block"], r["day"], r["n_chem"], *left))
    write(folder / "illinois-2021-trial.csv",
          ("treatment", "block", "days [d]", "n", "carbon left [%]", "carbon left sd [%]", "nitrogen left [%]",
           "nitrogen left sd [%]"), lines,
          ("Meyer and Perry, Illinois State University, github wlperry/decomp_r; means of bags over the mean of day 0",))
    weather = [(r["date"], f"{(float(r['TMIN']) - 32) / 1.8:.2f}", f"{(float(r['TMAX']) - 32) / 1.8:.2f}",
                f"{25.4 * float(r['PRCP']):.1f}")
               for r in rows(data / "weather-milwaukee-ghcnd" / "GHCN_USW00014839_2000-2025.csv")
               if r["year"] in ("2020", "2021")]
    write(folder / "illinois-2021-weather.csv", ("date", "tmin [degC]", "tmax [degC]", "rain [mm]"), weather,
          ("latitude: 40.5", "elevation: 240 m", "temperature and rain are of Milwaukee, GHCN-Daily USW00014839"))


def ramat_hanadiv(data, folder):
    write(folder / "ramat-hanadiv-trial.csv", ("days [d]", "mass left [%]"), filed(data, "Gliksman2018b", {"TAG": ()}))


def gurbantunggut(data, folder):
    write(folder / "gurbantunggut-trial.csv", ("days [d]", "mass left [%]"), filed(data, "Huang2017", {"F": ()}))


def straight_line(points):
    """Intercept and slope of the least squares."""
    slope, intercept = statistics.linear_regression(*zip(*points))
    return intercept, slope


def rye_jars(data, folder):
    """Mineral N: what the jar had above soil alone, on top of the straight line of soil alone. Day 1 sets the start."""
    jars = rows(data / "gomes-rye-incubation" / "mineral_N_means.csv")
    alone = {(r["temp_C"], r["day"]): r for r in jars if r["treatment"] == "soil_only"}
    line = {t: straight_line([(int(d), float(r["mineralN_ug_g_mean"])) for (at, d), r in alone.items() if at == t])
            for t, _ in alone}
    lines = []
    for r in jars:
        if r["treatment"] == "soil_only" or r["day"] == "1":
            continue
        intercept, slope = line[r["temp_C"]]
        jar = r["treatment"].replace("rye_CN", "cn").replace("_plus_fertN", "_fed")
        sd = math.hypot(float(r["mineralN_sd"]), float(alone[r["temp_C"], r["day"]]["mineralN_sd"]))
        lines.append((f"{jar}_{r['temp_C']}C", r["day"],
                      f"{intercept + slope * int(r['day']) + float(r['net_residue_N_ug_g']):.2f}", r["n"], f"{sd:.2f}"))
    write(folder / "rye-jars-trial.csv",
          ("treatment", "days [d]", "mineral nitrogen [mg/kg]", "n", "mineral nitrogen sd [mg/kg]"), lines,
          ("Gomes et al., preprint, eartharxiv.org/repository/view/9137; means of 4 jars above those of soil alone, put upon the",
           "straight line through the means of soil alone; sd of the two together"))


def main():
    arguments = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    arguments.add_argument("folder", type=pathlib.Path, help="where the files go; made if it is not there")
    arguments.add_argument("--data", type=pathlib.Path, default=HERE.parents[2] / "shared" / "data",
                           help="folder of the open data (default: ../shared/data beside the repository)")
    given = arguments.parse_args()
    if not given.data.is_dir():
        sys.exit(f"make_trials.py: {given.data} is not there; say where the open data are with --data")
    given.folder.mkdir(parents=True, exist_ok=True)
    for make in (haiti, illinois, inner_mongolia, lingbao, cerrado, rye_jars, illinois_2021, ramat_hanadiv,
                 gurbantunggut):
        make(given.data, given.folder)
    for text in (*HERE.glob("*.toml"), *HERE.glob("*-trial.csv")):
        shutil.copy(text, given.folder)
    print(f"made {len(list(given.folder.iterdir()))} files in {given.folder}")


if __name__ == "__main__":
    main()
