#pragma once
#include <string>
#include <vector>

#include <Eigen/Core>

namespace stoverturn {

/// Unknowns that change what is measured in nearly the same way.
struct Collinear {
  std::vector<std::size_t> unknowns;
  double index = 1.0;  ///< collinearity index of the set, 1 (at right angles) to infinity
};

/// What sensitivities say of unknowns, before any data (at the start) or after (at the best fit).
struct Identifiability {
  /// Root mean square change of residuals (each in its sd) for one standard unit of the unknown: the delta
  /// measure of Brun, Reichert and Künsch 2001, Water Resources Research 37, 1015-1030.
  Eigen::VectorXd sensitivity;
  std::vector<std::size_t> blind;     ///< unknowns that change nothing
  std::vector<Collinear> confounded;  ///< smallest sets with an index above `limit`, worst first
  double index = 1.0;                 ///< of all unknowns together
  Eigen::VectorXd eigenvalues;        ///< of the columns scaled to length 1, largest first
  Eigen::VectorXd weakest;            ///< direction of the least, in unknowns
};

/// `jacobian`: residuals in their sd by unknown on its fit scale; `unit` the standard unit of each (prior sd,
/// or a sixth of the range). Sets up to `largest_set` are looked at. Brun et al. call an index above 10 to 15
/// critical: `limit`.
Identifiability identifiability(const Eigen::MatrixXd& jacobian, const Eigen::VectorXd& unit,
                                double limit = 15.0, std::size_t largest_set = 3);

}  // namespace stoverturn
