#pragma once
#include <Eigen/Core>

namespace stoverturn {

/// Counts by a log-linear model: mean = exposure x exp(design x coefficients), variance = dispersion x mean
/// (quasi-Poisson: Wedderburn 1974, Biometrika 61, 439-447; dispersion by Pearson's statistic as in McCullagh
/// and Nelder 1989, Generalized Linear Models, section 6.2.3; from memory).
struct CountModel {
  /// false: no finite maximum (zero counts that push a coefficient to minus infinity), or columns that say
  /// the same.
  bool ok = false;
  Eigen::VectorXd coefficients;
  Eigen::MatrixXd unscaled;  ///< covariance of coefficients for dispersion 1: (X'WX)^-1
  Eigen::VectorXd means;
  double deviance = 0.0;
  double pearson = 0.0;     ///< sum of (count - mean)^2 / mean
  double dispersion = 0.0;  ///< pearson / freedom; NaN where freedom is 0
  int freedom = 0;          ///< counts less coefficients
};

/// Maximum likelihood by iteratively reweighted least squares. `exposures` are positive (areas);
/// std::invalid_argument for sizes that differ, fewer counts than columns, and counts below 0.
CountModel fit_counts(const Eigen::VectorXd& counts, const Eigen::VectorXd& exposures,
                      const Eigen::MatrixXd& design);

/// F of what `whole` explains beyond `part`, a model of the same counts with fewer columns, by the change of
/// deviance over the dispersion of `whole`; and the probability of more where there is nothing to explain.
/// Both NaN where `whole` has no dispersion.
struct CountTest {
  double F = 0.0, probability = 1.0;
  int numerator = 0, denominator = 0;  ///< degrees of freedom
};
CountTest compare_counts(const CountModel& part, const CountModel& whole);

}  // namespace stoverturn
