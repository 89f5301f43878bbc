#include "engine/integrate.hpp"

#include <algorithm>
#include <limits>

#include <boost/numeric/odeint/stepper/controlled_runge_kutta.hpp>
#include <boost/numeric/odeint/stepper/runge_kutta_dopri5.hpp>

#include "engine/errors.hpp"

namespace stoverturn {
namespace {

namespace odeint = boost::numeric::odeint;

/// |error| / (absolute + relative |value|), in lanes for each of them. Derivatives do not count, so that a
/// Dual run takes the steps of the double run.
double error_ratio(double error, double value, const Tolerance& t) {
  return std::abs(error) / (t.absolute + t.relative * std::abs(value));
}
double error_ratio(const Dual& error, const Dual& value, const Tolerance& t) {
  return error_ratio(error.value(), value.value(), t);
}
Lanes error_ratio(const Lanes& error, const Lanes& value, const Tolerance& t) {
  return error.abs() / (t.absolute + t.relative * value.abs());
}

/// The larger of two, in lanes for each of them; any of the two where one is NaN.
double larger(double a, double b) { return a < b ? b : a; }
Lanes larger(const Lanes& a, const Lanes& b) { return a.max(b); }

/// The largest of what is held; NaN where one is.
double greatest(double x) { return x; }
double greatest(const Lanes& x) { return x.maxCoeff<Eigen::PropagateNaN>(); }

/// Odeint's error checker, with a norm that gives one double for every scalar. Which pool is worst is looked
/// up only where a step fails.
struct ErrorNorm {
  using value_type = double;
  using algebra_type = odeint::range_algebra;
  using operations_type = odeint::default_operations;
  Tolerance tolerance;
  std::size_t* worst;
  bool* finite;

  template <class Algebra, class Real, class Time>
  double error(Algebra&, const State<Real>& x, const State<Real>&, State<Real>& x_error, Time) const {
    Driver<Real> largest(0.0), total(0.0);
    for (std::size_t i = 0; i < x.size(); ++i) {
      const Driver<Real> e = error_ratio(x_error[i], x[i], tolerance);
      largest = larger(largest, e);
      total += e;
    }
    *finite = std::isfinite(greatest(total));
    if (!*finite || greatest(largest) > 1.0) find_worst(x, x_error);
    return *finite ? greatest(largest) : std::numeric_limits<double>::max();
  }

  template <class Real>
  void find_worst(const State<Real>& x, const State<Real>& x_error) const {
    double largest = 0.0;
    for (std::size_t i = 0; i < x.size(); ++i) {
      const double e = greatest(error_ratio(x_error[i], x[i], tolerance));
      if (e <= largest) continue;
      largest = e;
      *worst = i;
      if (!std::isfinite(e)) return;
    }
  }
};

}  // namespace

template <class Real>
struct Stepper<Real>::Inside {
  using Dopri5 = odeint::runge_kutta_dopri5<State<Real>, double, State<Real>, double, odeint::range_algebra,
                                            odeint::default_operations>;
  Tolerance tolerance;
  std::size_t worst = 0;
  bool finite = true;
  odeint::controlled_runge_kutta<Dopri5, ErrorNorm> controlled{ErrorNorm{tolerance, &worst, &finite}};
  double step_d = 0.1;
  StepCounts counts;
  explicit Inside(const Tolerance& t) : tolerance(t) {}
};

template <class Real>
Stepper<Real>::Stepper(const Tolerance& tolerance) : inside_(std::make_unique<Inside>(tolerance)) {}
template <class Real>
Stepper<Real>::~Stepper() = default;
template <class Real>
Stepper<Real>::Stepper(Stepper&&) noexcept = default;
template <class Real>
Stepper<Real>& Stepper<Real>::operator=(Stepper&&) noexcept = default;

template <class Real>
void Stepper<Real>::advance(const System& system, State<Real>& x, double from_d, double to_d) {
  Inside& in = *inside_;
  in.controlled.reset();
  double t = from_d;
  int steps = 0;
  while (to_d - t > 1e-12) {
    if (++steps > in.tolerance.most_steps_a_day * std::max(1.0, to_d - from_d)) {
      throw IntegrationError(
          t, in.worst,
          in.finite ? "too many steps; a rate is far too large for daily steps"
                    : "a pool is not a finite number; look for a rate or content of 0 or infinity");
    }
    // equal steps to the end of the span rather than a full one and a sliver
    const double left = to_d - t;
    double step = left / std::ceil(left / in.step_d - 1e-9);
    if (in.controlled.try_step(std::cref(system), x, t, step) == odeint::success) {
      ++in.counts.accepted;
    } else {
      ++in.counts.rejected;
    }
    in.step_d = step;
  }
}

template <class Real>
const StepCounts& Stepper<Real>::counts() const {
  return inside_->counts;
}

template class Stepper<double>;
template class Stepper<Dual>;
template class Stepper<Lanes>;

}  // namespace stoverturn
