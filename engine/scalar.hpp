#pragma once
#include <cmath>

#include <Eigen/Core>
#include <unsupported/Eigen/AutoDiff>

namespace stoverturn {

/// The engine's one template parameter is its scalar `Real`:
///   double    one run
///   Dual      one run and its derivatives in eight directions (forward mode)
///   Lanes     eight runs in lockstep
/// Rules for code over Real: literals as Real(1.0), no `auto` on expressions (Eigen's are lazy), no branch on
/// a state, kinks smoothed so that the integrator keeps its order.
using Dual = Eigen::AutoDiffScalar<Eigen::Matrix<double, 8, 1>>;
using Lanes = Eigen::Array<double, 8, 1>;

/// Type of drivers and event amounts under a scalar: what the weather does carries no derivative, but every
/// lane has its own.
template <class Real>
struct DriverOf {
  using type = double;
};
template <>
struct DriverOf<Lanes> {
  using type = Lanes;
};
template <class Real>
using Driver = typename DriverOf<Real>::type;

/// Value of the first run a scalar holds: for messages only.
inline double first(double x) { return x; }
inline double first(const Dual& x) { return x.value(); }
inline double first(const Lanes& x) { return x[0]; }

}  // namespace stoverturn
