#pragma once
#include "scenarios/report/report.hpp"
#include "scenarios/results/results.hpp"

namespace stoverturn {

/// What a page says of one run of the model, in `results.units`: residue left, N, P, K, S, cover, what drives
/// it, values year by year; a handout by growth stage.
Report report_of_run(const Results& results);

/// Several runs against each other: courses in the same charts, key numbers side by side with the first.
struct NamedRun {
  std::string name;  ///< of its file
  const Results* results;
};
Report report_of_comparison(const std::vector<NamedRun>& runs);

}  // namespace stoverturn
