#pragma once
#include "scenarios/design/design_report.hpp"

namespace stoverturn {

/// What the draws leave in bags of each kind on day 0 and on every day that bags may be pulled on; `pulls`
/// are marked.
std::vector<DesignPoint> design_curves(const DesignModel& model, const std::vector<int>& pulls);

/// For a difference in mass left, from 2 bags a treatment to well beyond what 80 % takes; at most 60 rows.
std::vector<BagPower> bag_powers(const DesignPlan& plan, int replicates);

}  // namespace stoverturn
