#pragma once
#include <cstdint>

#include <Eigen/Core>

namespace stoverturn {

/// Draws of a normal distribution cut off at bounds (points outside are drawn again), unknowns x count. Where
/// a standard deviation is NaN (held) the mean stays. Fewer columns, or none, where hardly any point falls
/// within the bounds. Each draw depends on seed and its number alone.
Eigen::MatrixXd normal_draws(const Eigen::VectorXd& mean, const Eigen::MatrixXd& covariance,
                             const Eigen::VectorXd& lower, const Eigen::VectorXd& upper, std::uint64_t seed,
                             Eigen::Index count);

}  // namespace stoverturn
