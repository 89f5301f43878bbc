#pragma once
#include "fitting/problem.hpp"

namespace stoverturn {

/// Residuals alone: false where x cannot be evaluated.
using Residuals = std::function<bool(const Eigen::VectorXd& x, Eigen::VectorXd& r)>;

/// A fit whose derivatives come from differences, for models that give none: central ones at two steps,
/// extrapolated (Richardson 1911, Phil. Trans. R. Soc. A 210, 307-357), error of the fourth order; one-sided
/// at a bound. `step` is relative to the parameter. Choose it larger for a model with noise of its own, such
/// as an integrator's. A point whose neighbours cannot be evaluated counts as one that cannot be.
LeastSquares with_differences(std::size_t residuals, const Eigen::VectorXd& lower,
                              const Eigen::VectorXd& upper, Residuals evaluate, double step = 1e-3);

}  // namespace stoverturn
