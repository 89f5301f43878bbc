"""What runs of stoverturn predict for a published figure: its daily series read, and each quantity taken from them.

Used by compare_figures.py and soil_sensors.py. Python's standard library alone.
"""
import csv
import datetime
import math
import re
import statistics
import subprocess
import tomllib

from calibrate import NINE_OF_TEN

DEFAULTS = {"carbon": 0.44, "residue_capacity": 3.4}  # where a scenario sets none; docs/parameters.md


class NotPredicted(Exception):
    """The figure asks for what no series holds; the text says what."""


def run(program, scenario, folder, name, settings=()):
    """Runs a scenario; the path of its daily series. A run that fails raises NotPredicted with the program's words."""
    command = [program, "run", str(scenario), "--daily", "--overwrite", "--quiet", "-o", str(folder / name)]
    command += [word for s in settings for word in ("--set", s)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        raise NotPredicted(done.stderr.strip())
    (folder / f"{name}.h5").unlink()
    return folder / f"{name}-daily.csv"


class Series:
    """Daily series of a run by treatment (label), variable, component and placement; day 0 is the first day."""

    def __init__(self, daily, scenario):
        self.text = tomllib.loads(scenario.read_text(encoding="utf-8"))
        treatments = self.text.get("treatment", {})
        self.labels = {key: t.get("label", key) for key, t in treatments.items()}
        self.values = {}
        self.first = None
        with open(daily, newline="", encoding="utf-8") as f:
            for r in csv.DictReader(f):
                self.first = self.first or datetime.date.fromisoformat(r["date"])
                key = (r["treatment"], r["variable"], r["component"], r["placement"])
                share = 0.01 if r["unit"] == "%" else 1.0
                self.values.setdefault(key, []).append(share * float(r["value"]) if r["value"] else math.nan)
        self.treatments = sorted({key[0] for key in self.values})
        self.banded = any(key[1] == "dry_matter_low" for key in self.values)

    def treatment(self, name):
        if not name and len(self.treatments) == 1:
            return self.treatments[0]
        label = self.labels.get(name, name)
        if label not in self.treatments:
            raise NotPredicted(f"no treatment {name!r} among {', '.join(self.treatments)}")
        return label

    def get(self, variable, figure, part=True):
        """Values by day. The variable by component or placement where the figure names one."""
        component, placement = (figure["component"], figure["placement"]) if part else ("", "")
        if component and placement:
            raise NotPredicted("no series by component and placement at once: give each placement a treatment")
        treatment = self.treatment(figure["treatment"])
        name, end = re.fullmatch(r"(\w+?)(_low|_median|_high)?", variable).groups()
        by = BY.get(name, {}).get("component" if component else "placement" if placement else "", name)
        found = self.values.get((treatment, by + (end or ""), component, placement))
        if found is None:
            raise NotPredicted(f"no series {by} of {component or placement or treatment}")
        return found

    def centre(self, variable, figure, part=True):
        """The median of the draws where there is one, else the run with the parameters as they are."""
        try:
            return self.get(variable + "_median", figure, part)
        except NotPredicted:
            return self.get(variable, figure, part)

    def content(self, name, component):
        """A parameter as the scenario sets it for a component or all, else the default."""
        of = self.text.get("component", {}).get(component, {})
        value = of.get(name, self.text.get("parameters", {}).get(name, DEFAULTS[name]))
        return float(value) if not isinstance(value, str) else float(value.split()[0]) / (100 if "%" in value else 1)

    def days(self, when):
        """First and last day of "34", "2013-05-01" or two of them joined by ".."."""
        ends = [e.strip() for e in when.split("..")]
        days = [int(e) if e.isdigit() else (datetime.date.fromisoformat(e) - self.first).days for e in ends]
        return days[0], days[-1]


BY = {  # series that are told apart by component or placement have names of their own
    "dry_matter": {"component": "dry_matter_by_component", "placement": "dry_matter_by_placement"},
    "nitrogen_in_residue": {"component": "nitrogen_by_component", "placement": "nitrogen_by_placement"},
}


def left(s, variable, end, f):
    base = s.centre(variable, f)[0]
    day = s.days(f["when"])[1]
    values = s.get(variable + end, f) if end else s.centre(variable, f)
    if not 0 <= day < len(values):
        raise NotPredicted(f"day {day} is not in a run of {len(values) - 1} days")
    return 100 * values[day] / base


def rate(s, variable, end, f):
    first, last = s.days(f["when"])
    starts, values = s.centre(variable, f), s.get(variable + end, f) if end else s.centre(variable, f)
    return 1000 * math.log(starts[first] / max(values[last], 1e-12)) / (last - first)


def content(s, variable, end, f):
    if end:
        raise NotPredicted("a quotient of two series has no band")
    day = s.days(f["when"])[1]
    amount, mass = s.centre(variable, f), s.centre("dry_matter", f)
    return 100 * (amount[day] / mass[day]) / (amount[0] / mass[0])


def respired(s, variable, end, f):
    carbon = s.centre("dry_matter", f, part=False)[0] * s.content("carbon", f["component"])
    values = s.get(variable + end, f, part=False) if end else s.centre(variable, f, part=False)
    return 100 * values[s.days(f["when"])[1]] / carbon


def per_dry_matter(s, variable, end, f):
    day = s.days(f["when"])[1]
    return 1000 * (s.get(variable + end, f) if end else s.centre(variable, f))[day] / s.centre("dry_matter", f)[day]


def mineral_nitrogen(s, variable, end, f):
    """mg/kg of the topsoil, 200 mm of 1.3 g/cm3, from kg/ha. The band is that of both being low, or high, at once."""
    day = s.days(f["when"])[1]
    found = [s.get(v + end, f, part=False) if end else s.centre(v, f, part=False) for v in ("ammonium", "nitrate")]
    return sum(values[day] for values in found) / 2.6


def highest_left(s, variable, end, f):
    first, last = s.days(f["when"])
    return max(left(s, variable, end, {**f, "when": str(day)}) for day in range(first, last + 1))


def last_frost(s, variable, end, f):
    first, last = s.days(f["when"])
    values = s.get(variable + end, f) if end else s.centre(variable, f)
    return max(day for day in range(first, last + 1) if values[day] < 0.0 or day == first)


def mean(s, variable, end, f):
    first, last = s.days(f["when"])
    return statistics.fmean((s.get(variable + end, f) if end else s.centre(variable, f))[first:last + 1])


def highest_water(s, variable, end, f):
    first, last = s.days(f["when"])
    wetness = max((s.get(variable + end, f) if end else s.centre(variable, f))[first:last + 1])
    return wetness * s.content("residue_capacity", "")


def water_to_half(s, variable, end, f):
    """Water through residue (on the surface unless the figure says where) until half of an element is out."""
    amount = s.get(variable + end, f, part=False) if end else s.centre(variable, f, part=False)
    through = s.get("water_through", {**f, "component": "", "placement": f["placement"] or "surface"})
    water = 0.0
    for day in range(1, len(amount)):
        if amount[day] <= 0.5 * amount[0]:
            return water + through[day - 1] * (amount[day - 1] - 0.5 * amount[0]) / (amount[day - 1] - amount[day])
        water += through[day - 1]
    raise NotPredicted("half is not out by the end of the run")


QUANTITIES = {  # name: (how it is taken, series, unit, does the scatter of bags or jars apply)
    "mass left": (left, "dry_matter", "%", True),
    "carbon left": (left, "dry_matter", "%", True),  # carbon of dry matter is constant in the model
    "nitrogen left": (left, "nitrogen_in_residue", "%", True),
    "phosphorus left": (left, "phosphorus_in_residue", "%", True),
    "potassium left": (left, "potassium_in_residue", "%", True),
    "sulfur left": (left, "sulfur_in_residue", "%", True),
    "respired carbon": (respired, "carbon_respired", "%", True),
    "mass rate": (rate, "dry_matter", "g/kg/d", False),
    "potassium rate": (rate, "potassium_in_residue", "g/kg/d", False),
    "phosphorus rate": (rate, "phosphorus_in_residue", "g/kg/d", False),
    "nitrogen content": (content, "nitrogen_in_residue", "% of start", False),
    "phosphorus content": (content, "phosphorus_in_residue", "% of start", False),
    "highest nitrogen left": (highest_left, "nitrogen_in_residue", "%", True),
    "nitrogen in dry matter": (per_dry_matter, "nitrogen_in_residue", "g/kg", False),
    "phosphorus in dry matter": (per_dry_matter, "phosphorus_in_residue", "g/kg", False),
    "potassium in dry matter": (per_dry_matter, "potassium_in_residue", "g/kg", False),
    "sulfur in dry matter": (per_dry_matter, "sulfur_in_residue", "g/kg", False),
    "mineral nitrogen": (mineral_nitrogen, "ammonium", "mg/kg", True),
    "last frost": (last_frost, "residue_temperature", "d", False),
    "water to half of potassium": (water_to_half, "potassium_in_residue", "mm", False),
    "temperature": (mean, "residue_temperature", "degC", False),
    "soil moisture": (mean, "soil_moisture", "m3/m3", False),
    "highest water of residue": (highest_water, "residue_wetness", "g/g", False),
}


def predicted(series, figure):
    """(low, middle, high) of a figure; low and high are None without draws or for what has no band."""
    if figure["quantity"] not in QUANTITIES:
        raise NotPredicted(f"no quantity {figure['quantity']!r} among {', '.join(QUANTITIES)}")
    take, variable, _, _ = QUANTITIES[figure["quantity"]]
    middle = take(series, variable, "", figure)
    try:
        ends = [take(series, variable, end, figure) for end in ("_low", "_high")]
    except NotPredicted:
        return None, middle, None
    return min(ends), middle, max(ends)


def pooled(bands):
    """One band of several runs (other seeds) with equal weight: quantiles of the mixture of their split normals."""
    if len(bands) == 1:
        return bands[0]
    middle = statistics.median(b[1] for b in bands)
    if any(b[0] is None for b in bands):
        return None, middle, None

    def share_below(x):
        return statistics.fmean(split_normal(x, *b) for b in bands)

    least, most = min(b[0] for b in bands), max(b[2] for b in bands)
    return tuple(quantile(share_below, p, least, most) for p in (0.05, 0.5, 0.95))


def split_normal(x, low, middle, high):
    width = max(1e-9, (middle - low if x < middle else high - middle) / NINE_OF_TEN)
    return 0.5 * math.erfc((middle - x) / (width * math.sqrt(2)))


def quantile(share_below, p, low, high):
    low, high = low - 2 * (high - low) - 1e-6, high + 2 * (high - low) + 1e-6
    for _ in range(60):
        centre = 0.5 * (low + high)
        low, high = (centre, high) if share_below(centre) < p else (low, centre)
    return 0.5 * (low + high)
