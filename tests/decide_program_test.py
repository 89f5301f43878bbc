#!/usr/bin/env python3
"""decide_program_test.py PROGRAM: `timing` and `planting` as their users meet them: table, JSON, CSV and HDF5 say the
same, lines fit on paper, threads change nothing."""
import csv
import json
import pathlib
import shutil
import subprocess
import sys
import tempfile

program = pathlib.Path(sys.argv[1]).resolve()
farm = pathlib.Path(__file__).resolve().parent.parent / "scenarios/examples/fall-or-spring.toml"
folder = pathlib.Path(tempfile.mkdtemp())
faults = []


def check(fine, what):
    if not fine:
        faults.append(what)


def run(*words, code=0):
    done = subprocess.run([program, *words], capture_output=True, text=True, cwd=folder)
    check(done.returncode == code, f"{' '.join(map(str, words))}: exit {done.returncode}, wanted {code}: {done.stderr}")
    return done


few = ("--set", "ensemble.weather_years=4")
for command, number, sign in (("timing", "net_gain", "  1. "), ("planting", "soil_cover_at", "On planting day")):
    table = run(command, farm, *few, "-o", "one", "--threads", "1").stdout
    check(sign in table, f"{command}: the table lacks '{sign}'")
    check(max(map(len, table.splitlines())) <= 100, f"{command}: a line of {max(map(len, table.splitlines()))} columns")
    check("state and local rules" in table, f"{command}: no caution")
    text = run(command, farm, *few, "-o", "two", "--threads", "2", "--json", "--quiet").stdout
    check(all((folder / f"one{end}").read_bytes() == (folder / f"two{end}").read_bytes() for end in (".h5", ".csv")),
          f"{command}: one and two threads differ")
    key = json.loads(text)["key_numbers"][number]
    rows = [r for r in csv.DictReader(open(folder / "one.csv")) if r["variable"] == number]
    check(rows and rows[0]["unit"] == key["unit"], f"{command}: units of {number} differ")
    # the same number by both: last treatment, middle quantile
    values = key["values"][0][-1]
    middle = json.loads(text)["quantile"].index(0.5)
    told = values[middle]
    told = told[0] if isinstance(told, list) else told
    last = [r for r in rows if r["treatment"] == rows[-1]["treatment"]][0]
    check(abs(float(last["q0.5"]) - told) < 1e-6, f"{command}: {number} is {last['q0.5']} in CSV, {told} in JSON")
    refused = run(command, farm, *few, "-o", "one", code=3)
    check("exist" in refused.stderr, f"{command}: an existing file was not refused: {refused.stderr}")
    for name in ("one", "two"):
        for file in folder.glob(f"{name}*"):
            file.unlink()

choices = run("timing", farm, *few, "--set", "timing.duration=400 d", "-o", "t")
rows = list(csv.DictReader(open(folder / "t-choices.csv")))
check(len(rows) == 24 and rows[0]["product"] == "UAN 28" and rows[0]["date"] == "10 d", f"choices: {rows[:1]}")

shutil.rmtree(folder)
print("\n".join(faults) or "what decides is told the same everywhere")
sys.exit(bool(faults))
