#pragma once
#include "scenarios/design/design_report.hpp"
#include "scenarios/results/tidy_table.hpp"

namespace stoverturn {

/// For HDF5, CSV and JSON: `parameters`, `choices`, `power`, `pulls` (docs/file-formats.md, Plan of a trial).
std::vector<TidyTable> design_tables(const DesignReport& report);

}  // namespace stoverturn
