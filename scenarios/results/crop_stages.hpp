#pragma once
#include "scenarios/plan/scenario_jobs.hpp"
#include "scenarios/results/results.hpp"

namespace stoverturn {

/// Adds the stages that the following crops reach, season by season ("V6 1"), and the key numbers at each:
/// the day, N released and taken up since planting, mineral N there. Needs the series. Adds nothing where no
/// treatment has [next_crop].
void add_crop_stages(const Scenario& scenario, const std::vector<TreatmentJob>& jobs, Results& results);

}  // namespace stoverturn
