#!/usr/bin/env python3
"""Puts the tables that `run` left in FOLDER into docs/verification.md, between <!-- NAME --> and <!-- end -->.

    update_page.py FOLDER [--docs docs]

Blocks: typical, parameters, left out, misses. All other words of the page are by hand: read them again. docs/verification/tables.md is
written as a whole: the studies of the calibration, printed figures, all figures by study."""
import argparse
import json
import math
import pathlib
import re

import calibrate

HERE = pathlib.Path(__file__).resolve().parent


def tables(path):
    """Markdown tables of a file: lists of rows of cells, the line of dashes left out."""
    found = []
    for block in path.read_text(encoding="utf-8").strip().split("\n\n"):
        rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in block.split("\n") if line.startswith("|")]
        found.append([row for row in rows if not set(row[0]) <= {"-"} or row[0] == ""])
    return found


def markdown(rows):
    lines = ["| " + " | ".join(row) + " |" for row in rows]
    return "\n".join([lines[0], "|" + "---|" * len(rows[0]), *lines[1:]])


def parameters(stored):
    rows = [["parameter", "value", "9 of 10 new places", "between studies, sd", "error of the value, sd", "studies that told it"]]
    for name, p in stored["population"].items():
        back = calibrate.FROM_SCALE[p["scale"]]
        new = math.hypot(p["spread"], p["se"])
        ends = [back(p["mean"] + sign * calibrate.NINE_OF_TEN * new) for sign in (-1, 1)]
        low, high = (min(max(e, p["lower"]), p["upper"]) for e in ends)
        shown = f"`{name}`" if name == p["parameter"] else f"`{p['parameter']}`:{name.removeprefix(p['parameter'])}"
        rows.append([shown, f"{back(p['mean']):.2g}", f"{low:.2g} to {high:.2g}", f"{p['spread']:.2f}", f"{p['se']:.2f}", str(p["told by"])])
    return markdown(rows)


def studies(calibration):
    """The last table that calibrate.py prints."""
    rows = [["study", "figures", "rmse, points", "bias"]]
    for line in calibration.read_text(encoding="utf-8").split("\nstudy ")[1].split("\n")[1:]:
        cells = line.split(maxsplit=4)
        if len(cells) == 5:
            rows.append([cells[0], cells[1], *("" if c == "nan" else c for c in cells[2:4])])
    return markdown(rows)


def typical(left_out):
    """One sentence from the rows of all studies: median error and share inside the band, of mass, C and N left."""
    of = {(row[0].strip("*"), row[1]): row for row in left_out}
    corn, everything = of["all, corn", "mass left"], of["all", "mass left"]
    others = "; ".join(f"of {what} left {of['all', name][5]} points, {of['all', name][6]}"
                       for what, name in (("C", "carbon left"), ("N", "nitrogen left")))
    return (f"**At a place that was not used, half of all predictions of mass left are within {corn[5]} points of what was measured in studies of corn "
            f"({corn[2]} figures) and {everything[5]} in all ({everything[2]}); the 90 % band held {corn[6]} and {everything[6]}. Likewise {others}.**")


def misses(rows):
    """How many printed figures their band holds, and those it does not or that have none. Sensors have a section of their own."""
    kept = [row for row in rows[1:] if row[0] not in ("soil sensors", "contents")]
    inside = [row for row in kept if row[5] == "yes"]
    return (f"{len(inside)} of {len(kept)} printed figures and differences are inside.\n\n"
            + markdown([rows[0], *(row for row in kept if row not in inside)]))


def main():
    given = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    given.add_argument("folder", type=pathlib.Path)
    given.add_argument("--docs", type=pathlib.Path, default=HERE.parents[1] / "docs")
    a = given.parse_args()
    left_out = tables(a.folder / "left-out.md")[0]
    printed, by_study = tables(a.folder / "figures.md")
    path = a.docs / "verification.md"
    page = path.read_text(encoding="utf-8")
    blocks = {"typical": typical(left_out), "parameters": parameters(json.loads((a.folder / "population.json").read_text())),
              "left out": markdown(left_out), "misses": misses(printed)}
    for name, text in blocks.items():
        page, n = re.subn(rf"(<!-- {name} -->\n).*?(\n?<!-- end -->)", lambda m: m[1] + text + "\n<!-- end -->", page, flags=re.S)
        if n != 1:
            raise SystemExit(f"{path}: {n} blocks <!-- {name} -->; wanted one")
    path.write_text(page, encoding="utf-8")
    parts = ("# Tables of the calibration", "Made by `notebooks-data/calibration/update_page.py`; [verification.md](../verification.md) says what they mean.",
             "## Studies of the calibration", "Each fitted, with the others as prior. No rmse: mineral N alone.", studies(a.folder / "calibration.txt"),
             "## Printed figures", markdown(printed), "## All figures by study", markdown(by_study))
    (a.docs / "verification" / "tables.md").write_text("\n\n".join(parts) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
