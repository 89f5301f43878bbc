#pragma once
#include "scenarios/report/report.hpp"
#include "scenarios/results/results.hpp"

namespace stoverturn {

/// The results of `planting` in their units: cover, pieces, the seedbed against bare soil, N tied up by
/// growth stage, build-up over the years. What the results lack is left out.
Report report_of_planting(const Results& results);

}  // namespace stoverturn
