#pragma once
#include "scenarios/results/tidy_table.hpp"
#include "scenarios/stand/stand_report.hpp"

namespace stoverturn {

/// The report for CSV, HDF5 and JSON: `rates`, `differences`, `effects`, `models` (docs/file-formats.md,
/// Stand counts).
std::vector<TidyTable> stand_tables(const StandReport& report);

std::string_view to_string(StandEffectBy by);

}  // namespace stoverturn
