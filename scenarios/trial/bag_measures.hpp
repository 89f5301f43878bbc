#pragma once
#include <functional>

#include "fitting/trial_model.hpp"
#include "scenarios/trial/fit_plan.hpp"

namespace stoverturn {

/// One number that a row of trial data gives, ready to be compared with the model.
struct BagMeasure {
  std::size_t row = 0;  ///< index into TrialData::rows
  Measure measure = Measure::mass;
  double days = 0.0;  ///< since the bags were laid out
  double value = 0.0;
  double sd = not_weighed;
  int n = 1;
};

/// Something about a row that its owner should look at. Nothing is left out for it.
struct BagDoubt {
  int line = 0;
  std::string what;
};

struct BagMeasures {
  std::vector<BagMeasure> measures;  ///< in the order of the rows
  std::vector<BagDoubt> doubts;
  std::vector<std::string> notes;  ///< what was done: ash, start, initial contents
};

/// What the rows of one treatment are counted from.
struct BagReference {
  std::chrono::sys_days laid_out;
  /// Content of what was put in, g g-1, by trial field (nitrogen ...), of a component ("" for all), where the
  /// trial did not measure it on day 0.
  std::function<double(std::size_t field, const std::string& component)> initial_content;
};

/// From bags as weighed to shares of what was put in.
///  - mass: ash is left alone, taken off (ash-free), or used to take off the soil that came along:
///    soil = m (a - a0) / (as - a0), with a the ash content of the bag, a0 of what was put in, as of the
///    soil;
///  - nitrogen and other contents: content times mass over what was put in, by the day-0 bags of the same
///    treatment, component and placement where there are any, else by the scenario's composition;
///  - start = day_0: shares are divided by the mean of the day-0 bags.
/// Doubts: above 100 %, gaining mass after loss, apart from their fellow bags by more than 3.5 robust
/// standard deviations, negative after the ash correction. Throws InputError where the ash correction lacks a
/// number.
BagMeasures bag_measures(const TrialData& data, const BagsPlan& bags,
                         const std::function<BagReference(const std::string& treatment)>& reference);

}  // namespace stoverturn
