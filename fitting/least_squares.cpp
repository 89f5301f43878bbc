#include "fitting/least_squares.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include <Eigen/QR>

#include "fitting/bounded_linear.hpp"

namespace stoverturn {
namespace {

constexpr double epsilon = std::numeric_limits<double>::epsilon();
constexpr double scale_memory =
    0.7;  // by step; for ever, as in Moré, stops where a column's length falls by powers
constexpr double probe = 0.1;          // share of a step after which its curvature is looked at
constexpr double most_bending = 0.75;  // correction over step; Transtrum and Sethna, their alpha

void check_sizes(const LeastSquares& problem, const Eigen::VectorXd& start) {
  const Eigen::Index n = start.size();
  if (n == 0 || problem.lower.size() != n || problem.upper.size() != n) {
    throw std::invalid_argument("start and bounds must have one value for each parameter");
  }
  if ((problem.lower.array() > problem.upper.array()).any()) {
    throw std::invalid_argument("a lower bound is above its upper bound");
  }
}

bool all_finite(const Eigen::VectorXd& r, const Eigen::MatrixXd& J) {
  return std::isfinite(r.squaredNorm()) && std::isfinite(J.squaredNorm());
}

/// Lengths of the Jacobian's columns; 1 where a parameter has no effect.
Eigen::VectorXd column_lengths(const Eigen::MatrixXd& J) {
  Eigen::VectorXd lengths = J.colwise().norm().transpose();
  return (lengths.array() > 0.0).select(lengths, 1.0);
}

/// The linear problem at one point, in scaled parameters q = scale p and turned by QR onto few rows.
struct Linear {
  Eigen::HouseholderQR<Eigen::MatrixXd> qr;
  Eigen::MatrixXd R;             ///< rows: parameters or residuals, whichever are fewer
  Eigen::VectorXd target;        ///< -Q'r
  double rest = 0.0;             ///< squared length of what no step can take away
  Eigen::VectorXd lower, upper;  ///< bounds of q

  Linear(const Eigen::VectorXd& x, const Eigen::VectorXd& r, const Eigen::MatrixXd& J,
         const Eigen::VectorXd& scale, const Eigen::VectorXd& low, const Eigen::VectorXd& high)
      : qr(J * scale.cwiseInverse().asDiagonal()) {
    const Eigen::Index rows = std::min(J.rows(), J.cols());
    const Eigen::VectorXd turned = qr.householderQ().transpose() * r;
    R = qr.matrixQR().topRows(rows).triangularView<Eigen::Upper>();
    target = -turned.head(rows);
    rest = turned.tail(J.rows() - rows).squaredNorm();
    lower = scale.cwiseProduct(low - x);
    upper = scale.cwiseProduct(high - x);
  }

  Eigen::VectorXd step(double damping) const { return solve(damping, target, lower, upper); }

  /// Second-order correction to step q where the residuals bend by `bend` along it.
  Eigen::VectorXd correction(double damping, const Eigen::VectorXd& q, const Eigen::VectorXd& bend) const {
    const Eigen::VectorXd turned = qr.householderQ().transpose() * bend;
    return solve(damping, -0.5 * turned.head(R.rows()), lower - q, upper - q);
  }

  Eigen::VectorXd solve(double damping, const Eigen::VectorXd& wanted, const Eigen::VectorXd& low,
                        const Eigen::VectorXd& high) const {
    if (damping == 0.0) return bounded_linear_least_squares(R, wanted, low, high);
    const Eigen::Index n = R.cols();
    Eigen::MatrixXd A = Eigen::MatrixXd::Zero(R.rows() + n, n);
    A.topRows(R.rows()) = R;
    A.bottomRows(n).diagonal().setConstant(std::sqrt(damping));
    Eigen::VectorXd b = Eigen::VectorXd::Zero(R.rows() + n);
    b.head(R.rows()) = wanted;
    return bounded_linear_least_squares(A, b, low, high);
  }

