#pragma once
#include "scenarios/page/live_engine.hpp"
#include "scenarios/plan/scenario.hpp"
#include "scenarios/results/results.hpp"

namespace stoverturn {

/// What a run's answer holds beside notes and warnings. Cohorts and series are of the first run alone.
struct LiveWanted {
  bool charts = true, numbers = true;
  bool cohorts = true;  ///< what the drawing of stalks shows
  bool series = false;  ///< every value of every series that does not run over cohorts, unrounded
};
LiveWanted live_wanted(const Json& request);

/// A run that is done.
struct LiveRun {
  Results results;    ///< `units` are those in which it was shown last
  std::string units;  ///< of the scenario
  std::vector<std::string> warnings;
  std::vector<std::string> cut;  ///< by treatment: its first component that is cut; "": none
  std::size_t draws = 0;
};

/// By treatment of a scenario, for LiveRun::cut.
std::vector<std::string> cut_components(const Scenario& scenario);

/// Leaves one treatment of a run.
void keep_treatment(LiveRun& run, std::size_t treatment);

/// At least one run; treatments are told apart by their labels.
Json live_answer(const std::vector<LiveRun*>& runs, const LiveWanted& wanted);

}  // namespace stoverturn
