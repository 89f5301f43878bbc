#!/usr/bin/env python3
"""live_agrees.py PROGRAM WASM_FOLDER [SCENARIO...]: the live page's engine, in node, gives the numbers of the program.

Every series that does not run over cohorts, of every single-run example (one with a weather file, one with a fit and draws),
within 1e-9 of its largest value: the machines share IEEE arithmetic but not the mathematical library (exp, pow), whose last
digits differ."""
import json
import pathlib
import subprocess
import sys
import tempfile

import h5py
import numpy as np

root = pathlib.Path(__file__).resolve().parents[2]
program, wasm = (pathlib.Path(a).resolve() for a in sys.argv[1:3])
scenarios = [pathlib.Path(s).resolve() for s in sys.argv[3:]]
whole = not scenarios
relative = 1e-9
# what integrations leave of exact balances: rounding itself, nothing to be compared
rounding = {"balance_residual", "balance_residual_low", "balance_residual_high"}


def named_files(scenario):
    """Texts of all files beside a scenario that it may name, by the names that it uses."""
    texts = {}
    text = scenario.read_text()
    for other in list(scenario.parent.iterdir()) + list((root / "notebooks-data").glob("*.csv")):
        if other.suffix in (".csv", ".json", ".toml") and other.name in text and other != scenario:
            for name in (other.name, f"../../notebooks-data/{other.name}"):
                if f'"{name}"' in text:
                    texts[name] = other.read_text()
    return texts


def runs_alone(scenario):
    """Whether `stoverturn run` takes it: not a plan, and not a fit."""
    text = scenario.read_text()
    return "[harvest]" in text


def compared(scenario, folder):
    name = folder / scenario.stem
    done = subprocess.run([program, "run", scenario, "-o", name, "--quiet", "--overwrite"], capture_output=True, text=True)
    request = {"do": "run", "scenario": scenario.read_text(), "file": str(scenario), "files": named_files(scenario),
               "charts": False, "numbers": False, "cohorts": False, "series": True}
    with h5py.File(f"{name}.h5") if done.returncode == 0 else open("/dev/null") as results:
        if done.returncode == 0 and "mass_left_low" in results:
            request["draws"] = json.loads(next(l for l in request["scenario"].splitlines() if l.startswith("draws")).split("=")[1].split("#")[0])
        answer = json.loads(subprocess.run(["node", root / "tests/page/live_node.js", wasm], input=json.dumps(request) + "\n",
                                           capture_output=True, text=True, check=True).stdout)
        if done.returncode != 0:
            assert not answer["ok"], scenario
            message = answer["mistakes"][0]["message"]
            assert message in done.stderr, (scenario, message, done.stderr)
            return 0, 0.0
        assert answer["ok"], (scenario, answer)
        worst = 0.0
        assert len(answer["series"]) > 40, scenario
        for series in answer["series"]:
            if series["name"] in rounding:
                continue
            native = np.asarray(results[series["name"]], dtype=float).ravel()
            page = np.array(series["values"], dtype=float)
            assert native.shape == page.shape, (scenario, series["name"])
            assert (np.isnan(native) == np.isnan(page)).all(), (scenario, series["name"])
            if np.isnan(native).all():
                continue
            largest = np.nanmax(np.abs(native))
            apart = np.nanmax(np.abs(native - page))
            assert apart <= relative * largest, (scenario.name, series["name"], apart / largest)
            worst = max(worst, apart / largest if largest > 0.0 else 0.0)
        return len(answer["series"]), worst


if whole:
    scenarios = sorted(s for s in (root / "scenarios/examples").glob("*.toml") if runs_alone(s))
with tempfile.TemporaryDirectory() as folder:
    ran = 0
    for scenario in scenarios:
        count, worst = compared(scenario, pathlib.Path(folder))
        ran += count > 0
        print(f"{scenario.name}: {count} series, at most {worst:.1e} apart" if count else f"{scenario.name}: refused alike")
    assert ran >= (15 if whole else 1), ran
