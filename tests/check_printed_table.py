#!/usr/bin/python3
"""Computes every number of a printed table again, from the daily series of the result file.

    check_printed_table.py RESULT.h5 TABLE.txt

TABLE.txt is what `stoverturn run` printed. Nothing is taken from the key numbers of the file: the days are
those of the dates, the units are written out here. Fails on a number that differs from its own by more than
half of the last printed digit (and a hair for ties), on a line that is not understood, and on a row that is
missing. Wants h5py.
"""

import calendar
import datetime
import re
import sys

import h5py
import numpy

# NIST Handbook 44, Appendix C: the pound, and the acre of 4840 square yards
LB_ACRE = 453.59237 / 4046.8564224  # g m-2
KG_HA = 0.1  # g m-2
# the trade's conversions (common practice, no source; P2O5 is 43.64 % P and K2O 83.01 % K by atomic weights)
P_IN_P2O5 = 0.4364
K_IN_K2O = 0.8301

ROWS = {  # label of a row without its unit: series, substance
    "residue left": ("mass_left", None),
    "soil cover": ("soil_cover", None),
    "N in residue": ("nitrogen_in_residue", "N"),
    "N released": ("nitrogen_released", "N"),
    "P released": ("phosphorus_released", "P"),
    "P2O5 released": ("phosphorus_released", "P2O5"),
    "K released": ("potassium_released", "K"),
    "K2O released": ("potassium_released", "K2O"),
    "S released": ("sulfur_released", "S"),
    "value released": ("value_released", "money"),
    "bales sold": ("bales_sold", "money"),
    "costs": ("cost_spent", "money"),
    "net value": ("net_value", "money"),
    "discounted release": ("value_released_discounted", "money"),
    "discounted net value": ("net_value_discounted", "money"),
    "N applied": ("nitrogen_applied", "N"),
    "N leached below 1 m": ("nitrogen_leached", "N"),
    "N lost as ammonia": ("nitrogen_volatilised", "N"),
    "N denitrified": ("nitrogen_denitrified", "N"),
    "N in cover crops": ("nitrogen_to_cover_crop", "N"),
    "N taken by crops": ("nitrogen_to_crop", "N"),
    "CO2-C given off": ("carbon_respired", "C"),
}
# rows that are left out where every value is zero
ALWAYS = ["residue left", "soil cover", "N in residue", "N released", "S released", "CO2-C given off"]
LABEL, COLUMN = 30, 7
MONTHS = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split()


class Failed(Exception):
    pass


def number(text):
    """A printed number and half of its last digit."""
    plain = text.replace(",", "")
    decimals = len(plain.split(".")[1]) if "." in plain else 0
    return float(plain), 0.5 * 10.0**-decimals


def agree(what, printed, value):
    if printed == "-":
        if not numpy.isnan(value):
            raise Failed(f"{what}: printed -, but it is {value}")
        return
    shown, half = number(printed)
    if not abs(shown - value) <= half * (1 + 1e-6) + 1e-9 * abs(value):
        raise Failed(f"{what}: printed {printed}, but the series gives {value}")


