#pragma once
#include <vector>

#include "fitting/trial_posterior.hpp"
#include "scenarios/trial/fit_result.hpp"

namespace stoverturn {

/// What a curve is of: a measure of a treatment, of one component and placement or (-1) of all together.
struct CurveKey {
  std::size_t treatment = 0;
  Measure measure = Measure::mass;
  int component = -1, placement = -1;
  int last_day = 0;  ///< of its observations
};

/// What a trial has measured, each once, in the order of its observations.
std::vector<CurveKey> curve_keys(const std::vector<Observation>& observations);

/// Whether an observation belongs to a curve.
bool belongs(const Observation& observation, const CurveKey& key);

/// Curves day by day, from day 0 to the end of each treatment's drivers.
struct DailyCurves {
  std::vector<CurveKey> keys;
  std::vector<int> days;                  ///< by key: entries of its curves
  std::vector<Eigen::VectorXd> estimate;  ///< by key
  std::vector<Eigen::MatrixXd> draws;     ///< by key: days x draws; columns of a failed draw are NaN
};

/// `draws`: unknowns x draws on the fit scale; may be empty. The estimate's curves are empty where it cannot
/// be simulated to the end.
DailyCurves daily_curves(const TrialPosterior& posterior, const Eigen::VectorXd& z,
                         const Eigen::MatrixXd& draws);

/// As quantile_of_sorted(), of values in any order, NaN left out.
double quantile(std::vector<double> values, double share);

/// Median and bounds of the central share `level` of values.
struct Central {
  double lower = not_there, median = not_there, upper = not_there;
};
Central central(std::vector<double> values, double level);

}  // namespace stoverturn
