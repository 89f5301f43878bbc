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
  /// Unknowns that change nothing: one standard unit moves all residuals together by less than 0.001 sd. They
  /// take no part in what follows.
  std::vector<std::size_t> blind;
  /// Smallest sets with an index above `limit`, worst first. A set that holds a listed one is listed beside
  /// it only where its index is more than 10 times as high: the larger set is then the reason.
  std::vector<Collinear> confounded;
  double index = 1.0;           ///< of all unknowns together; infinite where a direction is not seen at all
  Eigen::VectorXd eigenvalues;  ///< of S'S, S being the columns scaled to length 1, largest first
  /// Direction of the least, in unknowns on the fit scale; the largest relative to its own effect is 1.
  Eigen::VectorXd weakest;
};

/// `jacobian`: residuals in their sd by unknown on its fit scale; `unit` the standard unit of each (prior sd,
/// or a sixth of the range). Sets up to `largest_set` are looked at. Brun et al. call an index above 10 to 15
/// critical: `limit`. The index does not depend on the units. std::invalid_argument for sizes that differ and
/// numbers that are not finite.
Identifiability identifiability(const Eigen::MatrixXd& jacobian, const Eigen::VectorXd& unit,
                                double limit = 15.0, std::size_t largest_set = 3);

}  // namespace stoverturn