  /// By how much half the sum of squares falls when the problem is linear.
  double gain(const Eigen::VectorXd& q) const {
    const Eigen::VectorXd change = R * q;
    return change.dot(target) - 0.5 * change.squaredNorm();
  }
};

/// Size of the rounding error of residuals: what they are made of, times the machine's precision.
double residual_noise(const Eigen::VectorXd& x, const Eigen::VectorXd& r, const Eigen::MatrixXd& J) {
  return epsilon * (r.norm() + (J * x.asDiagonal()).norm());
}

double distance(const Linear& linear, double noise, Eigen::Index residuals, Eigen::Index parameters) {
  const double left = std::sqrt(std::max(0.0, 2.0 * linear.gain(linear.step(0.0))));
  if (left <= noise) return 0.0;
  const Eigen::Index freedom = residuals - parameters;
  // without degrees of freedom the residuals' own unit, one standard deviation, stands
  const double spread = freedom > 0 ? std::sqrt(linear.rest / static_cast<double>(freedom)) : 1.0;
  return left / std::max(spread, noise);
}

struct Search {
  const LeastSquares& problem;
  const LeastSquaresOptions& options;
  LeastSquaresFit fit;
  LeastSquaresState state;

  bool evaluate(const Eigen::VectorXd& x, Eigen::VectorXd& r) {
    ++fit.evaluations;
    r.resize(static_cast<Eigen::Index>(problem.residuals));
    return problem.evaluate(x, r, nullptr) && std::isfinite(r.squaredNorm());
  }
  bool differentiate(const Eigen::VectorXd& x, Eigen::VectorXd& r, Eigen::MatrixXd& J) {
    ++fit.derivatives;
    r.resize(static_cast<Eigen::Index>(problem.residuals));
    J.resize(r.size(), x.size());
    return problem.evaluate(x, r, &J) && all_finite(r, J);
  }
  bool go_on() const {
    if (!options.progress) return true;
    return options.progress({fit.cost, &fit.x, fit.evaluations + fit.derivatives,
                             static_cast<double>(fit.iterations) / options.most_iterations});
  }
  LeastSquaresFit ended(Stop stop, std::string_view why) {
    fit.stop = stop;
    fit.why = why;
    if (stop == Stop::stalled && fit.distance_se <= options.converged_se) fit.stop = Stop::converged;
    fit.on_bound = bounds_reached(fit.x, problem.lower, problem.upper);
    return std::move(fit);
  }
  void store() {
    state.x = fit.x;
    state.evaluations = fit.evaluations;
    state.derivatives = fit.derivatives;
    state.iterations = fit.iterations;
    if (options.checkpoint) options.checkpoint(state);
  }

  /// The step with its second-order correction, where the model can be evaluated on the way and bends gently.
  Eigen::VectorXd corrected(const Linear& linear, const Eigen::VectorXd& q) {
    const Eigen::VectorXd p = q.cwiseQuotient(state.scale);
    Eigen::VectorXd r;
    if (!evaluate(within(fit.x + probe * p, problem.lower, problem.upper), r)) return q;
    const Eigen::VectorXd bend = 2.0 / probe * ((r - fit.residuals) / probe - fit.jacobian * p);
    const Eigen::VectorXd correction = linear.correction(state.damping, q, bend);
    return 2.0 * correction.norm() <= most_bending * q.norm() ? Eigen::VectorXd(q + correction) : q;
  }

  enum class Tried { better, no_further, limit, cancelled };

