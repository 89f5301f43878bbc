#pragma once
#include <cstddef>
#include <functional>

#include <Eigen/Core>

namespace stoverturn {

/// References in the headers of this folder stand in full in docs/statistics.md; their volumes and pages are
/// from memory.

/// A fit seen from the outside: residuals (already divided by their standard deviation) and their
/// derivatives.
struct LeastSquares {
  std::size_t residuals = 0;     ///< how many
  Eigen::VectorXd lower, upper;  ///< bounds by parameter, -infinity and +infinity for none
  /// Fills `r`, and `jacobian` (residuals x parameters) where one is asked for.
  /// false: the point cannot be evaluated. Called from one thread at a time unless its maker says otherwise.
  std::function<bool(const Eigen::VectorXd& x, Eigen::VectorXd& r, Eigen::MatrixXd* jacobian)> evaluate;
};

/// A log density (up to a constant) with optional gradient; -infinity where it is not defined.
struct LogDensity {
  Eigen::VectorXd lower, upper;  ///< bounds by parameter, -infinity and +infinity for none
  /// Fills `gradient` where one is asked for; it means nothing where the value is -infinity.
  std::function<double(const Eigen::VectorXd& x, Eigen::VectorXd* gradient)> evaluate;
};

}  // namespace stoverturn
