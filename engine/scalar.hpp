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

/// Largest magnitude over what a scalar holds; derivatives do not count, so that a Dual run takes the steps
/// of the double run.
inline double magnitude(double x) { return std::abs(x); }
inline double magnitude(const Dual& x) { return std::abs(x.value()); }
inline double magnitude(const Lanes& x) { return x.abs().maxCoeff<Eigen::PropagateNaN>(); }

/// Largest |error| / (absolute + relative |value|) over what a scalar holds.
inline double scaled(double error, double value, double absolute, double relative) {
  return std::abs(error) / (absolute + relative * std::abs(value));
}
inline double scaled(const Dual& error, const Dual& value, double absolute, double relative) {
  return scaled(error.value(), value.value(), absolute, relative);
}
inline double scaled(const Lanes& error, const Lanes& value, double absolute, double relative) {
  return (error.abs() / (absolute + relative * value.abs())).maxCoeff<Eigen::PropagateNaN>();
}

/// Whether scaled(...) is at most `limit`, but for round-off, without a division. False where a number is
/// NaN.
inline bool scaled_within(double error, double value, double absolute, double relative, double limit) {
  return std::abs(error) <= limit * (absolute + relative * std::abs(value));
}
inline bool scaled_within(const Dual& error, const Dual& value, double absolute, double relative,
                          double limit) {
  return scaled_within(error.value(), value.value(), absolute, relative, limit);
}
inline bool scaled_within(const Lanes& error, const Lanes& value, double absolute, double relative,
                          double limit) {
  // Eigen does not vectorise all()
  return (error.abs() - limit * (absolute + relative * value.abs())).maxCoeff<Eigen::PropagateNaN>() <= 0.0;
}

/// Value of the first run a scalar holds: for messages only.
inline double first(double x) { return x; }
inline double first(const Dual& x) { return x.value(); }
inline double first(const Lanes& x) { return x[0]; }

}  // namespace stoverturn
