#!/usr/bin/python3
"""Uses the program as people do: what it prints where, what it writes, how it ends.

    program_test.py PROGRAM             run the tests
    program_test.py PROGRAM --accept    store what the program prints now as tests/expected/*, and the
                                        parameter table as docs/parameters.md; read the difference before
                                        you commit it

Exit codes: 0 done, 1 a mistake in an input, 2 in the command line, 3 trouble with a file, 4 a fault of the
program. Numbers of the table are compared with the series in check_printed_table.py; here h5py is used where
it is there.
"""

import csv
import hashlib
import json
import os
import pathlib
import re
import shutil
import signal
import stat
import subprocess
import sys
import tempfile
import time
import unittest

try:
    import h5py
    import numpy
except ImportError:
    h5py = None

TESTS = pathlib.Path(__file__).resolve().parent
ROOT = TESTS.parent
EXPECTED = TESTS / "expected"
DEMO = ROOT / "scenarios" / "examples" / "hollow-creek.toml"
SOUTH = ROOT / "notebooks-data" / "weather-invented-south.csv"
STATION = ROOT / "notebooks-data" / "weather-invented-station.csv"
WEATHER = ROOT / "notebooks-data" / "weather-newyork-2012-2015.csv"
PROGRAM = None

SMALL = """\
duration = "60 d"
[weather]
file = "w.csv"
[harvest]
date = 2012-10-20
residue = "9 t/ha"
"""


class Case(unittest.TestCase):
    maxDiff = None

    def setUp(self):
        self.folder = pathlib.Path(tempfile.mkdtemp(prefix="stoverturn-"))
        self.addCleanup(shutil.rmtree, self.folder)

    def program(self, *arguments, expect=0):
        """Runs in the test's folder; standard output, standard error."""
        done = subprocess.run([PROGRAM, *map(str, arguments)], cwd=self.folder, capture_output=True, timeout=120,
                              stdin=subprocess.DEVNULL)
        out, err = done.stdout.decode(), done.stderr.decode()
        self.assertEqual(done.returncode, expect, f"{arguments}\n{out}\n{err}")
        return out, err

    def refused(self, code, *arguments):
        """What a refused call says; nothing may stand on standard output."""
        out, err = self.program(*arguments, expect=code)
        self.assertEqual(out, "")
        return err

    def small(self, text=SMALL, name="small.toml"):
        shutil.copy(WEATHER, self.folder / "w.csv")
        (self.folder / name).write_text(text, encoding="utf-8")
        return name

    def files(self):
        return sorted(p.name for p in self.folder.iterdir())


class Demo(Case):
    def test_prints_what_is_stored_and_names_its_files(self):
        out, err = self.program("run", DEMO)
        self.assertEqual(out, (EXPECTED / "hollow-creek.txt").read_text(encoding="utf-8"),
                         "if the change is wanted: program_test.py PROGRAM --accept")
        wanted = ["hollow-creek-key-numbers.csv", "hollow-creek-monthly.csv", "hollow-creek.h5"]
        self.assertEqual(self.files(), wanted)
        self.assertEqual(sorted(err.splitlines()), [f"wrote {name}" for name in wanted])

    def test_fits_a_terminal_of_100_columns(self):
        out, _ = self.program("run", DEMO)
        self.assertEqual([line for line in out.splitlines() if len(line) > 100], [])
        out, _ = self.program("run", DEMO, "--overwrite", "--set", "units=si", "--set", "duration=12 years")
        self.assertEqual([line for line in out.splitlines() if len(line) > 100], [])

    def test_json_holds_the_numbers_of_the_table(self):
        table, _ = self.program("run", DEMO)
        text, err = self.program("run", DEMO, "--json", "--overwrite", "--quiet")
        self.assertEqual(err, "")
        told = json.loads(text)
        self.assertEqual(len(told["treatment"]), 5)
        blocks = table.split("=== ")[1:]
        compared = 0
        for t, block in enumerate(blocks):
            self.assertTrue(block.startswith(told["treatment"][t]))
            for label, name, unit, substance in [("residue left, %", "mass_left_at", "%", None),
                                                 ("N released, lb/acre", "nitrogen_released_at", "lb/acre", "N"),
                                                 ("P2O5 released, lb/acre", "phosphorus_released_at", "lb/acre", "P2O5"),
                                                 ("K2O released, lb/acre", "potassium_released_at", "lb/acre", "K2O"),
                                                 ("CO2-C given off, lb/acre", "carbon_respired_at", "lb/acre", "C")]:
                row = next(line for line in block.splitlines() if line.startswith(label))
                key = told["key_numbers"][name]
                self.assertEqual(key["unit"], unit)
                self.assertEqual(key.get("of"), substance)
                self.assertEqual(key["dimensions"], ["treatment", "checkpoint"])
                printed = row[30:].replace(",", "").split()
                self.assertEqual(len(printed), len(told["checkpoint"]))
                for shown, value in zip(printed, key["values"][t]):
                    decimals = len(shown.partition(".")[2])
                    self.assertEqual(f"{value:.{decimals}f}", shown)
                    compared += 1
        self.assertEqual(compared, 5 * 5 * 10)
        self.assertTrue(any("weather record" in note for note in told["notes"]))

    def test_check_runs_nothing(self):
        out, err = self.program("check", DEMO)
        self.assertRegex(out, r"^\S+hollow-creek\.toml is in order: 5 treatments, \d+ cohorts, 1826 days\.\n$")
        self.assertEqual(err, "")
        self.assertEqual(self.files(), [])


