#pragma once
#include "fitting/minimise.hpp"

namespace stoverturn {

/// A log density with its score and what information on the unknowns is expected of such data (Fisher).
struct InformedDensity {
  Eigen::VectorXd lower, upper;  ///< bounds, finite
  /// Log density, -infinity where there is none. Where asked for, `score` and `root` (rows x unknowns) are
  /// filled so that root' score is the gradient and root' root the expected information: for normal errors
  /// of known size the residuals (with their sign turned) and their Jacobian.
  std::function<double(const Eigen::VectorXd& z, Eigen::VectorXd* score, Eigen::MatrixXd* root)> evaluate;
};

struct ScoringOptions {
  int most_iterations = 200;   ///< steps tried, accepted or not
  double distance_se = 1e-4;   ///< aimed at
  double converged_se = 1e-2;  ///< where round-off ends the way, this near still counts as converged
  double first_damping = 1e-2;
  KeepGoing progress;
};

/// The top of a density by Fisher's scoring (Fisher 1925, Proc. Cambridge Phil. Soc. 22, 700-725; Osborne
/// 1992, Int. Stat. Rev. 60, 99-117): Newton's method with the expected information, which is never
/// indefinite, damped as in `fit_least_squares`. For normal errors of known size it is Levenberg and
/// Marquardt's method; error sizes, tails and priors come in without alternation. Steps are solved exactly
/// within the bounds. Optimum::distance_se is by the expected information. A point that cannot be evaluated
/// is a bad step. std::invalid_argument where sizes differ.
Optimum climb(const InformedDensity& density, const Eigen::VectorXd& start,
              const ScoringOptions& options = {});

/// Minus the log density, its `distance_se` by the expected information.
Cost cost_of(const InformedDensity& density);

}  // namespace stoverturn
