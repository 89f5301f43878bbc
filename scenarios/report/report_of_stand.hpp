#pragma once
#include <string_view>

#include "scenarios/report/report.hpp"
#include "scenarios/results/tidy_table.hpp"

namespace stoverturn {

/// The page of stand counts, from the file of `stand`, in units "si" or "us": is a difference real, and what
/// is it worth. What is not in the file is left out.
Report report_of_stand(const TidyFile& file, std::string_view units);

}  // namespace stoverturn