class Targets(Case):
    def test_an_existing_one_is_refused_before_the_run(self):
        name = self.small(SMALL.replace("60 d", "25 years"))
        (self.folder / "small.h5").write_text("mine")
        err = self.refused(3, "run", name)
        self.assertEqual(err, "small.h5: exists already; use --overwrite to replace it, or write elsewhere\n")
        self.assertEqual((self.folder / "small.h5").read_text(), "mine")
        self.assertEqual(self.files(), ["small.h5", "small.toml", "w.csv"])
        (self.folder / "small-monthly.csv").write_text("mine too")
        self.assertIn("small.h5: exists already, and so does small-monthly.csv; use --overwrite to replace them",
                      self.refused(3, "run", name))

    def test_overwrite_replaces_and_leaves_no_part(self):
        name = self.small()
        (self.folder / "small.h5").write_text("mine")
        self.program("run", name, "--overwrite")
        self.assertEqual((self.folder / "small.h5").read_bytes()[1:4], b"HDF")
        self.assertEqual(self.files(),
                         ["small-key-numbers.csv", "small-monthly.csv", "small.h5", "small.toml", "w.csv"])

    def test_output_names_the_files(self):
        name = self.small()
        self.program("run", name, "-o", "dry")
        self.program("run", name, "--output", "wet.h5")
        for stem in "dry", "wet":
            for end in ".h5", "-key-numbers.csv", "-monthly.csv":
                self.assertTrue((self.folder / (stem + end)).is_file(), stem + end)

    def test_output_into_a_folder(self):
        name = self.small()
        (self.folder / "results").mkdir()
        self.program("run", name, "-o", "results/")
        self.assertEqual(sorted(p.name for p in (self.folder / "results").iterdir()),
                         ["small-key-numbers.csv", "small-monthly.csv", "small.h5"])

    def test_a_folder_that_is_not_there(self):
        name = self.small()
        self.assertEqual(self.refused(3, "run", name, "-o", "no/such/place"),
                         "no/such/place.h5: cannot be written: there is no folder no/such\n")

    def test_a_folder_in_place_of_the_file(self):
        name = self.small()
        (self.folder / "small.h5").mkdir()
        self.assertEqual(self.refused(3, "run", name, "--overwrite"),
                         "small.h5: is a folder; wanted the name of a file\n")

    def test_a_folder_that_may_not_be_written(self):
        name = self.small()
        closed = self.folder / "closed"
        closed.mkdir()
        closed.chmod(stat.S_IRUSR | stat.S_IXUSR)
        self.addCleanup(closed.chmod, stat.S_IRWXU)
        if os.access(closed, os.W_OK):  # root may write everywhere but here
            closed = pathlib.Path("/proc")
        err = self.refused(3, "run", name, "-o", closed / "out")
        self.assertRegex(err, r"/out\.h5(\.part)?: cannot be written: ")
        self.assertEqual(self.files(), ["closed", "small.toml", "w.csv"])

    def test_daily_has_every_day(self):
        name = self.small()
        self.program("run", name, "--daily")
        self.program("run", name, "-o", "monthly")
        rows = (self.folder / "small-daily.csv").read_text().splitlines()
        dates = {row.split(",")[1] for row in rows[1:]} if rows[0].split(",")[1] == "date" else None
        self.assertIsNotNone(dates, rows[0])
        self.assertEqual(len(dates), 61)
        self.assertEqual((min(dates), max(dates)), ("2012-10-20", "2012-12-19"))
        rows = (self.folder / "monthly-monthly.csv").read_text().splitlines()
        self.assertEqual({row.split(",")[1] for row in rows[1:]},
                         {"2012-10-20", "2012-11-01", "2012-12-01", "2012-12-19"})


class Inputs(Case):
    def test_a_missing_file(self):
        self.assertEqual(self.refused(3, "run", "none.toml"), "none.toml: there is no such file\n")
        self.assertEqual(self.refused(3, "check", "none.toml"), "none.toml: there is no such file\n")
        self.assertEqual(self.refused(3, "weather", "none.csv"), "none.csv: there is no such file\n")
        self.assertIn("none.h5: ", self.refused(3, "compare", "none.h5", "none.h5"))

    def test_a_folder_as_file(self):
        for command in "run", "check", "weather":
            self.assertEqual(self.refused(3, command, "/"), "/: this is a folder, not a file\n")

    def test_mistakes_write_nothing(self):
        name = self.small(SMALL + "grain_yeild = 3\n[soil]\nammonium = \"5 ton/acre\"\n")
        for command in "run", "check":
            err = self.refused(1, command, name)
            self.assertEqual(
                err, "small.toml:7:1: unknown key `grain_yeild` in [harvest]; did you mean 'grain_yield'?\n"
                     "small.toml:9:15: ammonium: 'ton/acre': a bare ton is ambiguous; write t or short ton "
                     "(here tonne/acre or short ton/acre)\n")
        self.assertEqual(self.files(), ["small.toml", "w.csv"])

    def test_missing_weather_is_told_at_its_place(self):
        name = self.small(SMALL.replace("w.csv", "v.csv"))
        self.assertEqual(self.refused(1, "check", name),
                         "small.toml:3:8: file: there is no weather file v.csv\n")

    def test_weather_lies_beside_the_scenario(self):
        (self.folder / "farm").mkdir()
        shutil.copy(WEATHER, self.folder / "farm" / "w.csv")
        (self.folder / "farm" / "here.toml").write_text(SMALL)
        self.program("run", "farm/here.toml")
        self.assertEqual(self.files(), ["farm", "here-key-numbers.csv", "here-monthly.csv", "here.h5"])

    def test_weather_too_short_to_repeat(self):
        name = self.small(SMALL.replace("60 d", "5 years"))
        rows = WEATHER.read_text().splitlines(keepends=True)
        (self.folder / "w.csv").write_text("".join(rows[:200]))
        err = self.refused(1, "run", name)
        self.assertIn("only a record of at least 365 days can be repeated", err)
        self.assertEqual(self.files(), ["small.toml", "w.csv"])

    def test_usage(self):
        for arguments in [[], ["run"], ["ruin", DEMO], ["run", DEMO, "--no-such-option"], ["compare", "one.h5"],
                          ["weather", WEATHER, "--units", "cubits"]]:
            err = self.refused(2, *arguments)
            self.assertNotEqual(err, "")

    def test_help_and_version(self):
        out, err = self.program("--help")
        self.assertIn("stoverturn run scenarios/examples/hollow-creek.toml", out)
        self.assertIn("Exit codes:", out)
        self.assertEqual(err, "")
        out, _ = self.program("--version")
        self.assertRegex(out, r"^stoverturn \d+\.\d+\.\d+\n$")
        for command in "run", "check", "weather", "parameters", "compare":
            out, _ = self.program(command, "--help")
            self.assertNotEqual(out, "")

    def test_set_is_named_in_the_output(self):
        name = self.small()
        out, _ = self.program("run", name, "--set", "k_hol@stalk=0.04", "--set", "harvest.residue=4.5 t/ha")
        self.assertIn("4,500 kg/ha of dry matter at harvest", out)
        self.assertIn("k_hol@stalk", out)
        self.assertIn("command line", out)
        self.assertIn("command line: k_hol: found 40 1/d; wanted 0.001 to 0.3",
                      self.refused(1, "check", name, "--set", "k_hol=40"))

    def test_draws_give_ranges_that_can_be_run_again(self):
        name = self.small()
        out, _ = self.program("run", name, "--draws", "8", "-o", "wide")
        self.assertIn("    range ", out)
        self.assertIn("Ranges hold 9 of 10 new places: parameters were drawn 8 times", " ".join(out.split()))
        again, _ = self.program("run", "wide.h5", "-o", "again")
        self.assertEqual(again, out)
        self.assertIn("command line: draws: found 1; wanted a whole number from 2 to 1000",
                      self.refused(1, "run", name, "--draws", "1", "-o", "none"))

    def test_a_log_in_place_of_weather(self):
        self.small('duration = "20 d"\n[harvest]\ndate = 2012-10-20\nresidue = "9 t/ha"\n'
                   '[conditions]\nlog = "tub.csv"\n')
        (self.folder / "tub.csv").write_text("day,temperature [degC],water [mm]\n0,20,10\n25,15,0\n")
        first, _ = self.program("run", "small.toml")
        again, _ = self.program("run", "small.h5", "-o", "again")
        self.assertEqual(first, again)
        (self.folder / "tub.csv").write_text("day,temperatur [degC]\n0,20\n")
        self.assertEqual(self.refused(1, "check", "small.toml"),
                         "tub.csv:1:5: unknown column `temperatur`; did you mean 'temperature'?\n")


