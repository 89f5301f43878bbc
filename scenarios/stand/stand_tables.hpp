#pragma once
#include "scenarios/results/tidy_table.hpp"
#include "scenarios/stand/stand_report.hpp"

namespace stoverturn {

/// The report for CSV, HDF5 and JSON: `rates`, `differences`, `effects`, `models`, `plots`, `treatments`,
/// `settings` (docs/file-formats.md, Stand counts).
std::vector<TidyTable> stand_tables(const StandReport& report);

/// The report again, from a file of these tables. Areas are not kept.
StandReport stand_of_tables(const TidyFile& file);

std::string_view to_string(StandEffectBy by);

}  // namespace stoverturn
