#!/usr/bin/python3
"""Opens files of results and fits with programs that know nothing of stoverturn.

    check_result_file.py FILE.h5 ...

Each file is read through netCDF (ncdump, xarray) and through HDF5 (h5py), and must mean the same: labels,
dimensions, units, dates. Wants the Debian packages netcdf-bin python3-xarray python3-netcdf4 python3-h5py;
python3-h5netcdf is used where it is there.
"""

import importlib.util
import subprocess
import sys

import h5py
import numpy
import xarray

LABELS = ["treatment", "component", "placement", "element", "harvest", "checkpoint"]
COHORT_COORDINATES = ["cohort_component", "cohort_pieces", "cohort_placement", "cohort_harvest"]
DIMENSIONS = LABELS + ["stage", "cohort", "time", "weather_time", "note"]
ROLES = {"series", "key number", "weather"}
# Canonical units of the kinds; CF wants them in UDUNITS spelling, of which `currency` is none.
UNITS = {"1", "g g-1", "g", "g m-2", "g m-2 d-1", "mm", "mm-1", "mm d-1", "degC", "K", "d", "d-1", "L m-2",
         "g cm-3", "m s-1", "MJ m-2 d-1", "MPa", "degree", "currency", "currency g-1", "currency m-2"}


def check(condition, message):
    if not condition:
        raise AssertionError(message)


def check_days(times, name):
    """Dates decoded by xarray: midnights, one a day."""
    check(times.dtype == "datetime64[ns]", f"{name} did not decode to dates but to {times.dtype}")
    check((times == times.astype("datetime64[D]")).all(), f"{name} holds hours")
    check((numpy.diff(times) == numpy.timedelta64(1, "D")).all(), f"{name} is not daily")


def check_header(path, labels):
    """ncdump takes the file for netCDF-4 with named dimensions."""
    header = subprocess.run(["ncdump", "-h", path], check=True, capture_output=True, text=True).stdout
    for name in labels:
        check(f"string {name}({name}) ;" in header, f"ncdump shows no labels of {name}")
    check("cohort = " in header or labels is not LABELS, "ncdump shows no cohorts")
    check('time:units = "days since ' in header, "ncdump shows no units of time")
    check("phony_dim" not in header, "ncdump had to invent a dimension")
    subprocess.run(["ncdump", path], check=True, stdout=subprocess.DEVNULL)  # all values can be read
    kind = subprocess.run(["ncdump", "-k", path], check=True, capture_output=True, text=True).stdout
    check(kind.strip() == "netCDF-4", f"ncdump takes the file for {kind}")


def check_dataset(path, engine):
    with xarray.open_dataset(path, engine=engine) as data, h5py.File(path) as raw:
        check(data.attrs["Conventions"] == "CF-1.10", "no CF conventions")
        check(data.attrs["source"].startswith("stoverturn "), "no source")
        for name in LABELS:
            labels = data[name].values
            check(all(isinstance(label, str) for label in labels), f"labels of {name} are no text")
            check([s.decode() for s in raw[name][()]] == list(labels), f"labels of {name} differ")
        for name in COHORT_COORDINATES:
            check(data[name].dims == ("cohort",), f"{name} does not run over cohort")
        check_days(data["time"].values, "time")
        with_weather = "weather_time" in data.dims
        if with_weather:
            check_days(data["weather_time"].values, "weather_time")

        roles = set()
        for name, variable in data.data_vars.items():
            attributes = {**variable.attrs, **variable.encoding}
            check(attributes.get("role") in ROLES, f"{name} has no role")
            roles.add(attributes["role"])
            check(attributes.get("units") in UNITS, f"{name} has units {attributes.get('units')}")
            check(attributes.get("kind"), f"{name} has no kind")
            check(variable.attrs.get("long_name"), f"{name} has no meaning")
            check(set(variable.dims) <= set(DIMENSIONS), f"{name} runs over {variable.dims}")
            check(variable.dtype == numpy.float64, f"{name} is {variable.dtype}")
            check(numpy.isnan(attributes["_FillValue"]), f"{name} has another fill value")
            scales = tuple(axis[0].name.strip("/") if len(axis) else "" for axis in raw[name].dims)
            check(scales == variable.dims, f"{name} has scales {scales}, netCDF sees {variable.dims}")
            numpy.testing.assert_array_equal(variable.values, raw[name][()], err_msg=name)
            if attributes["role"] == "series":
                check("time" in variable.dims, f"series {name} has no time")
            if attributes["role"] == "weather":
                check(variable.dims == ("weather_time",), f"{name} runs over {variable.dims}")
                check("weather_latitude" in variable.coords, f"{name} does not know its latitude")
            if "cohort" in variable.dims:
                check(set(COHORT_COORDINATES) <= set(variable.coords), f"{name} does not know its cohorts")
        check(roles == (ROLES if with_weather else ROLES - {"weather"}), f"roles are {roles}")

        # Selecting by label and date, as a reader would.
        for name, variable in data.data_vars.items():
            if variable.dims[:1] == ("treatment",) and "time" in variable.dims:
                chosen = variable.sel(treatment=data.treatment.values[0], time=data.time.values[-1])
                numpy.testing.assert_array_equal(chosen.values, raw[name][0, ..., -1])

        stored_texts = {t.attrs["name"]: t[()].decode() for t in raw["texts"].values()}
        texts = xarray.open_dataset(path, group="texts", engine=engine)
        read_texts = {t.attrs["name"]: str(t.values) for t in texts.data_vars.values()}
        texts.close()

        def plain(texts_by_name):
            return {n.decode() if isinstance(n, bytes) else str(n): t for n, t in texts_by_name.items()}

        check(plain(read_texts) == plain(stored_texts), "texts differ")
        return len(data.data_vars), dict(data.sizes)


