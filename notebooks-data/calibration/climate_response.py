#!/usr/bin/env python3
"""Which climate response of the model orders the sites best? A test of the response alone, without pools.

    climate_response.py FOLDER [--program stoverturn] [--data ../shared/data] [--curves FILE]

The model's days at 25 C and best moisture (Eq. 18 to 22 of docs/model.md) are summed at each site and take the place of days in
exp(-(k x)^shape), shared by all sites. Each site in turn is left out of the fit and predicted. Much cheaper than
cross_validate.py, so many settings can be tried; FOLDER/responses.csv has them all. Python's standard library alone.
"""
import argparse
import itertools
import math
import pathlib

import cross_validate as cv
import make_oak

DRYING = (0.03, 0.06, 0.12, 0.24, 0.5)  # residue_drying, each a run of every site
CONTACT = (0.0, 0.05, 0.17, 0.5, 1.0)
FROST_C = -2.0
WET_OPTIMUM, WET_FLOOR = 0.6, 0.4


def yan_hunt(t):
    return (45 - t) / 10 * ((t + 5) / 40) ** 4 if -5 < t < 45 else 0.0


def lloyd_taylor(t):
    return math.exp(308.56 * (1 / 71.02 - 1 / (max(-40.0, min(t, 35.0)) + 46.02)))


TEMPERATURE = {  # Eq. 18, and two that bracket them: none at all, and degree days above 0 C
    "lloyd_taylor": lloyd_taylor,
    "q10 of 1.5": lambda t: 1.5 ** ((t - 25) / 10),
    "q10 of 2": lambda t: 2.0 ** ((t - 25) / 10),
    "q10 of 3": lambda t: 3.0 ** ((t - 25) / 10),
    "yan_hunt": lambda t: yan_hunt(t) / yan_hunt(25.0),
    "linear above 0 C": lambda t: max(0.0, t) / 25,
    "none": lambda t: 1.0,
}


def frost(t):
    """Eq. 19."""
    return min(1.0, max(0.0, 1 - t / FROST_C))


def pore_space(w):
    """Eq. 20."""
    return w / WET_OPTIMUM if w < WET_OPTIMUM else 1 - (1 - WET_FLOOR) * (w - WET_OPTIMUM) / (1 - WET_OPTIMUM)


def passed_on(series, temperature, contact, moist=True):
    """Sum of f_T f_W f_frost of residue on the surface (Eq. 22) by day; without `moist` f_W is 1."""
    total, sums = 0.0, [0.0]
    for t, own, soil in zip(series["surface temperature"], series["wetness"], series["pore space"]):
        wet = (1 - contact) * own + contact * pore_space(soil) if moist else 1.0
        total += TEMPERATURE[temperature](t) * frost(t) * wet
        sums.append(total)
    return sums


def left_out(sites, clock, shapes):
    """Errors at each site from a curve over `clock` fitted to all others: (site, error, spread of the training errors)."""
    found = []
    for out in sites:
        x, y, n = zip(*((clock[s["key"]][p[0]], float(p[1]) / 100, p[5]) for s in sites if s is not out for p in s["points"]))
        k, shape = cv.fit_curve(x, y, n, shapes)
        sd = cv.spread([cv.decay_curve(a, k, shape) - b for a, b in zip(x, y)], 2 if len(shapes) > 1 else 1)
        for p in out["points"]:
            found.append((out["key"], cv.decay_curve(clock[out["key"]][p[0]], k, shape) - float(p[1]) / 100, sd))
    return found


def score(sites, found):
    """RMSE of points and of the means of sites, bias, coverage, and slopes of the means on MAT and on MAP with their r2."""
    errors = [e for _, e, _ in found]
    means = {s["key"]: cv.bias([e for key, e, _ in found if key == s["key"]]) for s in sites}
    slopes = [cv.slope(x, y)[0:3:2] for x, y in (
        ([s["mat"] for s in sites], [means[s["key"]] for s in sites]),
        ([s["map"] / 1000 for s in sites], [means[s["key"]] for s in sites]))]
    return cv.rmse(errors), cv.rmse(list(means.values())), cv.bias(errors), cv.coverage(errors, [s for *_, s in found]), slopes


def line(what, shape, result):
    points, of_sites, mean, cover, ((mat, mat_r2), (rain, rain_r2)) = result
    return (*what, shape, *(f"{100 * v:.1f}" for v in (points, of_sites, mean)), f"{100 * cover:.0f}",
            f"{100 * mat:+.2f}", f"{mat_r2:.2f}", f"{100 * rain:+.1f}", f"{rain_r2:.2f}")


def main():
    arguments = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    arguments.add_argument("folder", type=pathlib.Path)
    arguments.add_argument("--program", default="stoverturn")
    arguments.add_argument("--data", type=pathlib.Path, default=make_oak.DATA)
    arguments.add_argument("--curves", type=pathlib.Path)
    given = arguments.parse_args()
    lines = []
    weibull = (0.6, 0.8, 1.0001, 1.2, 1.4)
    default, errors = ("lloyd_taylor", 0.24, 0.17), {}

    def tell(what, sites, clock, shapes=(1.0,)):
        found = left_out(sites, clock, shapes)
        lines.append(line(what, "exponential" if shapes == (1.0,) else "Weibull", score(sites, found)))
        errors[lines[-1][:4]] = {s["key"]: [e for key, e, _ in found if key == s["key"]] for s in sites}

    for drying in DRYING:
        sites = make_oak.make(given.folder, given.data, given.curves, cv.settings({"residue_drying": drying}))
        series = {s["key"]: cv.daily(given.program, given.folder, s["key"]) for s in sites}
        if drying == DRYING[0]:
            for name, shapes in itertools.product(("days", "degree days"), ((1.0,), weibull)):
                tell((name, "", ""), sites, {k: cv.clocks(v)[name] for k, v in series.items()}, shapes)
            for temperature in TEMPERATURE:
                clock = {k: passed_on(v, temperature, 0, moist=False) for k, v in series.items()}
                tell((temperature, "always wet", ""), sites, clock)
        for temperature, contact in itertools.product(TEMPERATURE, CONTACT):
            tell((temperature, drying, contact), sites, {k: passed_on(v, temperature, contact) for k, v in series.items()})
    base = errors[(*default, "exponential")]
    lines = [(*row, *(f"{100 * d:+.1f}" for d in cv.difference(errors[row[:4]], base, draws=400))) for row in lines]
    cv.write(given.folder / "responses.csv",
             ("temperature", "residue_drying", "contact", "curve", "rmse [points]", "rmse of site means", "bias [points]",
              "in 90 % band [%]", "error on MAT [points/C]", "r2", "error on MAP [points/m]", "r2",
              "rmse less that of the default, 5 %", "as it is", "95 %"), lines)
    for row in sorted(lines, key=lambda r: float(r[4])):
        print(*(f"{v!s:>13}" for v in row))


if __name__ == "__main__":
    main()
