#pragma once
#include <string>

#include "scenarios/trial/bag_measures.hpp"

namespace stoverturn {

/// Bags of one treatment, component, placement and pull.
struct PullSummary {
  std::string treatment, component, placement;
  Measure measure = Measure::mass;
  double days = 0.0;
  int n = 0;
  double mean = 0.0, sd = not_weighed;              ///< sd between bags; NaN for one bag
  double lower = not_weighed, upper = not_weighed;  ///< of the mean, by t
};

/// One treatment less another at one pull, by Welch's t for unequal variances.
struct PullDifference {
  std::string treatment, other, component, placement;
  Measure measure = Measure::mass;
  double days = 0.0;
  double difference = 0.0, lower = 0.0, upper = 0.0;
};

/// What the bags say before any model.
struct TrialLook {
  double level = 0.9;
  std::vector<PullSummary> pulls;
  std::vector<PullDifference> differences;
};

TrialLook look_at(const TrialData& data, const BagMeasures& bags, double level);

/// Mean and interval of each pull, differences between treatments, doubts and notes, as text.
std::string printed_look(const TrialLook& look, const TrialData& data, const BagMeasures& bags);

std::string_view to_string(Measure measure);

}  // namespace stoverturn
