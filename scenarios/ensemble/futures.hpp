#pragma once
#include "scenarios/plan/scenario_jobs.hpp"

namespace stoverturn {

/// One of the weathers that a run may meet.
struct Future {
  std::string name;        ///< "1998", the year in which it begins; "seed 3" of generated or drawn weather
  int years_on = 0;        ///< its days are those of the record so many years on
  std::uint64_t seed = 0;  ///< of generated weather, and of years beyond the record
};

/// The futures of a scenario in the climates it was read with, as its [ensemble] asks. Of a record, each year
/// in which the run's first day and a whole year after it lie; after its last day the record begins anew (or
/// as `resample` says). One where no treatment meets weather. Throws InputError for years that are not there.
std::vector<Future> futures_of(const Scenario& scenario, const Climates& climates);

/// The climates of a future, under the dates of the scenario.
Climates climates_in(const Scenario& scenario, const Climates& climates, const Future& future);

}  // namespace stoverturn
