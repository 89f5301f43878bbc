#!/usr/bin/env python3
"""Draws docs/verification/one-to-one.svg and series.svg: published figures against predictions, and curves at new places.

    plot_figures.py [--program stoverturn] [--figures FIGURES.csv] [--output docs/verification] [--draws 200]

FIGURES.csv is what compare_figures.py --csv writes. Needs matplotlib (Debian: python3-matplotlib, then /usr/bin/python3)."""
import argparse
import collections
import csv
import pathlib
import re
import sys
import tempfile

import matplotlib

matplotlib.use("svg")
import matplotlib.legend_handler  # noqa: E402, after the choice of what draws
import matplotlib.pyplot as plt  # noqa: E402

import compare_figures
import predicted as model

HERE = pathlib.Path(__file__).resolve().parent
# Colours of Okabe and Ito 2008, told apart by most eyes; marks and dashes say the same once more.
ORANGE, SKY, GREEN, BLUE, RED, GREY = "#E69F00", "#56B4E9", "#009E73", "#0072B2", "#D55E00", "#555555"
MEASURES = {"mass left": ("mass left", BLUE, "o"), "carbon left": ("C left", SKY, "D"), "nitrogen left": ("N left", RED, "^"),
            "respired carbon": ("C respired", GREEN, "s")}
PLACES = {"surface": ("on the surface", RED, "-", "o"), "buried": ("in the soil", BLUE, "--", "s"),
          "standing": ("0.15 m above it", ORANGE, ":", "^"), "shallow": ("at 5 cm", BLUE, "--", "s"), "deep": ("at 20 cm", GREEN, "-.", "D")}


def number(text):
    """Middle and half width of "41", "3.1 to 3.8"; None for what has no number or one end alone."""
    if not text or text[0] in "<>":
        return None
    ends = [float(e) for e in text.split(" to ")]
    return (ends[0] + ends[-1]) / 2, abs(ends[-1] - ends[0]) / 2


def save(figure, path):
    """The same bytes every time: no date, and ids from the content."""
    figure.savefig(path, format="svg", metadata={"Date": None}, bbox_inches="tight", pad_inches=0.05)
    text = path.read_text(encoding="utf-8")
    text = re.sub(r"(\d+\.\d{2})\d+", r"\1", text)  # a hundredth of a point is finer than any screen
    path.write_text("\n".join(line.rstrip() for line in text.split("\n")), encoding="utf-8")
    print(f"{path}: {path.stat().st_size / 1000:.0f} kB")
    plt.close(figure)


def one_to_one(figures, path):
    rows = compare_figures.rows(figures)
    rows = [r for r in rows if r["quantity"] in MEASURES and r["unit"] == "%"]
    shown = [(r, number(r["observed"])) for r in rows if number(r["observed"])]
    figure, axes = plt.subplots(figsize=(5.6, 5.4))
    axes.plot([0, 130], [0, 130], color=GREY, linewidth=1, zorder=1)
    for quantity, (label, colour, mark) in MEASURES.items():
        part = [(r, o) for r, o in shown if r["quantity"] == quantity]
        if not part:
            continue
        x, y = [o[0] for _, o in part], [float(r["predicted"]) for r, _ in part]
        banded = [(o[0], float(r["predicted"]), float(r["low"]), float(r["high"])) for r, o in part if r["low"]]
        for a, b, low, high in banded:
            axes.plot([a, a], [max(0, low), high], color=colour, linewidth=0.7, alpha=0.35, zorder=2, solid_capstyle="butt")
        inside = [r["inside"] == "yes" for r, _ in part if r["inside"]]
        share = f", {round(100 * sum(inside) / len(inside))} % in the band" if inside else ""
        axes.plot(x, y, mark, color=colour, markersize=5, markeredgecolor="white", markeredgewidth=0.5, linestyle="none", zorder=3,
                  label=f"{label}: {len(part)}{share}")
    axes.set(xlim=(0, 130), ylim=(0, 130), xlabel="published, % of start", ylabel="predicted for a new place, % of start", aspect="equal")
    axes.legend(loc="upper left", frameon=False, fontsize=9)
    hidden = len(rows) - len(shown)
    axes.text(128, 2, f"bars: 90 % bands\n{hidden} more, not ours to print, are not drawn", ha="right", va="bottom", fontsize=8,
              color=GREY)
    tidy(axes)
    save(figure, path)


def tidy(axes):
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)


