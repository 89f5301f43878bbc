#pragma once
#include <functional>
#include <vector>

#include "fitting/covariance.hpp"

namespace stoverturn {

/// Fit against number of parameters, for models of the same observations. Smaller is better.
///
///   AIC = 2 K - 2 ln L. Akaike 1974, IEEE Trans. Autom. Control 19, 716-723.
///
///   AICc = AIC + 2 K (K + 1)/(n - K - 1), for few observations; infinite where n <= K + 1.
///   Hurvich and Tsai 1989, Biometrika 76, 297-307.
///
///   BIC = K ln n - 2 ln L. Schwarz 1978, Ann. Stat. 6, 461-464.
///
/// Volumes and pages are from memory.
struct InformationCriteria {
  double log_likelihood = 0.0, aic = 0.0, aicc = 0.0, bic = 0.0;
  int parameters = 0;  ///< K: those fitted, and the error's size where it is estimated
  int observations = 0;
};

InformationCriteria information_criteria(double log_likelihood, int parameters, int observations);

/// Normal errors. `sd` brings the likelihood back to the observations' unit; empty: all 1.
InformationCriteria information_criteria(const LeastSquaresFit& fit, Spread spread,
                                         const std::vector<double>& sd = {});

/// Weight of evidence of each model: exp(-difference/2), made to sum to 1 (Burnham and Anderson 2002,
/// section 2.9). Infinite criteria have none; all infinite: all zero.
std::vector<double> akaike_weights(const std::vector<double>& criteria);

/// How well observations are predicted by a fit that has not seen their group (treatment, site, block).
struct GroupPrediction {
  std::vector<int> group;     ///< each group once, ascending
  std::vector<double> rmse;   ///< by group; NaN where the fit without it failed
  std::vector<double> bias;   ///< mean of predicted less observed, by group
  double overall_rmse = 0.0;  ///< over all observations that were predicted
  double efficiency =
      0.0;  ///< 1 - sum of squares over that about the observed mean (Nash and Sutcliffe 1970)
  std::size_t predicted = 0;  ///< observations
  std::vector<int> failed;    ///< groups whose fit failed
};

/// Predictions at `wanted` from a fit to `known` (indices of observations, ascending); empty where the fit
/// failed.
using FitAndPredict = std::function<std::vector<double>(const std::vector<std::size_t>& known,
                                                        const std::vector<std::size_t>& wanted)>;

/// `groups` and `observed` by observation. std::invalid_argument for sizes that differ or fewer than two
/// groups.
GroupPrediction leave_one_group_out(const std::vector<int>& groups, const std::vector<double>& observed,
                                    const FitAndPredict& fit);

}  // namespace stoverturn
