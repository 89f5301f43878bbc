#pragma once
#include <string_view>

#include "fitting/trial_model.hpp"
#include "scenarios/results/run_scenario.hpp"

namespace stoverturn {

/// What follows the name of a variable in those of its band.
inline constexpr std::string_view band_low = "_low", band_middle = "_median", band_high = "_high";

/// Names of a key number's or series' band are its own with these after it; "" where it is none.
bool is_of_band(std::string_view name);

/// As run_scenario(); where the scenario has draws, it is also run with each, and every series that does not
/// run over cohorts gets a band, NAME_low and NAME_high, every key number NAME_low, NAME_median and
/// NAME_high: pointwise quantiles of the draws at Scenario::draws->level (type 7 of Hyndman and Fan 1996). A
/// value that is not reached in a draw counts as above all others. Draws that cannot be run are left out and
/// counted in a note. The same numbers for any `for_each`.
Results run_with_bands(const Scenario& scenario, const Climates& climates, std::vector<KeptText> texts,
                       const RunProgress& progress = {}, const ForEach& for_each = one_after_the_other);

}  // namespace stoverturn
