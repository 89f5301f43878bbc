#pragma once
#include "scenarios/results/results.hpp"

namespace stoverturn {

enum class ResultsKind { run, ensemble, timing, planting };

/// What made the results, by what they hold.
ResultsKind kind_of_results(const Results& results);

}  // namespace stoverturn