class Results(Case):
    def test_a_result_runs_again_exactly(self):
        out, _ = self.program("run", DEMO, "--set", "k_hol=0.03")
        again, _ = self.program("run", "hollow-creek.h5", "-o", "again")
        self.assertEqual(out, again)
        # byte for byte: results hold no clock, user or machine
        self.assertEqual((self.folder / "hollow-creek.h5").read_bytes(), (self.folder / "again.h5").read_bytes())
        for end in "-key-numbers.csv", "-monthly.csv":
            self.assertEqual((self.folder / f"hollow-creek{end}").read_bytes(),
                             (self.folder / f"again{end}").read_bytes())
        other, _ = self.program("run", DEMO, "-o", "other")
        self.assertNotEqual(out, other)

    @unittest.skipIf(h5py is None, "h5py is not installed")
    def test_every_dataset_of_a_result_run_again_is_equal(self):
        self.program("run", DEMO)
        self.program("run", "hollow-creek.h5", "-o", "again")
        compared = 0
        with h5py.File(self.folder / "hollow-creek.h5") as a, h5py.File(self.folder / "again.h5") as b:
            names_a, names_b = [], []
            a.visit(names_a.append)
            b.visit(names_b.append)
            self.assertEqual(names_a, names_b)
            for name in names_a:
                if isinstance(a[name], h5py.Group):
                    continue
                x, y = a[name][()], b[name][()]
                same = numpy.array_equal(x, y, equal_nan=True) if a[name].dtype.kind == "f" else numpy.array_equal(x, y)
                self.assertTrue(same, name)
                compared += 1
        self.assertGreater(compared, 60)

    def test_a_result_runs_again_without_its_lab_sheet_and_materials(self):
        for name in "cover-crops.toml", "cover-crop-materials.toml", "lab-stover.csv":
            shutil.copy(DEMO.parent / name, self.folder)
        scenario = self.folder / "cover-crops.toml"
        scenario.write_text(scenario.read_text().replace("../../notebooks-data/" + WEATHER.name, str(WEATHER))
                            + '[treatment.own.component.shoot]\nlab_sheet = "lab-stover.csv"\nsample = "leaf"\n')
        first, _ = self.program("run", scenario.name)
        for name in "cover-crops.toml", "cover-crop-materials.toml", "lab-stover.csv":
            (self.folder / name).unlink()
        again, _ = self.program("run", "cover-crops.h5", "-o", "again")
        self.assertEqual(first, again)
        self.assertEqual((self.folder / "cover-crops.h5").read_bytes(), (self.folder / "again.h5").read_bytes())

    def test_a_result_keeps_the_crops_of_its_scenario(self):
        first, _ = self.program("run", DEMO.parent / "own-crops.toml", "-o", "own")
        self.assertRegex(first, "emergence +5 leaves")
        again, _ = self.program("run", "own.h5", "-o", "again")
        self.assertEqual(first, again)
        self.assertEqual((self.folder / "own.h5").read_bytes(), (self.folder / "again.h5").read_bytes())

    def test_a_result_does_not_replace_itself(self):
        self.program("run", self.small())
        before = (self.folder / "small.h5").read_bytes()
        self.assertEqual(self.refused(3, "run", "small.h5", "--overwrite"),
                         "small.h5: would replace the file that is run; choose another name with --output\n")
        self.assertEqual((self.folder / "small.h5").read_bytes(), before)

    def test_a_damaged_result(self):
        self.program("run", self.small())
        whole = (self.folder / "small.h5").read_bytes()
        (self.folder / "half.h5").write_bytes(whole[:len(whole) // 2])
        self.assertIn("half.h5: ", self.refused(3, "run", "half.h5", "-o", "again"))
        self.assertIn("half.h5: ", self.refused(3, "compare", "small.h5", "half.h5"))

    def test_compare(self):
        name = self.small()
        self.program("run", name)
        self.program("run", name, "-o", "more", "--set", "harvest.residue=10 t/ha")
        out, err = self.program("compare", "small.h5", "more.h5")
        self.assertEqual(err, "")
        self.assertTrue(out.startswith("A: small.h5\nB: more.h5\n"))
        self.assertRegex(out, r"\nresidue_dry_matter +kg/ha dry matter +9,000\.00 +10,000\.00 +1,000\.00\n")
        self.assertEqual([line for line in out.splitlines() if len(line) > 100], [])
        told = json.loads(self.program("compare", "small.h5", "more.h5", "--json")[0])
        mass = next(n for n in told["numbers"] if n["name"] == "residue_dry_matter")
        self.assertAlmostEqual(mass["difference"], 1000.0)
        same = json.loads(self.program("compare", "small.h5", "small.h5", "--json")[0])
        self.assertGreater(len(same["numbers"]), 10)
        self.assertEqual({n["difference"] for n in same["numbers"]} - {None}, {0.0})

    def test_compare_lists_what_one_lacks(self):
        text = SMALL + "[treatment.a]\n[treatment.b]\n"
        self.program("run", self.small(text))
        self.program("run", self.small(text.replace("treatment.b", "treatment.c"), "other.toml"))
        out, _ = self.program("compare", "small.h5", "other.h5")
        self.assertTrue(out.endswith("\nOnly in A: b\n\nOnly in B: c\n"), out)


class Weather(Case):
    def test_the_shipped_record(self):
        out, err = self.program("weather", WEATHER)
        self.assertEqual(err, "")
        self.assertIn("2012-01-01 to 2015-12-31, 1461 days, 4 whole years; latitude 40.", out)
        self.assertIn("Hargreaves", out)
        self.assertEqual([line for line in out.splitlines() if len(line) > 140], [])
        told = json.loads(self.program("weather", WEATHER, "--json")[0])
        self.assertEqual((told["first"], told["last"], told["days"]), ("2012-01-01", "2015-12-31", 1461))
        # the mean of the file's own columns
        rows = [line.split(",") for line in WEATHER.read_text().splitlines() if line and not line.startswith("#")]
        high = next(i for i, head in enumerate(rows[0]) if head.startswith("tmax"))
        low = next(i for i, head in enumerate(rows[0]) if head.startswith("tmin"))
        self.assertIn("degC", rows[0][high])
        mean = sum((float(r[high]) + float(r[low])) / 2 for r in rows[1:]) / len(rows[1:])
        self.assertAlmostEqual(told["mean_temperature_C"], mean, places=6)
        us, _ = self.program("weather", WEATHER, "--units", "us")
        self.assertIn(f"{mean * 1.8 + 32:.1f} degF", us)

    def test_a_fragment_needs_its_latitude(self):
        rows = ["date,tmax [degF],tmin [degF],rain [in]"]
        rows += [f"2020-06-{d:02},80,60,{'0.5' if d == 3 else '0'}" for d in range(1, 11)]
        (self.folder / "june.csv").write_text("\n".join(rows) + "\n")
        self.assertEqual(self.refused(1, "weather", "june.csv"),
                         'june.csv: the file does not say its latitude; give it with --latitude "42.0 N"\n')
        out, _ = self.program("weather", "june.csv", "--latitude", "42 N", "--elevation", "1000 ft")
        self.assertIn("2020-06-01 to 2020-06-10, 10 days, 0 whole years; latitude 42.00, elevation 305 m", out)
        self.assertIn("\n  mean        21.1 degC\n", out)  # (80 + 60) / 2 degF; a year's rain is not known
        self.assertIn("command line: --latitude: ", self.refused(1, "weather", "june.csv", "--latitude", "42 X"))

    def test_built_in_climates(self):
        out, err = self.program("weather", "--list")
        self.assertEqual(err, "")
        self.assertEqual(sum(not line.startswith(" ") for line in out.splitlines()), 15)
        self.assertLessEqual(max(map(len, out.splitlines())), 100)
        asked = "weather", "--climate", "po valley", "--years", "50", "--seed", "3"
        shown, _ = self.program(*asked)
        self.assertTrue(shown.startswith("Po valley: Piacenza, latitude 45.02, elevation 61 m\n"), shown)
        self.assertIn("generated 50 years with seed 3; wet days bring at least 1 mm", shown)
        rows = [line.split() for line in shown.splitlines()]
        given = [row[-12:] for row in rows if "normal" in row]
        made = [row[-12:] for row in rows if row[:1] == ["generated"] and "seed" not in row]
        self.assertEqual(given[0], "6.3 9.0 14.7 18.8 23.7 28.0 30.6 29.9 25.0 18.6 11.7 6.8".split())
        for a, b in zip(given[0] + given[1], made[0] + made[1]):
            # standard error of a month's mean over 50 years: 2 C / sqrt(50) = 0.3; four of them
            self.assertAlmostEqual(float(a), float(b), delta=1.2)
        self.assertEqual(shown, self.program(*asked)[0])
        self.assertEqual(self.refused(1, "weather", "--climate", "Po vally"),
                         "command line: --climate: there is no built-in climate 'Po vally'; did you mean 'Po valley'?\n")
        self.assertEqual(self.refused(1, "weather", "--climate", "Hungary", "--seed", "1.5"),
                         "command line: --seed: found 1.5; wanted a whole number from 0 to 9007199254740992\n")
        self.assertEqual(self.refused(2, "weather").splitlines()[0], "FILE, --climate or --list is required")

    def test_generated_and_resampled_weather_run_again_exactly(self):
        climate = SMALL.replace('file = "w.csv"', 'climate = "Hungary"\nseed = 5')
        drawn = SMALL.replace("60 d", "6 years").replace('file = "w.csv"', 'file = "w.csv"\nresample = true\nseed = 5')
        for name, text, note in [("climate", climate, "monthly normals of 'Hungary' (Debrecen; "),
                                 ("drawn", drawn, "drawn from it at random, seed 5: 2016 as 201")]:
            told = json.loads(self.program("run", self.small(text, name + ".toml"), "--json", "--daily")[0])
            self.assertTrue(any(note in n for n in told["notes"]), told["notes"])
            again = json.loads(self.program("run", name + ".h5", "-o", "again", "--json", "--daily", "--overwrite")[0])
            self.assertEqual(told, again)
            daily = [(self.folder / f"{run}-daily.csv").read_text() for run in (name, "again")]
            self.assertEqual(daily[0], daily[1])
            # another seed from the result file is another run, the same as from the scenario
            other = self.program("run", name + ".h5", "-o", "other", "--json", "--overwrite", "--set", "weather.seed=6")[0]
            from_text = self.program("run", name + ".toml", "-o", "fresh", "--json", "--overwrite", "--set", "weather.seed=6")[0]
            self.assertEqual(other, from_text)
            self.assertNotEqual({**json.loads(other), "notes": []}, {**told, "notes": []})


    def test_converts_any_format_to_the_plain_one(self):
        out, err = self.program("weather", SOUTH, "--convert", "plain.csv")
        self.assertEqual(err, "wrote plain.csv\n")
        self.assertIn("NASA POWER, daily", out)
        text = (self.folder / "plain.csv").read_text()
        self.assertTrue(text.startswith("# latitude: -33.5\n# elevation: 90 m\n# filled: 2015-11-03 rain\n"), text[:90])
        self.assertEqual(self.files(), ["plain.csv"])
        again, _ = self.program("weather", "plain.csv")
        self.assertEqual(again.splitlines()[1:], out.splitlines()[1:])  # the record is the same
        self.program("weather", "plain.csv", "--convert", "twice.csv")
        self.assertEqual((self.folder / "twice.csv").read_bytes(), text.encode())

        self.assertEqual(self.refused(3, "weather", SOUTH, "--convert", "plain.csv"),
                         "plain.csv: exists already; use --overwrite to replace it, or write elsewhere\n")
        self.assertEqual(self.refused(3, "weather", SOUTH, "--convert", "no/plain.csv"),
                         "no/plain.csv: cannot be written: there is no folder no\n")
        self.assertEqual(self.refused(3, "weather", "plain.csv", "--convert", "plain.csv", "--overwrite"),
                         "plain.csv: would replace the file that is read; choose another name with --convert\n")
        (self.folder / "plain.csv").write_text("mine")
        self.program("weather", SOUTH, "--convert", "plain.csv", "--overwrite")
        self.assertEqual((self.folder / "plain.csv").read_text(), text)
        (self.folder / "bad.csv").write_text("date,tmin_c,tmax_c,rain_mm\n2012-01-01,5,1,0\n")
        self.refused(1, "weather", "bad.csv", "--latitude", "42", "--convert", "good.csv")
        self.assertFalse((self.folder / "good.csv").exists())

    def test_generated_weather_can_be_written_too(self):
        first, err = self.program("weather", "--climate", "central Iowa", "--years", "2", "--convert", "made.csv")
        self.assertEqual(err, "wrote made.csv\n")
        told = json.loads(self.program("weather", "made.csv", "--json")[0])
        self.assertEqual((told["first"], told["last"], told["days"]), ("2001-01-01", "2002-12-31", 730))
        self.assertEqual(self.refused(3, "weather", "--climate", "central Iowa", "--convert", "made.csv"),
                         "made.csv: exists already; use --overwrite to replace it, or write elsewhere\n")
        self.refused(2, "weather", WEATHER, "--climate", "central Iowa")

    def test_one_of_several_stations(self):
        rows = ["site,date,tmax_f,tmin_f,rain_in,latitude"]
        rows += [f"{site},2020-06-{d:02},{high},60,0,{lat}" for d in range(1, 11) for site, high, lat in
                 [("hill", 80, 42.5), ("valley", 90, 41.5)]]
        (self.folder / "june.csv").write_text("\n".join(rows) + "\n")
        self.assertEqual(self.refused(1, "weather", "june.csv"),
                         "june.csv: the file holds 2 stations (hill, valley); choose one with --station, or with "
                         "`station` under [weather]\n")
        out, _ = self.program("weather", "june.csv", "--station", "valley", "--json")
        told = json.loads(out)
        self.assertEqual((told["latitude_deg"], told["days"]), (41.5, 10))
        # every value read is rounded to six decimals
        self.assertAlmostEqual(told["mean_temperature_C"], (75 - 32) / 1.8, delta=1e-6)


    def test_a_station_table_whose_header_states_no_units(self):
        (self.folder / "s.csv").write_bytes(STATION.read_bytes())
        refused = self.refused(1, "weather", "s.csv")
        self.assertEqual(refused.count("\n"), 1)
        self.assertTrue(refused.startswith("s.csv:2:48: no unit is stated for PRCP, TMAX, TMIN; "), refused)
        self.assertEqual(self.refused(1, "check", "s.csv"), refused)
        told = json.loads(self.program("weather", "s.csv", "--columns-in", "us", "--json")[0])
        with STATION.open() as file:
            rows = list(csv.DictReader(row for row in file if not row.startswith("#")))
        mean = sum((float(r["TMAX"]) + float(r["TMIN"])) / 2 for r in rows) / len(rows)
        self.assertAlmostEqual(told["mean_temperature_C"], (mean - 32) / 1.8, delta=1e-6)  # six decimals are kept
        self.assertEqual((told["latitude_deg"], told["days"]), (42.1, 365))
        self.assertEqual(told["unread_columns"], ["NAME", "PRCP_ATTRIBUTES", "TMAX_ATTRIBUTES", "TMIN_ATTRIBUTES"])
        # the same days as elements, in tenths: whole degF are right to 0.5 F, hundredths of inches to 0.127 mm
        for name in "weather-invented-station.dly", "weather-invented-station-elements.csv":
            other = json.loads(self.program("weather", STATION.parent / name, "--latitude", "42.1", "--json")[0])
            self.assertEqual((other["days"], other["flagged_values"], other["filled_days"]), (365, 1, 1))
            self.assertAlmostEqual(other["mean_temperature_C"], told["mean_temperature_C"], delta=0.5 / 1.8)
            self.assertAlmostEqual(other["mean_annual_rain_mm"], told["mean_annual_rain_mm"], delta=365 * 0.127)
        out, _ = self.program("check", "s.csv", "--columns-in", "us", "--station", "XX000INVENT")
        self.assertEqual(out, "s.csv is in order: plain CSV, 365 days (`stoverturn weather s.csv` says more).\n")
        self.assertEqual(self.refused(1, "check", "s.csv", "--columns-in", "us", "--station", "XX000INVEN"),
                         "s.csv: the file holds no station 'XX000INVEN'; did you mean 'XX000INVENT'?\n")
        self.assertIn(" with columns_in = \"us\", ", self.refused(1, "weather", "s.csv", "--columns-in", "metric"))
        self.assertEqual(self.refused(1, "check", self.small(), "--station", "x", "--columns-in", "us"),
                         "command line: --station: belongs to daily weather; a scenario says it under [weather]\n"
                         "command line: --columns-in: belongs to daily weather; a scenario says it under [weather]\n")
        self.refused(2, "weather", "s.csv", "--columns-in", "cubits")

    def test_suspicious_days_in_the_units_asked_for(self):
        rows = ["# latitude: 42", "date,tmax [degF],tmin [degF],rain [in]"]
        rows += [f"2020-06-{d:02},{95 if d == 3 else 80 + d},{25 if d == 3 else 60},0" for d in range(1, 11)]
        (self.folder / "june.csv").write_text("\n".join(rows) + "\n")
        us, _ = self.program("weather", "june.csv", "--units", "us")
        self.assertIn("\n  suspicious  2020-06-03  daily range 70.0 F (line 5)\n", us)
        si, _ = self.program("weather", "june.csv")
        self.assertIn("\n  suspicious  2020-06-03  daily range 38.9 C (line 5)\n", si)


class WeatherOfResults(Case):
    """A result file keeps its weather; what --set says about it now must count, or be refused."""

    def setUp(self):
        super().setUp()
        self.small()
        rows = WEATHER.read_text().splitlines(keepends=True)
        holes = [row for row in rows if not row.startswith(("2012-11-05", "2012-11-06"))]
        (self.folder / "w.csv").write_text("".join(holes))
        self.program("run", "small.toml")

    def test_filled_days_are_told_again(self):
        first, _ = self.program("run", "small.toml", "-o", "first")
        again, _ = self.program("run", "small.h5", "-o", "again")
        self.assertIn("days filled: 2 (in 1 gap(s))", " ".join(first.split()))
        self.assertEqual(first, again)
        third, _ = self.program("run", "again.h5", "-o", "third")
        self.assertEqual(first, third)
        for name in "again.h5", "third.h5":
            self.assertEqual((self.folder / "small.h5").read_bytes(), (self.folder / name).read_bytes())

    @unittest.skipIf(h5py is None, "h5py is not installed")
    def test_place_can_be_set(self):
        self.program("run", "small.h5", "-o", "north", "--set", "weather.latitude=60 N", "--set", "weather.elevation=500 m")
        self.program("run", "small.toml", "-o", "same", "--set", "weather.latitude=60 N", "--set", "weather.elevation=500 m")
        with h5py.File(self.folder / "north.h5") as north:
            self.assertEqual((north["weather_latitude"][()], north["weather_elevation"][()]), (60.0, 500.0))
        self.assertEqual((self.folder / "north.h5").read_bytes(), (self.folder / "same.h5").read_bytes())

    def test_another_file_is_read(self):
        shutil.copy(WEATHER, self.folder / "whole.csv")
        told, _ = self.program("run", "small.h5", "-o", "other", "--set", "weather.file=whole.csv")
        self.assertNotIn("days filled", told)
        direct, _ = self.program("run", "small.toml", "-o", "direct", "--set", "weather.file=whole.csv")
        self.assertEqual(told, direct)
        self.assertEqual((self.folder / "other.h5").read_bytes(), (self.folder / "direct.h5").read_bytes())
        again, _ = self.program("run", "other.h5", "-o", "again")
        self.assertEqual(told, again)
        self.assertEqual(self.refused(1, "run", "small.h5", "-o", "none", "--set", "weather.file=none.csv"),
                         "command line: file: there is no weather file none.csv\n")

    def test_what_needs_the_file_is_refused(self):
        for key, value in ("longest_gap", "1 d"), ("station", "x"), ("columns_in", "us"):
            self.assertEqual(self.refused(1, "run", "small.h5", "-o", "other", "--set", f"weather.{key}={value}"),
                             f"command line: weather.{key}: a result file keeps the days it was run with, not the file "
                             "they were read from; set weather.file as well, or run the scenario file\n")
        self.assertIn("command line: unknown key `latitud` in [weather]",
                      self.refused(1, "run", "small.h5", "-o", "other", "--set", "weather.latitud=3"))

    def test_another_log_is_read(self):
        (self.folder / "tub.toml").write_text('duration = "20 d"\n[harvest]\ndate = 2012-10-20\nresidue = "9 t/ha"\n'
                                              '[conditions]\nlog = "tub.csv"\n')
        (self.folder / "tub.csv").write_text("day,temperature [degC]\n0,20\n25,20\n")
        (self.folder / "warm.csv").write_text("day,temperature [degC]\n0,30\n25,30\n")
        self.program("run", "tub.toml")
        (self.folder / "tub.csv").unlink()
        again, _ = self.program("run", "tub.h5", "-o", "again")
        warm, _ = self.program("run", "tub.h5", "-o", "warm", "--set", "conditions.log=warm.csv")
        self.assertNotEqual(again, warm)


class Parameters(Case):
    def test_the_page_in_docs_is_what_the_program_prints(self):
        out, err = self.program("parameters")
        self.assertEqual(err, "")
        self.assertEqual(out, (ROOT / "docs" / "parameters.md").read_text(encoding="utf-8"),
                         "if the change is wanted: program_test.py PROGRAM --accept")

    def test_json(self):
        told = json.loads(self.program("parameters", "--json")[0])
        text = json.dumps(told)
        for name in "k_hol", "CN_mic", "harvest_index":
            self.assertIn(f'"{name}"', text)


class New(Case):
    def test_a_scenario_is_valid_at_once(self):
        shutil.copy(WEATHER, self.folder / "w.csv")
        for name, arguments in {
            "us": ["--weather", "w.csv", "--harvest", "2012-10-20"],
            "si": ["--units", "si", "--grain-yield", "12 t/ha", "--weather", "w.csv", "--harvest", "2012-10-20"],
            "wheat": ["--material", "wheat straw", "--residue", "5 t/ha", "--weather", "w.csv", "--harvest",
                      "2012-08-01", "--single"],
        }.items():
            with self.subTest(name):
                self.program("new", "scenario", f"{name}.toml", *arguments)
                out, _ = self.program("check", f"{name}.toml")
                self.assertIn("is in order", out)
                out, _ = self.program("run", f"{name}.toml", "--quiet")
                self.assertIn("My field", out)

    def test_an_answer_that_cannot_be_writes_nothing(self):
        _, err = self.program("new", "scenario", "x.toml", "--grain-yield", "3", expect=1)
        self.assertIn("the answers make no valid scenario", err)
        self.assertIn("wanted a grain yield with its unit", err)
        self.assertFalse((self.folder / "x.toml").exists())

    def test_questions(self):
        done = subprocess.run([PROGRAM, "new", "scenario", "x.toml", "--ask"], cwd=self.folder, capture_output=True,
                              timeout=60, input=b"Bottom land\nsi\n2026-10-11\n\n\n\n30 cm\n\n")
        self.assertEqual(done.returncode, 0, done.stderr)
        text = (self.folder / "x.toml").read_text()
        self.assertIn('title = "Bottom land"', text)
        self.assertIn("date = 2026-10-11", text)
        self.assertIn('cut_length = "30 cm"', text)
        self.assertIn("\nclimate = \"central Iowa\"", text)  # there is no weather.csv
        self.program("run", "x.toml", "--quiet", "--set", "duration=1 year")
        (self.folder / "x.toml").unlink()
        for answer, line in ("hungary", '\nclimate = "hungary"'), ("rain.csv", '\nfile = "rain.csv"'):
            done = subprocess.run([PROGRAM, "new", "scenario", "x.toml", "--ask", "--overwrite"], cwd=self.folder,
                                  capture_output=True, timeout=60, input=f"\n\n\n\n{answer}\n\n\n\n".encode())
            self.assertIn(line, (self.folder / "x.toml").read_text())
        self.assertIn("rain.csv, which is not there yet", done.stdout.decode())

    def test_without_weather_a_climate_stands_in(self):
        self.program("new", "scenario", "a.toml")
        out, _ = self.program("check", "a.toml")
        self.assertIn("is in order", out)
        told, _ = self.program("new", "scenario", "b.toml", "--climate", "Po valley", "--units", "si", "--grain-yield",
                               "12 t/ha")
        self.assertIn("made from the climate of Po valley", told)
        out, _ = self.program("check", "b.toml")
        self.assertIn("'Po valley'", out)
        _, err = self.program("new", "scenario", "c.toml", "--climate", "Po vally", expect=1)
        self.assertIn("there is no built-in climate 'Po vally'; did you mean 'Po valley'?", err)
        self.program("new", "weather", "weather.csv")
        self.program("new", "scenario", "d.toml")
        self.assertIn('\nfile = "weather.csv"', (self.folder / "d.toml").read_text())

    def test_weather_and_trial_sheets_are_valid_at_once(self):
        for units in "us", "si":
            self.program("new", "weather", "w.csv", "--units", units, "--overwrite")
            self.program("weather", "w.csv")
            self.program("check", "w.csv")
        self.program("new", "trial", "bags.csv", "--start", "2026-11-01", "--treatments", "a,b", "--pulls", "0,45",
                     "--replicates", "3")
        out, _ = self.program("check", "bags.csv")
        self.assertIn("24 rows, 0 of them with a mass", out)  # 2 treatments x 2 placements x 2 pulls x 3
        self.assertIn("2026-12-16", (self.folder / "bags.csv").read_text())
        _, err = self.program("new", "trial", "bags.csv", "--start", "2026-11-01", expect=3)
        self.assertIn("exists already", err)
        _, err = self.program("new", "trial", "b.csv", "--start", "2026-11-01", "--pulls", "0,x", expect=1)
        self.assertIn("--pulls: found 'x'", err)


FIELD = """\
duration = "60 d"
[conditions]
temperature = "20 C"
[harvest]
date = 2027-10-20
residue = "4 t/ha"
material = "own"
placement = { buried = "100 %" }
[component]
stalk = { mass_share = 1.0, nitrogen = 0.006, cut_length = "8 cm" }
"""

# invented; a slow start and some scatter
BAGS = "placement,replicate,days [d],mass left [%]\n" + "".join(
    f"buried,{r},{day},{left + off}\n"
    for day, left in [(7, 91), (15, 83), (30, 72), (50, 60)] for r, off in [(1, 1.2), (2, -1.3), (3, 0.4)])

TRIAL = """\
title = "Invented bags"
data = "bags.csv"
scenario = "field.toml"
[estimate]
k_hol = {}
[methods]
starts = 2
population = false
draws = 2000
"""

WRITTEN = ["trial-fit-parameters.csv", "trial-fit-residuals.csv", "trial-fit.h5", "trial-fit.json"]


class Fit(Case):
    def setUp(self):
        super().setUp()
        for name, text in ("field.toml", FIELD), ("bags.csv", BAGS), ("trial.toml", TRIAL):
            (self.folder / name).write_text(text)

    def written(self):
        return [name for name in self.files() if name.startswith("trial-fit")]

    def bytes_of(self, name):
        return (self.folder / name).read_bytes()

    def told(self, name="trial-fit.json"):
        return json.loads((self.folder / name).read_text())

    def test_prints_and_writes_and_runs_forward(self):
        out, err = self.program("fit", "trial.toml")
        self.assertEqual(self.written(), WRITTEN)
        self.assertEqual(sorted(err.splitlines()), [f"wrote {name}" for name in WRITTEN])
        self.assertEqual([line for line in out.splitlines() if len(line) > 100], [])
        heads = ["Estimates", "What the data can tell", "Fit by treatment", "Models compared, by mass left",
                 "Derived", "Search", "Methods"]
        at = [out.index(f"\n{head}\n") for head in heads]
        self.assertEqual(at, sorted(at))
        self.assertNotIn("nitrogen left", out)  # not measured
        self.assertIn("12 measured numbers", out)
        # the checksum of the data is what any other program computes
        if h5py:
            with h5py.File(self.folder / "trial-fit.h5") as f:
                said = {name.decode(): sha.decode() for name, sha in zip(f["checksum_name"][:], f["checksum_sha256"][:])}
            self.assertEqual(said["data bags.csv"], hashlib.sha256(BAGS.encode()).hexdigest())
            self.assertEqual(sorted(said), ["data bags.csv", "fit", "scenario"])
        # forward, with draws
        (self.folder / "later.toml").write_text('parameters = "trial-fit.h5"\ndraws = 20\n' + FIELD)
        out, _ = self.program("run", "later.toml")
        self.assertIn("draws", out)
        # what exists is refused before the fit, and replaced on demand
        err = self.refused(3, "fit", "trial.toml")
        self.assertIn("exists already", err)
        text, err = self.program("fit", "trial.toml", "--overwrite", "--json", "--quiet", "--threads", "1")
        self.assertEqual(err, "")
        self.assertEqual(json.loads(text), self.told())

    def test_look_fits_nothing_and_writes_nothing(self):
        before = self.files()
        out, err = self.program("fit", "trial.toml", "--look")
        self.assertEqual((self.files(), err), (before, ""))
        self.assertIn("91.1", out)  # the mean of three bags

    def test_a_fit_is_made_again_from_its_file(self):
        shutil.copy(WEATHER, self.folder / "w.csv")
        (self.folder / "field.toml").write_text(
            FIELD.replace('[conditions]\ntemperature = "20 C"', '[weather]\nfile = "w.csv"').replace("2027", "2012"))
        self.program("fit", "trial.toml", "--set", "methods.draws=0", "--set", "methods.seed=5")
        for name in "w.csv", "field.toml", "bags.csv", "trial.toml":
            (self.folder / name).unlink()
        self.program("fit", "trial-fit.h5", "-o", "again")
        self.assertEqual(self.bytes_of("again.h5"), self.bytes_of("trial-fit.h5"))
        self.assertEqual(self.bytes_of("again.json"), self.bytes_of("trial-fit.json"))
        err = self.refused(3, "fit", "trial-fit.h5", "-o", "trial-fit", "--overwrite")
        self.assertIn("would replace the file that is fitted", err)
        other, _ = self.program("fit", "trial-fit.h5", "-o", "other", "--set", "methods.level=50 %")
        self.assertIn("50 % interval", other)

    def test_interrupted_it_keeps_what_there_is_and_goes_on(self):
        err = self.refused(3, "fit", "trial.toml", "--resume")
        self.assertIn("there is no stopped fit to go on with; run without --resume", err)
        (self.folder / "trial.toml").write_text(TRIAL.replace("2000", "20000"))
        process = subprocess.Popen([PROGRAM, "fit", "trial.toml"], cwd=self.folder, stdin=subprocess.DEVNULL,
                                   stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        state = self.folder / "trial-fit.state"
        while not state.exists() and process.poll() is None:
            time.sleep(0.01)
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=120)
        self.assertEqual(process.returncode, 0, err)
        self.assertIn("stopped: what was reached is kept; the same command with --resume goes on", err)
        self.assertIn("Stopped before the end: what is missing was not reached; --resume goes on.", out)
        self.assertEqual(self.written(), sorted(WRITTEN + ["trial-fit.state"]))
        # only the same fit is gone on with
        err = self.refused(3, "fit", "trial.toml", "--resume", "--set", "methods.seed=9")
        self.assertIn("is of a fit of other data, files or options", err)
        kept = state.read_bytes()
        state.write_bytes(kept[:100])
        self.assertIn("cannot be gone on with", self.refused(3, "fit", "trial.toml", "--resume"))
        state.write_bytes(kept)
        self.program("fit", "trial.toml", "--resume")
        self.assertEqual(self.written(), WRITTEN)
        self.program("fit", "trial.toml", "-o", "whole")
        self.assertEqual(self.bytes_of("whole.h5"), self.bytes_of("trial-fit.h5"))

    def test_mistakes_write_nothing(self):
        before = self.files()
        (self.folder / "trial.toml").write_text(TRIAL.replace("k_hol", "k_hool").replace("starts", "start"))
        err = self.refused(1, "fit", "trial.toml")
        self.assertIn("trial.toml:5:1: unknown parameter `k_hool`; did you mean 'k_hol'?", err)
        self.assertIn("did you mean 'starts'?", err)
        (self.folder / "trial.toml").write_text(TRIAL.replace("bags.csv", "bugs.csv"))
        self.assertIn("trial.toml:2:8: data: there is no file bugs.csv", self.refused(1, "fit", "trial.toml"))
        self.assertEqual(self.files(), before)

    def test_from_new_files_to_a_forward_run(self):
        """As docs/fitting-a-trial.md goes: every file begun with `new`."""
        self.program("new", "trial", "sheet.csv", "--start", "2026-10-20", "--treatments", "left,opened",
                     "--placements", "surface", "--replicates", "2", "--pulls", "30,80")
        sheet = (self.folder / "sheet.csv").read_text()
        for row, mass in zip([r for r in sheet.splitlines() if ",surface," in r],
                             [18.9, 18.5, 18.6, 18.8, 17.6, 17.2, 17.0, 17.5]):
            sheet = sheet.replace(row, row.replace(",,,,,", f",20.0,{mass},,,"), 1)
        (self.folder / "sheet.csv").write_text(sheet)
        self.program("new", "scenario", "home.toml", "--units", "si", "--duration", "100 d")
        self.program("new", "fit", "home-trial.toml", "--data", "sheet.csv", "--scenario", "home.toml")
        out, _ = self.program("check", "home-trial.toml")
        self.assertIn("k_hol", out)
        self.program("fit", "home-trial.toml", "--set", "methods.draws=0", "--set", "methods.starts=1", "--set",
                     "methods.population=false", "--set", "methods.profiles=false")
        home = (self.folder / "home.toml").read_text()
        (self.folder / "home.toml").write_text('parameters = "home-trial-fit.h5"\ndraws = 5\n' + home)
        self.program("run", "home.toml")
        self.assertIn("exists already", self.refused(3, "new", "fit", "home-trial.toml"))


class Stand(Case):
    COUNTS = ROOT / "scenarios" / "examples" / "invented-stand.csv"

    def test_prints_and_writes_the_same_numbers(self):
        out, err = self.program("stand", self.COUNTS, "-o", "x")
        self.assertIn("a thousandth of an acre is 17 ft 5 in of row", out)
        self.assertEqual(self.files(), ["x-differences.csv", "x-effects.csv", "x-rates.csv", "x.h5"])
        told = json.loads(self.program("stand", self.COUNTS, "--json")[0])
        with open(self.folder / "x-rates.csv", newline="") as file:
            rates = list(csv.DictReader(file))
        self.assertEqual([r["treatment"] for r in told["rates"]], [r["treatment"] for r in rates])
        for json_row, csv_row in zip(told["rates"], rates):
            self.assertAlmostEqual(json_row["per_acre"], float(csv_row["per_acre"]), places=3)
        if h5py:
            with h5py.File(self.folder / "x.h5") as file:
                self.assertEqual(list(file["rates_per_acre"]), [r["per_acre"] for r in told["rates"]])
        self.assertIn("exists already", self.refused(3, "stand", self.COUNTS, "-o", "x"))

    def test_is_told_from_other_files(self):
        examples = ROOT / "scenarios" / "examples"
        self.assertIn("16 rows, 2 treatments, counted are plants, ears", self.program("check", self.COUNTS)[0])
        for command, name, wrong, use in (
                ("stand", "hollow-creek.toml", "a scenario, not a sheet of stand counts", "use `stoverturn run`"),
                ("stand", "invented-plan.toml", "the plan of a trial", "use `stoverturn trial`"),
                ("trial", "invented-stand.csv", "a sheet of stand counts", "use `stoverturn stand`"),
                ("trial", "invented-trial.toml", "a fit file, not the plan of a trial", "use `stoverturn fit`"),
                ("trial", "hollow-creek.toml", "a scenario", "use `stoverturn run`")):
            said = self.refused(1, command, examples / name)
            self.assertEqual(said.count("\n"), 1, said)
            self.assertIn(f"this is {wrong}", said)
            self.assertIn(use, said)

    def test_a_new_sheet_waits_to_be_filled_in(self):
        self.program("new", "stand", "sheet.csv", "--treatments", "a,b", "--strips", "2", "--rows", "1")
        self.assertEqual(self.refused(1, "stand", "sheet.csv"),
                         "sheet.csv: no row has a count yet; fill in plants or ears\n")
        sheet = (self.folder / "sheet.csv").read_text().replace(",30,,,,,", ",30,31,1,1,2,30")
        (self.folder / "sheet.csv").write_text(sheet.replace("## price", "# price"))
        self.assertIn("$/acre", self.program("stand", "sheet.csv")[0])
        self.assertIn("--price: found '4'", self.refused(1, "stand", "sheet.csv", "--price", "4"))


class Plan(Case):
    PLAN = ROOT / "scenarios" / "examples" / "invented-plan.toml"
    FEW = ["--set", "trial.trials=0", "--set", "trial.draws=2"]

    def test_prints_and_writes_the_same_plan_on_any_threads(self):
        out, _ = self.program("trial", self.PLAN, *self.FEW, "-o", "one", "--threads", "1")
        again, _ = self.program("trial", self.PLAN, *self.FEW, "-o", "two", "--threads", "2")
        self.assertEqual(out, again)
        for end in ".h5", "-bags.csv", "-parameters.csv":
            self.assertEqual((self.folder / f"one{end}").read_bytes(), (self.folder / f"two{end}").read_bytes())
        with open(self.folder / "one-bags.csv", newline="") as file:
            bags = list(csv.DictReader(file))
        self.assertEqual([int(b["bag"]) for b in bags], list(range(1, len(bags) + 1)))
        self.assertIn(f"{len(bags)} rows, 0 of them with a mass", self.program("check", "one-bags.csv")[0])
        self.assertIn("exists already", self.refused(3, "trial", self.PLAN, *self.FEW, "-o", "one"))

    def test_is_told_from_scenarios_and_fits(self):
        self.assertIn("4 kinds of bags", self.program("check", self.PLAN)[0])
        self.assertIn("use `stoverturn trial`", self.refused(1, "run", self.PLAN))
        self.assertIn("use `stoverturn trial`", self.refused(1, "fit", self.PLAN))


def accept():
    EXPECTED.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        table = subprocess.run([PROGRAM, "run", DEMO, "--quiet"], cwd=folder, check=True, capture_output=True).stdout
    page = subprocess.run([PROGRAM, "parameters"], check=True, capture_output=True).stdout
    for path, content in (EXPECTED / "hollow-creek.txt", table), (ROOT / "docs" / "parameters.md", page):
        path.write_bytes(content)
        print(f"wrote {path}")


if __name__ == "__main__":
    if len(sys.argv) < 2 or sys.argv[1].startswith("-"):
        sys.exit(__doc__)
    PROGRAM = os.path.abspath(sys.argv.pop(1))
    if "--accept" in sys.argv:
        accept()
    else:
        unittest.main()