def check_order(path):
    """netCDF can append only where the creation order of links and attributes is kept."""
    with h5py.File(path) as raw:
        order = h5py.h5p.CRT_ORDER_TRACKED | h5py.h5p.CRT_ORDER_INDEXED
        check(raw["/"].id.get_create_plist().get_link_creation_order() == order, "links of / have no order")
        check(raw["texts"].id.get_create_plist().get_link_creation_order() == order, "texts have no order")
        for name, item in raw.items():
            check(item.id.get_create_plist().get_attr_creation_order() == order, f"{name} has no order")


FIT_LISTS = ["unknown", "target", "search", "derived", "quality", "model", "residual", "curve", "profile"]


def check_fit(path, engine):
    """A fit, as a reader meets it who knows no more than docs/file-formats.md."""
    with xarray.open_dataset(path, engine=engine) as data, h5py.File(path) as raw:
        check(data.attrs["Conventions"] == "CF-1.10", "no CF conventions")
        check(data.attrs["source"].startswith("stoverturn "), "no source")
        check(0 < float(data.attrs["level"]) < 1, "no level")
        check(int(data.attrs["number_of_draws"]) == data.sizes.get("draw", 0), "number of draws")
        check_days(data["time"].values, "time")
        check(data["time"].values[0] == numpy.datetime64(data.attrs["first_day"]), "time starts on another day")
        for name, variable in data.data_vars.items():
            check(variable.attrs.get("long_name"), f"{name} has no meaning")
            scales = tuple(axis[0].name.strip("/") if len(axis) else "" for axis in raw[name].dims)
            check(scales == variable.dims, f"{name} has scales {scales}, netCDF sees {variable.dims}")
            if variable.dtype == numpy.float64:
                numpy.testing.assert_array_equal(variable.values, raw[name][()], err_msg=name)
            if name.split("_")[0] in FIT_LISTS:
                check(variable.dims[0] == name.split("_")[0], f"{name} runs over {variable.dims}")
        k = data.sel(unknown="k_hol")
        check(float(k.unknown_bound_lower) < float(k.unknown_estimate) < float(k.unknown_bound_upper), "bounds")
        check(str(k.unknown_unit.values) == "1/d", "k_hol has no unit")
        check(k.draws.dims == ("draw",) and bool(numpy.isfinite(k.draws).all()), "draws")
        check(data.covariance.dims == ("unknown", "other_unknown"), "covariance")
        numpy.testing.assert_array_equal(data.covariance.values, data.covariance.values.T)
        first = data.isel(curve=0)
        band = (first.curve_lower <= first.curve_estimate) & (first.curve_estimate <= first.curve_upper)
        check(bool(band.all()), "the first curve leaves its band")
        short = int(data.curve_estimate_length[1])
        check(bool(numpy.isnan(data.curve_estimate[1, short:]).all()), "beyond a curve's end there is something")
        with xarray.open_dataset(path, group="texts", engine=engine) as texts:
            check("fit" in texts.data_vars, "no text of the fit file")
        return len(data.data_vars), dict(data.sizes)


def is_fit(path):
    with h5py.File(path) as raw:
        return "stoverturn_fit_format" in raw.attrs


def main(paths):
    engines = ["netcdf4"] + ["h5netcdf"] * (importlib.util.find_spec("h5netcdf") is not None)
    for path in paths:
        fit = is_fit(path)
        check_header(path, ["unknown", "treatment"] if fit else LABELS)
        check_order(path)
        for engine in engines:
            count, sizes = (check_fit if fit else check_dataset)(path, engine)
        print(f"{path}: {count} variables over {sizes}, read by ncdump, h5py, {', '.join(engines)}")


if __name__ == "__main__":
    if len(sys.argv) < 2:
        sys.exit(__doc__)
    main(sys.argv[1:])