  /// Tries damped steps from fit.x until one is better.
  Tried improve(const Linear& linear) {
    const double noise = residual_noise(fit.x, fit.residuals, fit.jacobian);
    Eigen::VectorXd r;
    Eigen::MatrixXd J;
    while (fit.iterations < options.most_iterations) {
      ++fit.iterations;
      const Eigen::VectorXd q = linear.step(state.damping);
      if ((linear.R * q).norm() <= noise) return Tried::no_further;
      const Eigen::VectorXd p = corrected(linear, q).cwiseQuotient(state.scale);
      const Eigen::VectorXd trial = within(fit.x + p, problem.lower, problem.upper);
      if ((trial - fit.x).norm() <= epsilon * fit.x.norm()) return Tried::no_further;
      if (evaluate(trial, r)) {
        const double gained = fit.cost - 0.5 * r.squaredNorm();
        const double ratio = gained / linear.gain(q);
        if (gained > 0.0 && ratio > 1e-4 && differentiate(trial, r, J)) {
          state.damping *= std::max(1.0 / 3.0, 1.0 - std::pow(2.0 * std::min(ratio, 1.0) - 1.0, 3));
          state.damping_growth = 2.0;
          fit.x = trial;
          fit.residuals = r;
          fit.jacobian = J;
          fit.cost = 0.5 * r.squaredNorm();
          return Tried::better;
        }
      }
      state.damping *= state.damping_growth;
      state.damping_growth *= 2.0;
      if (!go_on()) return Tried::cancelled;
    }
    return Tried::limit;
  }
};

}  // namespace

double distance_in_se(const Eigen::VectorXd& x, const Eigen::VectorXd& residuals,
                      const Eigen::MatrixXd& jacobian, const Eigen::VectorXd& lower,
                      const Eigen::VectorXd& upper) {
  const Linear linear(x, residuals, jacobian, column_lengths(jacobian), lower, upper);
  return distance(linear, residual_noise(x, residuals, jacobian), residuals.size(), x.size());
}

LeastSquaresFit fit_least_squares(const LeastSquares& problem, const Eigen::VectorXd& start,
                                  const LeastSquaresOptions& options) {
  check_sizes(problem, options.resume ? options.resume->x : start);
  Search search{problem, options, {}, {}};
  LeastSquaresFit& fit = search.fit;
  LeastSquaresState& state = search.state;
  state.damping = options.first_damping;
  if (options.resume) {
    state = *options.resume;
    fit.evaluations = state.evaluations;
    fit.derivatives = state.derivatives;
    fit.iterations = state.iterations;
  }
  fit.x = within(options.resume ? state.x : start, problem.lower, problem.upper);
  if (!search.differentiate(fit.x, fit.residuals, fit.jacobian)) {
    return search.ended(Stop::bad_start, "the model cannot be evaluated at the start");
  }
  fit.cost = 0.5 * fit.residuals.squaredNorm();

  while (true) {
    const Eigen::VectorXd lengths = column_lengths(fit.jacobian);
    const bool first = state.scale.size() == 0;
    state.scale = first ? lengths : Eigen::VectorXd((scale_memory * state.scale).cwiseMax(lengths));
    const Linear linear(fit.x, fit.residuals, fit.jacobian, state.scale, problem.lower, problem.upper);
    const double noise = residual_noise(fit.x, fit.residuals, fit.jacobian);
    fit.distance_se = distance(linear, noise, fit.residuals.size(), fit.x.size());
    if (fit.distance_se <= options.distance_se) return search.ended(Stop::converged, "no way left to go");
    if (first) {
      const double longest = state.scale.cwiseProduct(fit.x).norm();
      while (longest > 0.0 && state.damping < 1e12 && linear.step(state.damping).norm() > longest)
        state.damping *= 4.0;
    }
    switch (search.improve(linear)) {
      case Search::Tried::better:
        break;
      case Search::Tried::no_further:
        return search.ended(Stop::stalled, "no step changes the cost beyond round-off");
      case Search::Tried::limit:
        return search.ended(Stop::evaluations_spent, "limit of iterations");
      case Search::Tried::cancelled:
        return search.ended(Stop::cancelled, "stopped on request");
    }
    search.store();
    if (!search.go_on()) return search.ended(Stop::cancelled, "stopped on request");
  }
}

}  // namespace stoverturn
