#pragma once
#include "scenarios/trial/daily_curves.hpp"
#include "scenarios/trial/fit_problem.hpp"

namespace stoverturn {

/// "opened, buried, stalk": how a curve's treatment, placement and component are told.
std::string curve_label(const FitProblem& problem, const CurveKey& key);

inline constexpr const char* half_life = "half-life";
inline constexpr const char* decay_rate = "decay rate";
inline constexpr const char* rate_ratio_to = "rate ratio to ";  ///< before the other's label

/// Numbers people talk in, for every curve of mass left. A time that the run does not reach is infinite.
///   half-life, time to 95 % lost  [d]
///   decay rate                    -ln(left at the last bag) / days until then [1/d]
///   decay rate at 25 C            likewise, in days corrected for temperature and moisture
///   left after 1 year, 2 years    as far as the run reaches [%]
///   rate ratio to the first treatment of the same site, placement and component, both until the last day
///                                 that both have bags of
/// Intervals at `level` from draws; a ratio is taken draw by draw.
std::vector<DerivedQuantity> derived_quantities(const FitProblem& problem, const DailyCurves& curves,
                                                double level);

}  // namespace stoverturn
