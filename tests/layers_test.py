#!/usr/bin/env python3
"""layers_test.py ROOT: engine <- fitting <- scenarios, and what may not be used where."""
import pathlib
import re
import sys

root = pathlib.Path(sys.argv[1])
faults = []


def sources(folder):
    return [f for f in sorted((root / folder).rglob("*")) if f.suffix in (".cpp", ".hpp")]


def refuse(folder, pattern, why, without=()):
    for f in sources(folder):
        if any(part in f.relative_to(root).parts for part in without):
            continue
        for number, line in enumerate(f.read_text().splitlines(), 1):
            if re.search(pattern, line):
                faults.append(f"{f.relative_to(root)}:{number}: {why}: {line.strip()}")


refuse("engine", r'#include "(fitting|scenarios)/', "the engine knows nothing above it")
refuse("fitting", r'#include "scenarios/', "fitting knows nothing above it")
for folder in ("engine", "fitting"):
    refuse(folder, r"#include <(fstream|iostream|filesystem|hdf5|toml|fmt|CLI|thread|udunits2)", "no files, text or threads here")
    refuse(folder, r"\b(std::)?(printf|getenv|fopen)\b", "no input or output here")
refuse("fitting", r"#include <(oneapi/)?tbb", "threads stand apart", ("on_threads.cpp",))
core_free = ("files", "program", "make_unit_factors.cpp")
refuse("scenarios", r"#include <(fstream|filesystem|hdf5|thread|atomic|udunits2|unistd|CLI)", "the core must compile to WebAssembly", core_free)
refuse("scenarios", r'#include "scenarios/(files|program)/', "the core knows nothing above it", core_free)
for folder in ("engine", "fitting", "scenarios"):
    refuse(folder, r"#include <(ranges|format|random)>", "differs between platforms or is missing")
    refuse(folder, r"std::(from_chars|stod|strtod|atof)\b", "numbers are read with fast_float", ("make_unit_factors.cpp",))


# Two types of one name in one namespace are one to the linker: it keeps one destructor for both.
defined = {}
for f in (f for folder in ("engine", "fitting", "scenarios") for f in sources(folder)):
    unnamed = False
    for line in f.read_text().splitlines():
        if line.startswith(("namespace {", "}  // namespace")):
            unnamed = line == "namespace {"
        found = re.match(r"(?:struct|class|union|enum class) (\w+) [^;]*\{", line)
        if found and not unnamed:
            defined.setdefault(found.group(1), set()).add(str(f.relative_to(root)))
faults += [f"{name} is defined in {' and '.join(sorted(files))}; rename one" for name, files in defined.items() if len(files) > 1]

print("\n".join(faults) or "layers are in order")
sys.exit(bool(faults))
