#pragma once
#include "scenarios/trial/trial_numbers.hpp"

namespace stoverturn {

/// Why a bag should be looked at. It is kept all the same.
enum class Oddity {
  off_its_group,    ///< beyond 3.5 robust deviations of the others pulled with it
  above_all,        ///< more than was put in, beyond 3.5 robust deviations or on any day after the first
  gain_after_loss,  ///< heavier than the bags pulled before, beyond 3.5 robust deviations
  odd_content,      ///< N content off that of bags pulled with it, likewise on a log scale
};

struct OddBag {
  std::size_t row = 0;  ///< of the data
  int line = 0;
  Oddity why = Oddity::off_its_group;
  Measure measure = Measure::mass;
  double value = 0.0;       ///< a share; of odd_content g per g
  double reference = 0.0;   ///< median of what it is held against, or 1
  double deviations = 0.0;  ///< robust ones that it is away; NaN where there is no measure of them
};

/// The limit of Iglewicz and Hoaglin 1993, How to detect and handle outliers (from memory), for values over
/// the median absolute deviation / 0.6745. A bag is held against the median of the others of its group
/// (treatment, placement, component, day; at least two others), and such differences of all groups together
/// give the deviation, so that groups of four need not give one of their own. By line, each reason once.
std::vector<OddBag> odd_bags(const TrialData& data, const std::vector<TrialNumber>& numbers);

/// "holds 112 % of what was put in", ...
std::string why_odd(const OddBag& bag);

double median(std::vector<double> values);

}  // namespace stoverturn
