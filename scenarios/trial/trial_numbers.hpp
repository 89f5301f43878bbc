#pragma once
#include "scenarios/trial/fit_problem.hpp"

namespace stoverturn {

/// A number of the trial as the model sees it: docs/file-formats.md, What is measured.
struct TrialNumber {
  std::size_t row = 0;        ///< of the data
  std::size_t treatment = 0;  ///< of the scenario
  int component = -1, placement = -1;
  int day = 0;   ///< of the run
  int pull = 0;  ///< days since the bags were laid out
  Measure measure = Measure::mass;
  double value = 0.0, sd = not_weighed;
  int n = 1;
  bool sets_start = false;  ///< of a bag of day 0 that the others are held against: says nothing more
};

/// What was lost between laying out and lifting again on day 0, share of what was put in.
struct HandlingLoss {
  std::size_t treatment = 0;
  int component = -1, placement = -1;
  int n = 0;
  double loss = 0.0, sd = not_weighed;
};

struct TrialNumbers {
  std::vector<TrialNumber> numbers;
  std::vector<HandlingLoss> handling;  ///< of bags of day 0, whether they set the start or not
  std::vector<std::string> warnings;
};

/// Shares, in the order of the rows:
///   mass left  m / m0, or as given; with ash_free (m (1 - a)) / (m0 (1 - a0)); over that of the bags of day
///   0
///              where they set the start
///   X left     as given, or (m c) / (m0 c0), whole mass; c0 from the scenario's components by the mass that
///              the first harvest lays in the placement, or c of the bags of day 0 by component
/// Adds a mistake for treatments, components and placements that the first harvest does not lay out, bags
/// before it or after the run, missing ash, missing bags of day 0.
TrialNumbers trial_numbers(const LoadedTrial& trial, Mistakes& mistakes);

/// "standing", "surface", "buried"; "" for -1.
std::string_view placement_name(int placement);

/// "lines 4, 17 and 30", "line 4", "lines 1, 2, 3 and 40 more".
std::string lines_text(std::vector<int> lines);

/// Of a treatment, with what a bag holds and where: "opened, buried", "opened, cob, surface".
std::string place_text(const std::string& treatment, const std::string& component, int placement);

}  // namespace stoverturn
