#!/usr/bin/env python3
"""ensemble_program_test.py PROGRAM: `stoverturn ensemble` as its users meet it: threads, ranks where the program was
built with MPI, resuming, tables that other tools read."""
import csv
import pathlib
import shutil
import subprocess
import sys
import tempfile

program = pathlib.Path(sys.argv[1]).resolve()
root = pathlib.Path(__file__).resolve().parent.parent
folder = pathlib.Path(tempfile.mkdtemp())
faults = []


def check(fine, what):
    if not fine:
        faults.append(what)


def run(*words, before=(), code=0):
    done = subprocess.run([*before, program, "ensemble", *words], capture_output=True, text=True, cwd=folder)
    check(done.returncode == code, f"{' '.join(map(str, words))}: exit {done.returncode}, wanted {code}: {done.stderr}")
    return done


def same_files(a, b):
    return all((folder / f"{a}{end}").read_bytes() == (folder / f"{b}{end}").read_bytes() for end in (".h5", ".csv"))


# 2,400 runs in a jar, three parts: quick, but more than one part and many draws
(folder / "jar.toml").write_text(
    'draws = 800\nduration = "20 d"\n[harvest]\ndate = 2026-10-20\nresidue = "9 t/ha"\n'
    '[conditions]\ntemperature = "20 degC"\n[component.stalk]\ncut_length = "6 in"\n'
    '[treatment.a]\n[treatment.b]\ncomponent.stalk.cut_length = "2 in"\n[treatment.c]\nsoil.nitrate = "60 lb/acre"\n'
    '[ensemble]\ndates = ["10 d"]\n')
one = run("jar.toml", "-o", "one", "--threads", "1", "--keep-parts")
check("2400 runs: 1 site x 3 treatments x 1 weather x 800 draws" in one.stderr, one.stderr)
run("jar.toml", "-o", "two", "--threads", "2")
check(same_files("one", "two"), "one and two threads differ")
check(not (folder / "two-parts").exists(), "parts are left behind")

# what was interrupted goes on, and is the same
parts = sorted((folder / "one-parts").iterdir())
check([p.name for p in parts] == ["part-000000.h5", "part-000001.h5", "part-000002.h5"], f"parts: {parts}")
shutil.copytree(folder / "one-parts", folder / "again-parts")
(folder / "again-parts" / "part-000001.h5").unlink()
refused = run("jar.toml", "-o", "again", code=3)
check("holds parts of an ensemble that was interrupted or kept; go on with it by --resume" in refused.stderr, refused.stderr)
resumed = run("jar.toml", "-o", "again", "--resume")
check("2 of 3 parts are there already" in resumed.stderr, resumed.stderr)
check(same_files("one", "again"), "a resumed ensemble differs")
other = run("jar.toml", "-o", "one", "--resume", "--overwrite", "--set", "k_hol=0.03", code=3)
check("is a part of another ensemble" in other.stderr, other.stderr)

# no file of a name that exists is replaced unasked
check("exists already" in run("jar.toml", "-o", "two", code=3).stderr, "an existing file was not refused")

# ranks
with_mpi = b"MPI_Init_thread" in program.read_bytes()
if with_mpi and shutil.which("mpirun"):
    ranks = ("mpirun", "--allow-run-as-root", "--oversubscribe", "-np", "2")
    run("jar.toml", "-o", "ranks", "--threads", "1", before=ranks)
    check(same_files("one", "ranks"), "two ranks differ from one process")
    failed = subprocess.run([*ranks, program, "ensemble", "none.toml"], capture_output=True, text=True, cwd=folder)
    check(failed.returncode != 0 and "none.toml: there is no such file" in failed.stderr, f"a failing rank: {failed.stderr}")
else:
    print("ranks: skipped, the program was built without MPI (-DSTOVERTURN_MPI=ON)")
    alone = subprocess.run([program, "ensemble", "jar.toml"], capture_output=True, text=True, cwd=folder,
                           env={"OMPI_COMM_WORLD_SIZE": "2"})
    check(alone.returncode == 4 and "built without MPI" in alone.stderr, f"mpirun without MPI: {alone.stderr}")

# an ensemble is no single run
for words in (["run", "one.h5", "-o", "x"], ["compare", "one.h5", "one.h5"]):
    done = subprocess.run([program, *words], capture_output=True, text=True, cwd=folder)
    check(done.returncode == 3 and "this file holds an ensemble, not one run" in done.stderr, f"{words}: {done.stderr}")

# four sites, as the tables and the file hold them
run(root / "scenarios/examples/four-sites.toml", "-o", "sites", "--set", "ensemble.weather_years=4")
rows = list(csv.DictReader(open(folder / "sites-sites.csv")))
check(len(rows) == 8 and rows[0]["site"] == "North field, lake side" and rows[0]["longitude"] == "-88.2", f"sites: {rows[:1]}")
try:
    import xarray
except ImportError:
    print("xarray: skipped, it is not installed")
else:
    with xarray.open_dataset(folder / "sites.h5") as data:
        middle = data["mass_left_at"].sel(site="River flat", checkpoint="year 1", quantile=0.5).values
        found = [100 * float(x) for x in middle]
        table = [float(r["year 1 mass_left_at [%]"]) for r in rows if r["site"] == "River flat"]
        check(all(abs(a - b) < 1e-6 for a, b in zip(found, table)), f"xarray {found}, table {table}")
        check(data["mass_left"].dims == ("site", "treatment", "quantile", "time"), f"dims {data['mass_left'].dims}")
        check(str(data["time"].values[1])[:10] == "2026-11-19", f"time {data['time'].values[:2]}")
        check(float(data["site_latitude"].sel(site="Middle bench")) == 42.0, "latitude of a site")
        check(data["mass_left_at_of_run"].sizes["weather_year"] == 4, "single runs")

shutil.rmtree(folder)
print("\n".join(faults) or "ensembles are as told")
sys.exit(bool(faults))
