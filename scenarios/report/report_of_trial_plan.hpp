#pragma once
#include <string_view>

#include "scenarios/report/report.hpp"
#include "scenarios/results/tidy_table.hpp"

namespace stoverturn {

/// The page of a trial's plan, from the file of `trial`, in units "si" or "us": when to pull how many bags,
/// why, and what they will tell. What is not in the file is left out. Throws DateError for a date that is
/// none.
Report report_of_trial_plan(const TidyFile& file, std::string_view units);

}  // namespace stoverturn
