#pragma once
#include "scenarios/design/design_report.hpp"
#include "scenarios/results/tidy_table.hpp"

namespace stoverturn {

/// For HDF5, CSV and JSON: `parameters`, `choices`, `power`, `pulls`, `curves`, `sizes`, `bag_powers`,
/// `bags`, `plan` (docs/file-formats.md, Plan of a trial).
std::vector<TidyTable> design_tables(const DesignReport& report);

/// The report again, from a file of these tables. Scores, bounds and priors are not kept.
DesignReport design_of_tables(const TidyFile& file);

}  // namespace stoverturn
