#pragma once
#include "scenarios/page/live_engine.hpp"
#include "scenarios/results/results.hpp"

namespace stoverturn {

/// What a run's answer holds beside notes and warnings.
struct LiveWanted {
  bool charts = true, numbers = true;
  bool series = false;  ///< every value of every series that does not run over cohorts, unrounded
};
LiveWanted live_wanted(const Json& request);

Json live_answer(const Results& results, const std::vector<std::string>& warnings, const LiveWanted& wanted);

}  // namespace stoverturn
