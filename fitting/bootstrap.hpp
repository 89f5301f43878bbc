#pragma once
#include <cstdint>

#include "fitting/covariance.hpp"
#include "fitting/trial_model.hpp"

namespace stoverturn {

struct BootstrapOptions {
  int resamples = 400;
  std::uint64_t seed = 1;
  double level = 0.9;
  ForEach for_each = one_after_the_other;  ///< resamples in any order; results do not depend on it
  std::function<bool(double fraction)> progress;
};

/// Estimates of resampled trials.
struct Bootstrap {
  Eigen::MatrixXd estimates;  ///< unknowns x resamples that could be fitted
  int failed = 0;
  std::vector<Interval> percentile;
  /// Bias-corrected and accelerated (Efron 1987, J. Am. Stat. Assoc. 82, 171-185), from leaving out each
  /// case; empty where that could not be fitted.
  std::vector<Interval> bca;
  bool finished = false;
};

/// An estimate from a trial in which each observation counts as often as its weight says; empty where the
/// fit failed.
using WeightedFit = std::function<Eigen::VectorXd(const std::vector<double>& weights)>;

/// Case bootstrap (Efron 1979, Ann. Stat. 7, 1-26): whole cases (a bag, with all that was measured on it) are
/// drawn with replacement within strata (treatment, placement and date), so that every date stays in the
/// trial. `case_of` and `stratum_of` are by observation. It assumes that bags are independent and alike
/// within a stratum; strata of one bag are kept as they are and make intervals too narrow
/// (docs/statistics.md).
Bootstrap bootstrap(const std::vector<int>& case_of, const std::vector<int>& stratum_of,
                    const Eigen::VectorXd& estimate, const WeightedFit& fit,
                    const BootstrapOptions& options = {});

}  // namespace stoverturn
