#pragma once
#include <Eigen/Core>

namespace stoverturn {

/// Minimises |A p - b| with lower <= p <= upper exactly, by the active set method of Stark and Parker (1995,
/// Computational Statistics 10, 129-141). lower <= 0 <= upper; infinite bounds are allowed. Where the columns
/// of A depend on each other, one of the solutions. QR throughout: A'A is never formed.
Eigen::VectorXd bounded_linear_least_squares(const Eigen::MatrixXd& A, const Eigen::VectorXd& b,
                                             const Eigen::VectorXd& lower, const Eigen::VectorXd& upper);

}  // namespace stoverturn
