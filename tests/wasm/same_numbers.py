#!/usr/bin/env python3
"""same_numbers.py NATIVE.json WASM.json: key numbers agree to 1e-9 of each key number's largest value.

The machines share IEEE arithmetic but not the mathematical library (exp, pow), whose last digits differ."""
import json
import sys

native, wasm = (json.load(open(name)) for name in sys.argv[1:3])


def flat(values):
    return [y for x in values for y in flat(x)] if isinstance(values, list) else [values]


compared = 0
for name, key in native["key_numbers"].items():
    a, b = flat(key["values"]), flat(wasm["key_numbers"][name]["values"])
    assert len(a) == len(b), name
    largest = max([abs(x) for x in a if x is not None], default=0.0)
    if name == "balance_error":  # rounding itself
        continue
    for x, y in zip(a, b):
        assert (x is None) == (y is None), (name, x, y)
        if x is not None:
            assert abs(x - y) <= 1e-9 * largest, (name, x, y)
            compared += 1
assert compared > 100
print(f"WebAssembly and native agree in {compared} key numbers")
