#pragma once
#include <cstdint>

#include "fitting/covariance.hpp"
#include "fitting/trial_model.hpp"

namespace stoverturn {

struct BootstrapOptions {
  int resamples = 400;
  std::uint64_t seed = 1;
  double level = 0.9;
  ForEach for_each = one_after_the_other;         ///< resamples in any order; results do not depend on it
  std::function<bool(double fraction)> progress;  ///< from the calling thread, every 16 fits; false: stop
};

/// Estimates of resampled trials.
struct Bootstrap {
  Eigen::MatrixXd estimates;  ///< unknowns x resamples that could be fitted, in the order of their numbers
  int resamples = 0;          ///< that were tried; fewer than asked for where stopped
  int failed = 0;             ///< of these
  /// Quantiles of the estimates, by unknown; empty with fewer than 20.
  std::vector<Interval> percentile;
  /// Bias-corrected and accelerated (Efron 1987, J. Am. Stat. Assoc. 82, 171-185), from leaving out each
  /// case; empty where that could not be fitted or was not reached. NaN for an unknown whose estimates all
  /// lie to one side of the best.
  std::vector<Interval> bca;
  bool finished = false;
};

/// An estimate from a trial in which each observation counts as often as its weight says; empty where the
/// fit failed. A number that is not finite is a failure too.
using WeightedFit = std::function<Eigen::VectorXd(const std::vector<double>& weights)>;

/// Case bootstrap (Efron 1979, Ann. Stat. 7, 1-26): whole cases (a bag, with all that was measured on it) are
/// drawn with replacement within strata (treatment, placement and date), so that every date stays in the
/// trial. `case_of` and `stratum_of` are by observation. It assumes that bags are independent and alike
/// within a stratum; strata of one bag are kept as they are and make intervals too narrow
/// (docs/statistics.md). `fit` is called once for each resample and once for each case of a stratum of
/// several. std::invalid_argument for sizes that differ and for a case in two strata.
Bootstrap bootstrap(const std::vector<int>& case_of, const std::vector<int>& stratum_of,
                    const Eigen::VectorXd& estimate, const WeightedFit& fit,
                    const BootstrapOptions& options = {});

}  // namespace stoverturn
