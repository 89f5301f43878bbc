#pragma once
#include "scenarios/report/report.hpp"
#include "scenarios/results/results.hpp"

namespace stoverturn {

/// The results of `ensemble` in their units: the kept numbers by treatment and site with their spread,
/// courses, a map where sites have coordinates, each weather on its own where single runs are kept.
Report report_of_ensemble(const Results& results);

}  // namespace stoverturn
