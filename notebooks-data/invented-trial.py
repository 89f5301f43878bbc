#!/usr/bin/python3
"""Makes invented-trial.csv: invented litterbags of scenarios/examples/invented-trial-scenario.toml.

    notebooks-data/invented-trial.py build/scenarios/stoverturn > notebooks-data/invented-trial.csv

Python 3, standard library only. What the bags hold follows from the parameters in TRUTH; the scatter is drawn with the
seed below.
"""
import csv
import datetime
import pathlib
import random
import subprocess
import sys
import tempfile

TRUTH = {"k_hol": 0.030, "v_mm_d": 0.90, "contact": 0.25}
START = datetime.date(2012, 10, 20)
PULLS = (0, 45, 150, 200, 260, 360, 540)
TREATMENTS = ("long_closed", "short", "opened", "opened_fertilised")
PLACEMENTS = ("surface", "buried")
BLOCKS = (1, 2, 3, 4)
HANDLING = 0.02      # of the start, lost on the way out and back by every bag
SD_DAY_0 = 0.01      # of mass left, share of the start
SD_MASS = 0.04       # likewise on later days
SD_CONTENT = 0.05    # of N and C contents, of the value (C a fifth of it)
N_START, C_START = 0.0060, 0.44    # g/g of stalk, as in the scenario and docs/parameters.md
SEED = 20121020


def simulated(program):
    """{(label, placement, quantity): {date: g of the stalks in the place}}"""
    here = pathlib.Path(__file__).resolve().parent
    scenario = here.parent / "scenarios" / "examples" / "invented-trial-scenario.toml"
    with tempfile.TemporaryDirectory() as folder:
        settings = [word for name, value in TRUTH.items() for word in ("--set", f"{name}={value}")]
        subprocess.run([program, "run", scenario, "--quiet", "--daily", "-o", f"{folder}/truth", *settings],
                       check=True)
        amounts = {}
        with open(f"{folder}/truth-daily.csv", newline="") as rows:
            for row in csv.DictReader(rows):
                quantity = row["variable"]
                if quantity not in ("cohort_dry_matter", "cohort_nitrogen") or row["component"] != "stalk":
                    continue
                key = row["treatment"], row["placement"], quantity
                course = amounts.setdefault(key, {})
                course[row["date"]] = course.get(row["date"], 0.0) + float(row["value"] or 0.0)
    return amounts


def main(program):
    labels = {"long_closed": "long, closed", "short": "cut to 8 cm", "opened": "8 cm, opened every 2 cm",
              "opened_fertilised": "opened, 40 kg/ha of N"}
    amounts = simulated(program)
    draw = random.Random(SEED)
    print("# Invented data, made by invented-trial.py from stated parameters: no such trial was made.")
    print("# " + ", ".join(f"{name} = {value}" for name, value in TRUTH.items()))
    print("treatment,component,placement,block,replicate,date,initial mass [g],mass [g],nitrogen [%],carbon [%]")
    bag = 0
    for treatment in TREATMENTS:
        for placement in PLACEMENTS:
            mass = amounts[labels[treatment], placement, "cohort_dry_matter"]
            nitrogen = amounts[labels[treatment], placement, "cohort_nitrogen"]
            for pull in PULLS:
                day = (START + datetime.timedelta(days=pull)).isoformat()
                share = mass[day] / mass[START.isoformat()]
                content = N_START * nitrogen[day] / nitrogen[START.isoformat()] / share
                for block in BLOCKS:
                    put_in = round(draw.gauss(20.0, 0.1), 2)
                    left = share * (1.0 - HANDLING) + draw.gauss(0.0, SD_DAY_0 if pull == 0 else SD_MASS)
                    N = 100.0 * content * (1.0 + draw.gauss(0.0, SD_CONTENT))
                    C = 100.0 * C_START * (1.0 + draw.gauss(0.0, SD_CONTENT / 5.0))
                    analysed = f"{N:.3f},{C:.1f}" if bag % 3 == 0 else ","
                    print(f"{treatment},stalk,{placement},{block},1,{day},{put_in:.2f},"
                          f"{max(left, 0.01) * put_in:.2f},{analysed}")
                    bag += 1


if __name__ == "__main__":
    main(sys.argv[1])
