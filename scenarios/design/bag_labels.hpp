#pragma once
#include <chrono>
#include <string>
#include <vector>

#include "scenarios/design/design_model.hpp"

namespace stoverturn {

struct BagLabel {
  int number = 0;  ///< from 1, in the order of placing
  std::string treatment, component, placement;
  int replicate = 0, day = 0;  ///< day after laying out; 0: handling
  std::chrono::sys_days date;
};

/// Every bag once. Numbers run through the replicates one after another (each may be a block); within a
/// replicate treatments, places and pulls are in random order by seed, so that nothing goes with where a bag
/// lies. Handling bags are shared out over the replicates from the first on.
std::vector<BagLabel> bag_labels(const DesignPlan& plan, const DesignModel& model,
                                 const std::vector<int>& days, int replicates);

/// The sheet: labels, and columns to be filled in. `stoverturn fit` reads it as it is.
std::string label_sheet(const std::vector<BagLabel>& labels);

}  // namespace stoverturn