PANELS = (  # study, title, treatments (or placements) drawn, what is measured, panel's treatment
    ("haiti", "Haiti: corn, C", "placement", "corn", "carbon left"),
    ("haiti", "Haiti: sorghum-sudangrass, C", "placement", "sorghum", "carbon left"),
    ("haiti", "Haiti: common bean, C", "placement", "bean", "carbon left"),
    ("haiti", "Haiti: sunn hemp, C", "placement", "sunn_hemp", "carbon left"),
    ("missouri", "Missouri: corn, mass", "placement", "corn", "mass left"),
    ("quebec", "Quebec: corn, mass", "treatment", "", "mass left"),
    ("iowa", "Iowa: cornstalks, mass", "treatment", "", "mass left"),
    ("iowa", "Iowa: cornstalks, N", "treatment", "", "nitrogen left"),
)


def curve(series, figure, variable):
    """days, low, middle, high in per cent of the start, thinned to what a panel shows."""
    base = series.centre(variable, figure)[0]
    ends = [series.get(variable + "_low", figure), series.centre(variable, figure), series.get(variable + "_high", figure)]
    step = max(1, len(ends[0]) // 100)
    days = list(range(0, len(ends[0]), step))
    return days, *[[100 * values[d] / base for d in days] for values in ends]


def series_plot(given, path):
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        compare_figures.prepare(folder, given.data, False)
        runs, trials = {}, {}
        for study in dict.fromkeys(p[0] for p in PANELS):
            scenario = folder / f"{study}-scenario.toml"
            runs[study] = model.Series(model.run(given.program, scenario, folder, study, [f"draws={given.draws}"]), scenario)
            trials[study] = compare_figures.rows(folder / f"{study}-trial.csv")
    figure, grid = plt.subplots(2, 4, figsize=(11, 5.2), sharey=True)
    labels = {}
    for axes, (study, title, split, treatment, measure) in zip(grid.flat, PANELS):
        points = collections.defaultdict(list)
        for r in trials[study]:
            if (not treatment or r["treatment"] == treatment) and r.get(f"{measure} [%]") and not r.get("component"):
                points[r[split]].append((float(r["days [d]"]), float(r[f"{measure} [%]"])))
        for place, found in points.items():
            label, colour, dash, mark = PLACES[place]
            of = {"component": "", "treatment": treatment or place, "placement": place if split == "placement" else ""}
            variable = "nitrogen_in_residue" if measure == "nitrogen left" else "dry_matter"
            days, low, middle, high = curve(runs[study], of, variable)
            axes.fill_between(days, low, high, color=colour, alpha=0.18, linewidth=0)
            (line,) = axes.plot(days, middle, dash, color=colour, linewidth=1.4)
            (dots,) = axes.plot(*zip(*found), mark, color=colour, markersize=4.5, markeredgecolor="white", markeredgewidth=0.5)
            labels.setdefault(label, (line, dots))
        axes.set_title(title, fontsize=9, loc="left")
        axes.set_ylim(0, 140)
        axes.set_xlim(left=0)
        tidy(axes)
    for axes in grid[:, 0]:
        axes.set_ylabel("% of start left")
    for axes in grid[-1]:
        axes.set_xlabel("days")
    figure.legend(labels.values(), labels.keys(), handler_map={tuple: matplotlib.legend_handler.HandlerTuple(ndivide=None)},
                  loc="lower center", ncol=len(labels), frameon=False, fontsize=9, bbox_to_anchor=(0.5, -0.05))
    figure.tight_layout()
    save(figure, path)


def main():
    given = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    given.add_argument("--program", default="stoverturn")
    given.add_argument("--data", type=pathlib.Path, default=HERE.parents[2] / "shared" / "data")
    output = HERE.parents[1] / "docs" / "verification"
    given.add_argument("--output", type=pathlib.Path, default=output)
    given.add_argument("--figures", type=pathlib.Path, default=output / "figures.csv")
    given.add_argument("--draws", type=int, default=200)
    a = given.parse_args()
    plt.rcParams.update({"svg.fonttype": "none", "svg.hashsalt": "stoverturn", "font.family": "sans-serif", "font.size": 9,
                         "axes.linewidth": 0.7})
    one_to_one(a.figures, a.output / "one-to-one.svg")
    if not a.data.is_dir():
        sys.exit(f"{a.data} is not there: series.svg is left as it was")
    series_plot(a, a.output / "series.svg")


if __name__ == "__main__":
    main()
