#pragma once
#include <optional>
#include <string>
#include <vector>

#include "scenarios/plan/lab_contents.hpp"
#include "scenarios/plan/materials.hpp"
#include "scenarios/text/table_reader.hpp"

namespace stoverturn {

/// What a table says of a component's parameters.
struct Composition {
  std::optional<LabSheet> lab;
  std::vector<LabContent> given;  ///< its own keys: these go before the lab sheet
};

/// Reads the keys `lab`, `lab_sheet`, `sample` and every parameter of scope component. Results in `lab` go
/// before those of the file `lab_sheet`, which is found from `folder` ("" or ending in a slash). The file's
/// sample is that called `sample`, else one of `names`, else the only one when the file names none.
Composition read_composition(TableReader& in, const std::string& what, const std::vector<std::string>& names,
                             const std::string& folder, const TextOf& text_of, Mistakes& mistakes);

}  // namespace stoverturn
