"""What the notebooks share: where the program is and how it is run, units of the trade, one style for all charts.

STOVERTURN names the program (default: build/scenarios/stoverturn of this repository); NOTEBOOK_OUTPUT the folder that
results go to (default: output, beside the notebooks)."""
import io
import os
import pathlib
import subprocess

import matplotlib.dates
import matplotlib.pyplot as plt
import numpy
import PIL.Image
from IPython.display import Image, display

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parents[1]
PROGRAM = pathlib.Path(os.environ.get("STOVERTURN") or ROOT / "build" / "scenarios" / "stoverturn").resolve()
OUTPUT = pathlib.Path(os.environ.get("NOTEBOOK_OUTPUT") or HERE / "output").resolve()

# From the g m-2 of the files. An acre is 4046.8564224 m2, a pound 453.59237 g; K is 0.8301 of K2O, the factor of fertiliser
# labels, as the program has it.
KG_HA = 10.0
LB_ACRE = 4046.8564224 / 453.59237
K2O_OF_K = 1 / 0.8301

# Colours of Okabe and Ito 2008, which most eyes tell apart; dashes and marks say the same once more, for grey prints.
BLACK, ORANGE, SKY, GREEN, BLUE, RED, PURPLE = "#000000", "#E69F00", "#56B4E9", "#009E73", "#0072B2", "#D55E00", "#CC79A7"
LOOKS = [  # colour, dashes, mark
    (BLACK, "-", "o"), (RED, (0, (5, 1.5)), "s"), (BLUE, (0, (1.2, 1.2)), "^"), (GREEN, (0, (6, 1.5, 1.2, 1.5)), "D"),
    (ORANGE, (0, (2.5, 1.2)), "v")]

plt.rcParams.update({
    "figure.constrained_layout.use": True, "font.size": 10, "axes.titlesize": 10,
    "axes.spines.top": False, "axes.spines.right": False, "axes.grid": True, "grid.color": "#DDDDDD", "grid.linewidth": 0.6,
    "legend.frameon": False, "legend.fontsize": 9, "legend.handlelength": 3, "lines.linewidth": 1.8, "lines.markersize": 5,
    "pdf.fonttype": 42})


def stoverturn(*arguments):
    """Runs the program in OUTPUT and returns what it prints; stops with its own messages where it refuses."""
    if not PROGRAM.is_file():
        raise FileNotFoundError("The program stoverturn is not there. Build it (scenarios/demo does), or set the environment "
                                "variable STOVERTURN to where it is, and start the notebook again.")
    OUTPUT.mkdir(parents=True, exist_ok=True)
    done = subprocess.run([str(PROGRAM), *map(str, arguments)], cwd=OUTPUT, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        raise RuntimeError(f"stoverturn {' '.join(map(str, arguments))}\n{done.stderr or done.stdout}")
    return done.stdout


def count(full, quick):
    """How many draws: `quick` where NOTEBOOK_QUICK is set, as in tests; stored outputs are of `full`."""
    return quick if os.environ.get("NOTEBOOK_QUICK") else full


def labels(names):
    """Plain texts of a variable of labels."""
    return [str(name) for name in numpy.asarray(names)]


def curve(axes, x, y, look, label=None, low=None, high=None, factor=1.0):
    """A line in one of LOOKS, with its band where there is one."""
    colour, dashes, _ = look
    if low is not None:
        axes.fill_between(x, factor * low, factor * high, color=colour, alpha=0.16, linewidth=0)
    axes.plot(x, factor * y, color=colour, linestyle=dashes, label=label)


def show(figure, dpi=84):
    """Shows a figure as a small picture: 128 colours are enough for lines and bands."""
    data = io.BytesIO()
    figure.savefig(data, format="png", dpi=dpi)
    small = io.BytesIO()
    PIL.Image.open(data).convert("RGB").quantize(128, kmeans=3, dither=PIL.Image.Dither.NONE).save(small, "PNG", optimize=True)
    display(Image(small.getvalue(), width=round(figure.get_figwidth() * 100)))
    plt.close(figure)


def zero_line(axes):
    axes.axhline(0, color=BLACK, linewidth=0.9)


def dated_lines(axes, dates, text, top=0.98):
    """Vertical lines at dates; the first says what they are."""
    for i, date in enumerate(dates):
        axes.axvline(date, color="#777777", linewidth=0.8, linestyle=":")
        if i == 0:
            axes.text(date, top, f" {text}", transform=axes.get_xaxis_transform(), fontsize=8, color="#444444", va="top")


def date_format(text):
    return matplotlib.dates.DateFormatter(text)


def month_ticks(months):
    return matplotlib.dates.MonthLocator(months)