class Table:
    def __init__(self, result, text):
        self.file = result
        self.lines = text.split("\n")
        self.treatments = [t.decode() if isinstance(t, bytes) else t for t in result["treatment"][()]]
        self.components = [t.decode() if isinstance(t, bytes) else t for t in result["component"][()]]
        units = result["time"].attrs["units"]
        units = units.decode() if isinstance(units, bytes) else units
        self.start = datetime.date.fromisoformat(units.split()[2])
        self.days = result["time"].shape[0]
        self.checked = 0

    def series(self, name, treatment):
        return self.file[name][treatment]

    def factor(self, unit):
        """What a printed unit is of the file's canonical one, and the series' own substance."""
        if unit == "%":
            return 100.0
        if unit == "lb/acre":
            return 1.0 / LB_ACRE
        if unit == "kg/ha":
            return 1.0 / KG_HA
        if unit.endswith("/acre"):  # money
            return 4046.8564224
        if unit.endswith("/ha"):
            return 10000.0
        raise Failed(f"unit {unit!r} is not known here")

    def check(self, what, printed, value):
        agree(what, printed, value)
        self.checked += 1

    def harvest_day(self, treatment):
        """The first day on which residue lies there."""
        return int(numpy.flatnonzero(self.series("dry_matter", treatment) > 0.0)[0])

    def days_until(self, treatment, share):
        """Days from harvest until that share is left, by a straight line between days."""
        left = self.series("mass_left", treatment)
        first = self.harvest_day(treatment)
        below = numpy.flatnonzero(left[first:] <= share)
        if below.size == 0:
            return numpy.nan
        day = first + int(below[0])
        return float(numpy.interp(share, [left[day], left[day - 1]], [day, day - 1])) - first

    def date(self, day):
        return self.start + datetime.timedelta(days=int(day))

    def tie_up(self, treatment):
        """Deepest N tie-up in g m-2, its date, and the date by which all is repaid (None: never)."""
        first = self.harvest_day(treatment)
        released = self.series("nitrogen_released", treatment)[first:]
        low = int(numpy.argmin(released))
        back = numpy.flatnonzero(released[low:] >= 0.0)
        return -released[low], self.date(first + low), self.date(first + low + back[0]) if back.size else None

    def check_days(self, what, printed, days):
        printed = printed.strip()
        if printed.startswith(("> ", "more than ")):
            if not numpy.isnan(days):
                raise Failed(f"{what}: printed {printed}, but it is {days} d")
            self.check_length(what, printed.removeprefix("> ").removeprefix("more than "))
        else:
            self.check(what, printed.removesuffix(" d"), days)

    def check_length(self, what, printed):
        count, word = printed.split()
        if word == "days":
            wanted = self.days - 1
        else:
            wanted = round((self.days - 1) / 365.25)
        if int(count.replace(",", "")) != wanted:
            raise Failed(f"{what}: printed {printed}, but the run lasts {self.days - 1} days")
        self.checked += 1

    def listed_day(self, treatment, label):
        """A checkpoint's day as the file lists it; None where the run does not reach it."""
        labels = [c.decode() if isinstance(c, bytes) else c for c in self.file["checkpoint"][()]]
        day = self.file["checkpoint_day"][treatment][labels.index(label)]
        return None if numpy.isnan(day) else int(day)

    def day_of(self, treatment, name):
        """The day of a column's head; None where the run does not reach it."""
        if name == "end":
            return None if self.listed_day(treatment, "end") is None else self.days - 1
        kind, count = re.fullmatch(r"(plant|pl|year)(\d+)", name).groups()
        if kind != "year":
            return self.listed_day(treatment, f"planting {count}")
        harvest = self.date(self.harvest_day(treatment))
        year = harvest.year + int(count)
        leap = (harvest.month, harvest.day) == (2, 29) and not calendar.isleap(year)
        day = datetime.date(year, 3, 1) if leap else harvest.replace(year=year)
        return (day - self.start).days if (day - self.start).days < self.days else None

    def checkpoints(self, treatment, names, dates):
        """Days of the columns, under their heads and dates."""
        days = []
        for name, date in zip(names, dates):
            days.append(self.day_of(treatment, name))
            wanted = "-"
            if days[-1] is not None:
                wanted = f"{MONTHS[self.date(days[-1]).month - 1]}'{self.date(days[-1]):%y}"
            if wanted != date:
                raise Failed(f"{name} stands over {date}, but it is {wanted}")
            self.checked += 1
        return days

    def check_head(self):
        line = self.lines[1]
        found = re.fullmatch(r".+; (.+) from (\d{4}-\d\d-\d\d)", line)
        if not found or found.group(2) != str(self.start):
            raise Failed(f"the head does not give the start {self.start}: {line}")
        self.check_length("length of the run", found.group(1))

    def check_overview(self):
        """One line a treatment, where there are several."""
        if len(self.treatments) < 2:
            return
        head = next(i for i, line in enumerate(self.lines) if line.startswith("Treatment "))
        heads = self.lines[head] + self.lines[head + 1]
        unit = re.search(r"(lb/acre|kg/ha) and date", heads).group(1)
        for t, name in enumerate(self.treatments):
            line = self.lines[head + 2 + t]
            short = line[:LABEL].rstrip()
            if not (name == short or (short.endswith("...") and name.startswith(short[:-3]))):
                raise Failed(f"line of {name!r} is {line!r}")
            names = self.lines[head + 1].split(" lost")[0].split()
            cells = re.fullmatch(r"((?:\s+\S+){%d})\s+(> .+?|\S+ d)\s+(> .+?|\S+ d)\s\s+(.*)" % len(names),
                                 line[LABEL:])
            if not cells:
                raise Failed(f"not understood: {line!r}")
            left = self.series("mass_left", t)
            for what, printed in zip(names, cells.group(1).split()):
                day = self.day_of(t, what)
                self.check(f"{name}, {what}", printed, numpy.nan if day is None else 100.0 * left[day])
            self.check_days(f"{name}, half lost", cells.group(2), self.days_until(t, 0.5))
            self.check_days(f"{name}, 95 % lost", cells.group(3), self.days_until(t, 0.05))
            deepest, date, _ = self.tie_up(t)
            if cells.group(4) == "none":
                if deepest > 1e-3:
                    raise Failed(f"{name}: no tie-up printed, but it is {deepest} g/m2")
            else:
                printed, printed_date = cells.group(4).split(" on ")
                self.check(f"{name}, deepest tie-up", printed, deepest * self.factor(unit))
                if printed_date != str(date):
                    raise Failed(f"{name}: deepest tie-up printed on {printed_date}, but it is on {date}")
                self.checked += 1

    def check_money(self):
        """One line a treatment, where anything was sold or spent: totals of the last day, from their parts."""
        head = next((i for i, line in enumerate(self.lines) if line.startswith("Money by the end, ")), None)
        if head is None:
            for t, name in enumerate(self.treatments):
                if len(self.treatments) > 1 and self.series("cost_spent", t)[-1] > 0.0:
                    raise Failed(f"{name} has costs, but there is no table of money")
            return
        factor = self.factor(self.lines[head][:LABEL].split(", ")[1].strip())
        heads = self.lines[head][LABEL:].replace("taken off", "removed").split()
        for t, name in enumerate(self.treatments):
            line = self.lines[head + 1 + t]
            released, removed, bales, costs = (
                self.series(s, t)[-1] * factor for s in ["value_released", "value_removed", "bales_sold", "cost_spent"])
            wanted = {"released": released, "removed": removed, "bales": bales, "costs": costs,
                      "net": released + bales - costs}
            for what, printed in zip(heads, line[LABEL:].split()):
                if what in wanted:
                    self.check(f"{name}, {what}", printed, wanted.pop(what))
            if wanted:
                raise Failed(f"{name}: no column for {list(wanted)}")

    def check_row(self, treatment, line, days):
        label, unit = line[:LABEL].rstrip().rsplit(", ", 1)
        cells = [line[i:i + COLUMN].strip() for i in range(LABEL, len(line), COLUMN)]
        if len(cells) != len(days):
            raise Failed(f"{len(cells)} numbers under {len(days)} heads: {line!r}")
        places = ["standing", "surface", "buried"]
        substance = None
        if label.startswith("  "):
            member = label.strip()
            if member in self.components:
                values = self.series("mass_left_by_component", treatment)[self.components.index(member)]
            else:
                values = self.series("mass_left_by_placement", treatment)[places.index(member)]
        else:
            if label not in ROWS:
                raise Failed(f"no such row is known: {line!r}")
            name, substance = ROWS[label]
            values = self.series(name, treatment)
        factor = self.factor(unit)
        if substance == "P2O5":
            factor /= P_IN_P2O5
        if substance == "K2O":
            factor /= K_IN_K2O
        for day, printed in zip(days, cells):
            value = numpy.nan if day is None else factor * values[day]
            where = "not reached" if day is None else self.date(day)
            self.check(f"{self.treatments[treatment]}, {label.strip()}, {where}", printed, value)
        return label

    def check_block(self, treatment, lines):
        name = self.treatments[treatment]
        found = re.fullmatch(r"(\S+) (\S+) of dry matter at harvest; half lost after (.+?), 95 % after (.+)\.", lines[0])
        if not found:
            raise Failed(f"not understood: {lines[0]!r}")
        mass = self.series("dry_matter", treatment)[self.harvest_day(treatment)]
        self.check(f"{name}, residue", found.group(1), mass * self.factor(found.group(2)))
        self.check_days(f"{name}, half", found.group(3), self.days_until(treatment, 0.5))
        self.check_days(f"{name}, 95 %", found.group(4), self.days_until(treatment, 0.05))

        first = next(i for i, line in enumerate(lines) if line.startswith(" " * LABEL))
        said = " ".join(lines[1:first])
        deepest, date, repaid = self.tie_up(treatment)
        if said.startswith("N tie-up: none"):
            if deepest > 1e-3:
                raise Failed(f"{name}: no tie-up printed, but it is {deepest} g/m2")
        else:
            found = re.fullmatch(r"N tie-up: deepest (\S+) (\S+) on (\S+), (.+)\.", said)
            if not found:
                raise Failed(f"not understood: {said!r}")
            self.check(f"{name}, deepest tie-up", found.group(1), deepest * self.factor(found.group(2)))
            wanted = "when net release begins; not all given back within the run"
            if repaid:
                wanted = f"when net release begins; all given back by {repaid}"
            if date == self.date(self.days - 1):
                wanted = "still deepening at the end of the run"
            if found.group(3) != str(date) or found.group(4) != wanted:
                raise Failed(f"{name}: wanted {date} and {wanted!r}, but it says {said!r}")
            self.checked += 2

        days, labels, columns = [], set(), 0
        i = first
        while i < len(lines) and lines[i].strip():
            if lines[i].startswith(" " * LABEL):
                days = self.checkpoints(treatment, lines[i].split(), lines[i + 1].split())
                columns += len(days)
                i += 2
                continue
            labels.add(self.check_row(treatment, lines[i], days))
            i += 1
        if columns != self.file["checkpoint"].shape[0]:
            raise Failed(f"{name}: {columns} columns for {self.file['checkpoint'].shape[0]} checkpoints")
        missing = [row for row in ALWAYS if row not in labels]
        missing += [c for c in self.components if "  " + c not in labels]
        if missing:
            raise Failed(f"{name}: no rows for {missing}")

    def check_stages(self, treatment, lines):
        """The first season of the following crop: values from the series on the dates that are printed."""
        name = self.treatments[treatment]
        planted = datetime.date.fromisoformat(lines[0][:LABEL].split()[1])
        first = (planted - self.start).days
        dates = lines[1].split()
        if len(dates) != len(lines[0][LABEL:].split()):
            raise Failed(f"{name}: {lines[0]!r} stands over {lines[1]!r}")
        listed = [s.decode() if isinstance(s, bytes) else s for s in self.file["stage"][()]]
        for stage, date in zip(lines[0][LABEL:].split(), dates):
            day = self.file["stage_day"][treatment][listed.index(f"{stage} 1")]
            if date != ("-" if numpy.isnan(day) else str(self.date(day))):
                raise Failed(f"{name}: {stage} printed on {date}, but it is day {day}")
            self.checked += 1
        soil = sum(self.series(s, treatment) for s in ["ammonium", "nitrate", "subsoil_nitrate"])
        wanted = {
            "N released since": (self.series("nitrogen_released", treatment), True),
            "N taken by the crop": (self.series("nitrogen_to_crop", treatment), True),
            "mineral N to 1 m": (soil, False),
        }
        for line in lines[2:]:
            label, unit = line[:LABEL].rstrip().rsplit(", ", 1)
            values, since_planting = wanted.pop(label)
            for date, printed in zip(dates, line[LABEL:].split(), strict=True):
                value = numpy.nan
                if date != "-":
                    value = values[(datetime.date.fromisoformat(date) - self.start).days]
                    value = (value - (values[first] if since_planting else 0.0)) * self.factor(unit)
                self.check(f"{name}, {label}, {date}", printed, value)
        if wanted:
            raise Failed(f"{name}: no rows for {list(wanted)}")

    def check_all(self):
        self.check_head()
        self.check_overview()
        self.check_money()
        starts = [i for i, line in enumerate(self.lines) if line.startswith("=== ")]
        if len(starts) != len(self.treatments):
            raise Failed(f"{len(starts)} blocks for {len(self.treatments)} treatments")
        for t, start in enumerate(starts):
            if not self.lines[start].startswith(f"=== {self.treatments[t]} ="):
                raise Failed(f"block {t + 1} is headed {self.lines[start]!r}")
            end = next((i for i in range(start + 1, len(self.lines)) if not self.lines[i].strip()), len(self.lines))
            self.check_block(t, self.lines[start + 1:end])
            if "stage" in self.file:
                after = next(i for i in range(end + 1, len(self.lines)) if not self.lines[i].strip())
                self.check_stages(t, self.lines[end + 1:after])


def check_table(result_path, text):
    """Raises Failed; returns how many numbers and dates were compared."""
    with h5py.File(result_path, "r") as result:
        table = Table(result, text)
        table.check_all()
        return table.checked


def main():
    if len(sys.argv) != 3:
        sys.exit(__doc__)
    with open(sys.argv[2], encoding="utf-8") as file:
        text = file.read()
    try:
        checked = check_table(sys.argv[1], text)
    except Failed as failure:
        sys.exit(f"{sys.argv[2]}: {failure}")
    print(f"{sys.argv[2]}: {checked} numbers and dates agree with the series of {sys.argv[1]}")


if __name__ == "__main__":
    main()
