#!/usr/bin/env python3
"""live_agrees.py PROGRAM WASM_FOLDER [SCENARIO...]: the live page's engine, in node, gives the numbers of the program.

Every series that does not run over cohorts, of every single-run example (one with a weather file, one with a fit and draws),
within 1e-9 of its largest value: the machines share IEEE arithmetic but not the mathematical library (exp, pow), whose last
digits differ."""
import json
import pathlib
import re
import subprocess
import sys
import tempfile

import h5py
import numpy as np

root = pathlib.Path(__file__).resolve().parents[2]
program, wasm = (pathlib.Path(a).resolve() for a in sys.argv[1:3])
scenarios = [pathlib.Path(s).resolve() for s in sys.argv[3:]]
relative = 1e-9
# what integrations leave of exact balances: rounding itself, nothing to be compared
rounding = {"balance_residual", "balance_residual_low", "balance_residual_high"}


def named_files(text, folder):
    """Texts of the files that a scenario names, by the names that it uses."""
    names = set(re.findall(r'"([^"\n]+\.(?:csv|json|toml|dly|txt))"', text))
    return {name: (folder / name).read_text() for name in names if (folder / name).is_file()}


def native(scenario, folder):
    """(results, "") of the program, or ({}, what it says)."""
    name = folder / scenario.stem
    done = subprocess.run([program, "run", scenario, "-o", name, "--quiet", "--overwrite"], capture_output=True, text=True)
    if done.returncode != 0:
        return {}, done.stderr
    with h5py.File(f"{name}.h5") as file:
        return {key: np.asarray(file[key], dtype=float).ravel() for key in file
                if isinstance(file[key], h5py.Dataset) and file[key].dtype.kind == "f"}, ""


def asked(scenario):
    text = scenario.read_text()
    draws = re.search(r"^draws *= *([0-9]+)", text, re.M)
    return {"do": "run", "scenario": text, "file": str(scenario), "files": named_files(text, scenario.parent),
            "draws": int(draws[1]) if draws else 0, "charts": False, "numbers": False, "cohorts": False, "series": True}


def compared(scenario, results, said, answer):
    if not results:
        assert not answer["ok"], scenario
        message = " ".join(answer["mistakes"][0]["message"].split())
        assert message in " ".join(said.split()), (scenario, message, said)
        return f"{scenario.name}: refused alike"
    assert answer["ok"], (scenario, answer)
    assert len(answer["series"]) > 40, scenario
    worst = 0.0
    for series in answer["series"]:
        if series["name"] in rounding:
            continue
        ours, theirs = results[series["name"]], np.array(series["values"], dtype=float)
        assert ours.shape == theirs.shape, (scenario, series["name"])
        assert (np.isnan(ours) == np.isnan(theirs)).all(), (scenario, series["name"])
        largest = np.max(np.abs(ours), initial=0.0, where=~np.isnan(ours))
        apart = np.max(np.abs(ours - theirs), initial=0.0, where=~np.isnan(ours))
        assert apart <= relative * largest, (scenario.name, series["name"], apart / largest)
        worst = max(worst, apart / largest if largest > 0.0 else 0.0)
    return f"{scenario.name}: {len(answer['series'])} series, at most {worst:.1e} of the largest value apart"


whole = not scenarios
if whole:
    scenarios = sorted(s for s in (root / "scenarios/examples").glob("*.toml") if "[harvest]" in s.read_text())
requests = "".join(json.dumps(asked(s)) + "\n" for s in scenarios)
node = subprocess.run(["node", root / "tests/page/live_node.js", wasm], input=requests, capture_output=True, text=True, check=True)
ran = 0
with tempfile.TemporaryDirectory() as folder:
    for scenario, line in zip(scenarios, node.stdout.splitlines(), strict=True):
        results, said = native(scenario, pathlib.Path(folder))
        print(compared(scenario, results, said, json.loads(line)))
        ran += bool(results)
assert ran >= (20 if whole else 1), ran
