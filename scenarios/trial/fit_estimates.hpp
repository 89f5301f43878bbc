#pragma once
#include "scenarios/text/table_reader.hpp"
#include "scenarios/trial/fit_plan.hpp"

namespace stoverturn {

/// Why a parameter cannot be estimated, in words; "" when it can.
std::string why_not_estimated(const ParameterRow& row);

/// The table's bounds, drawn in to what is finite on the fit scale: a thousandth of the default above 0 of a
/// logarithm, a thousandth from 0 and 1 of a logit.
struct EstimateBounds {
  double lower, upper;
};
EstimateBounds widest_bounds(const ParameterRow& row);

/// [estimate]: a key a parameter.
void read_estimates(const Table& table, bool several_trials, FitPlan& plan, Mistakes& mistakes);

}  // namespace stoverturn
