#include "fitting/held_search.hpp"

#include <algorithm>
#include <cmath>

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <Eigen/LU>

#include "fitting/bounded_linear.hpp"

namespace stoverturn {
namespace {

constexpr double axis_step = 0.02;  ///< standard errors
constexpr double infinity = std::numeric_limits<double>::infinity();

Eigen::VectorXd widths(const Cost& cost) {
  const Eigen::VectorXd width = cost.upper - cost.lower;
  return (width.array() > 0.0).select(width, 1.0);
}

std::vector<Eigen::Index> others_of(const Cost& cost, std::size_t held) {
  std::vector<Eigen::Index> others;
  for (Eigen::Index j = 0; j < cost.lower.size(); ++j) {
    if (j != static_cast<Eigen::Index>(held) && cost.lower[j] < cost.upper[j]) others.push_back(j);
  }
  return others;
}

/// Column j of the second derivatives; the step shrinks until it is a small share of a standard error.
Eigen::VectorXd bend(MeteredCost& cost, const Place& place, Eigen::Index j) {
  const double low = cost.cost.lower[j], high = cost.cost.upper[j];
  double h = 1e-3 * (high - low);
  Place up = place, down = place;
  Eigen::VectorXd result = Eigen::VectorXd::Zero(place.x.size());
  for (int tries = 0; tries < 4 && h > 0.0; ++tries) {
    up.x[j] = std::min(place.x[j] + h, high);
    down.x[j] = std::max(place.x[j] - h, low);
    up.cost = cost(up.x, &up.gradient);
    down.cost = cost(down.x, &down.gradient);
    if (!std::isfinite(up.cost)) up = place;  // beside a wall: one-sided
    if (!std::isfinite(down.cost)) down = place;
    if (up.x[j] > down.x[j]) {
      result = (up.gradient - down.gradient) / (up.x[j] - down.x[j]);
      if (std::abs(result[j]) * h * h < 0.3) return result;
    }
    h = up.x[j] > down.x[j] ? 0.1 / std::sqrt(std::abs(result[j])) : 0.01 * h;
    up.x = down.x = place.x;
  }
  return result;
}

/// The smallest change of cost that a bend across the whole box stands for; a hollow counts by its size.
Eigen::MatrixXd positive(const Eigen::MatrixXd& H, const Eigen::VectorXd& width, double least_change) {
  const Eigen::MatrixXd scaled = width.asDiagonal() * H * width.asDiagonal();
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> eigen(0.5 * (scaled + scaled.transpose()));
  const Eigen::VectorXd values = eigen.eigenvalues().cwiseAbs().cwiseMax(2.0 * least_change);
  const Eigen::MatrixXd V = width.cwiseInverse().asDiagonal() * eigen.eigenvectors();
  return V * values.asDiagonal() * V.transpose();
}

/// Directions (columns, in `others`) along which the picture bends by 1: its principal axes, but each unknown
/// that lies on a bound by itself.
Eigen::MatrixXd axes_of(const Cost& cost, const Picture& picture, const Place& place,
                        const std::vector<Eigen::Index>& others) {
  std::vector<Eigen::Index> inside, on_bound;
  for (Eigen::Index i = 0; i < static_cast<Eigen::Index>(others.size()); ++i) {
    const Eigen::Index j = others[static_cast<std::size_t>(i)];
    (place.x[j] > cost.lower[j] && place.x[j] < cost.upper[j] ? inside : on_bound).push_back(i);
  }
  const Eigen::MatrixXd H = picture.curvature(others, others);
  const Eigen::VectorXd size = H.diagonal().cwiseSqrt();
  Eigen::MatrixXd axes = size.cwiseInverse().asDiagonal();
  if (inside.empty()) return axes;
  const Eigen::VectorXd scale = widths(cost)(others)(inside);
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> eigen(scale.asDiagonal() * H(inside, inside) *
                                                             scale.asDiagonal());
  const Eigen::VectorXd values = eigen.eigenvalues().cwiseMax(2.0 * picture.least_change);
  axes(inside, inside) =
      scale.asDiagonal() * eigen.eigenvectors() * values.cwiseSqrt().cwiseInverse().asDiagonal();
  return axes;
}

/// The largest share of `step` from x that stays within bounds, at most 1.
double room(const Cost& cost, const Eigen::VectorXd& x, const Eigen::VectorXd& step) {
  double share = 1.0;
  for (Eigen::Index j = 0; j < x.size(); ++j) {
    if (step[j] == 0.0) continue;
    share = std::min(share, ((step[j] > 0.0 ? cost.upper[j] : cost.lower[j]) - x[j]) / step[j]);
  }
  return std::max(share, 0.0);
}

/// The curvature of all unknowns but the held one, anew by one-sided differences along the axes of the old
/// picture: a small share of a standard error along each, so that what is flat is measured by long steps.
/// True: it is a hill along some direction, so that the place is no optimum however small the gradient.
bool look_anew(MeteredCost& cost, Picture& picture, const Place& place, std::size_t held) {
  const std::vector<Eigen::Index> others = others_of(cost.cost, held);
  const Eigen::Index n = static_cast<Eigen::Index>(others.size()), k = static_cast<Eigen::Index>(held);
  const Eigen::MatrixXd axes = axes_of(cost.cost, picture, place, others);
  Eigen::MatrixXd bent = Eigen::MatrixXd::Identity(n, n);  ///< H in units of the axes
  Eigen::VectorXd across = axes.transpose() * picture.curvature(others, k);
  for (Eigen::Index i = 0; i < n; ++i) {
    Eigen::VectorXd step = Eigen::VectorXd::Zero(place.x.size());
    step(others) = axis_step * axes.col(i);
    const double up = room(cost.cost, place.x, step), down = room(cost.cost, place.x, -step);
    const double share = up >= down ? up : -down;
    if (std::abs(share) < 1e-3) continue;
    Place beside;
    beside.x = within(place.x + share * step, cost.cost.lower, cost.cost.upper);
    beside.cost = cost(beside.x, &beside.gradient);
    if (cost.cancelled) return false;
    if (!std::isfinite(beside.cost)) continue;
    const Eigen::VectorXd change = (beside.gradient - place.gradient) / (axis_step * share);
    bent.col(i) = axes.transpose() * change(others);
    across[i] = change[k];
  }
  const Eigen::MatrixXd back = axes.inverse();
  picture.curvature(others, others) = positive(back.transpose() * (0.5 * (bent + bent.transpose())) * back,
                                               widths(cost.cost)(others), picture.least_change);
  picture.curvature(others, k) = back.transpose() * across;
  picture.curvature.row(k) = picture.curvature.col(k).transpose();
  return Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd>(bent).eigenvalues()[0] < -0.1;
}

/// Newton steps from a place that can be evaluated. True: a picture that is not old promises no more than
/// `tolerance`.
bool descend(MeteredCost& cost, Picture& picture, Place& place, std::size_t held, double tolerance) {
  int age = 1000;  ///< steps since the picture was made
  bool hill = false;
  for (int steps = 0; steps < 25 && !cost.cancelled; ++steps) {
    HeldStep next = held_step(cost.cost, picture, place.x, place.gradient, held);
    if (age > 4 && (next.gain < 200.0 * tolerance || steps % 5 == 4)) {
      hill = look_anew(cost, picture, place, held);
      if (cost.cancelled) return false;
      next = held_step(cost.cost, picture, place.x, place.gradient, held);
      age = 0;
    }
    if (hill && age == 0 && next.gain <= 1e-2 * tolerance) return false;
    if (next.gain <= tolerance && !(hill && age == 0)) return true;
    const double slope = place.gradient.dot(next.step);
    if (!(slope < 0.0)) return false;
    double share = 1.0;
    ++age;
    while (true) {
      Place tried;
      tried.x = within(place.x + share * next.step, cost.cost.lower, cost.cost.upper);
      tried.cost = cost(tried.x, &tried.gradient);
      if (cost.cancelled) return false;
      if (std::isfinite(tried.cost)) picture.learn(place, tried);
      if (tried.cost <= place.cost + 1e-4 * share * slope) {
        place = tried;
        break;
      }
      const double bent = tried.cost - place.cost - share * slope;
      share *= std::isfinite(bent) ? std::clamp(-0.5 * share * slope / bent, 0.1, 0.5) : 0.2;
      if (share < 1e-3) return false;
    }
  }
  return false;
}

/// NLopt from the place, the held unknown fixed by its bounds.
bool search_again(MeteredCost& cost, Place& place, std::size_t held, double tolerance) {
  const Eigen::Index k = static_cast<Eigen::Index>(held);
  LogDensity fixed{cost.cost.lower, cost.cost.upper,
                   [&cost](const Eigen::VectorXd& x, Eigen::VectorXd* gradient) {
                     const double value = cost(x, gradient);
                     if (gradient) *gradient = -*gradient;
                     return -value;
                   }};
  fixed.lower[k] = fixed.upper[k] = place.x[k];
  const double before = place.cost;
  std::vector<double> found;
  for (const Method method : {Method::slsqp, Method::subplex}) {
    MinimiseOptions options;
    options.method = method;
    options.most_evaluations = (method == Method::slsqp ? 10 : 30) * static_cast<int>(place.x.size());
    options.cost_tolerance = 1e-2 * tolerance / std::max(1.0, std::abs(place.cost));
    options.x_tolerance = 1e-6;
    options.converged_se = std::sqrt(2.0 * tolerance);
    options.progress = [&cost](const Progress&) { return !cost.cancelled; };
    const Optimum best = minimise(cost_of(fixed), place.x, options);
    if (cost.cancelled) return false;
    if (best.cost < place.cost) {
      place.x = best.x;
      place.cost = cost(best.x, &place.gradient);
    }
    if (best.stop == Stop::converged) return true;
    found.push_back(std::min(best.cost, before));
  }
  // no gradient can say so, at an edge for instance, but neither method finds anything better
  return std::abs(found[0] - found[1]) <= tolerance;
}

}  // namespace

double MeteredCost::operator()(const Eigen::VectorXd& x, Eigen::VectorXd* gradient) {
  if (gradient) gradient->resize(x.size());
  double value = cost.evaluate(x, gradient);
  ++evaluations;
  if (!std::isfinite(value) || (gradient && !gradient->allFinite())) value = infinity;
  if (value < least) {
    least = value;
    least_at = x;
  }
  if (progress && !progress({least, least_at.size() ? &least_at : nullptr, evaluations, fraction}))
    cancelled = true;
  return value;
}

void Picture::learn(const Place& from, const Place& to) {
  const Eigen::VectorXd s = to.x - from.x, Bs = curvature * s;
  const double bent = s.dot(Bs);
  if (!(bent > 0.0)) return;
  Eigen::VectorXd y = to.gradient - from.gradient;
  if (s.dot(y) < 0.2 * bent) {
    const double share = 0.8 * bent / (bent - s.dot(y));
    y = share * y + (1.0 - share) * Bs;
  }
  curvature += y * y.transpose() / s.dot(y) - Bs * Bs.transpose() / bent;
}

Picture picture_of(const Eigen::MatrixXd& second_derivatives, const Cost& cost, double least_change) {
  return {positive(second_derivatives, widths(cost), least_change), least_change};
}

Picture picture_at(MeteredCost& cost, const Place& place, double least_change) {
  const Eigen::Index n = place.x.size();
  Eigen::MatrixXd H(n, n);
  for (Eigen::Index j = 0; j < n && !cost.cancelled; ++j) H.col(j) = bend(cost, place, j);
  if (cost.cancelled) H.setZero();
  return picture_of(H, cost.cost, least_change);
}

HeldStep held_step(const Cost& cost, const Picture& picture, const Eigen::VectorXd& x,
                   const Eigen::VectorXd& gradient, std::size_t held) {
  const std::vector<Eigen::Index> others = others_of(cost, held);
  HeldStep result{Eigen::VectorXd::Zero(x.size())};
  if (others.empty()) return result;
  const Eigen::MatrixXd H = picture.curvature(others, others);
  const Eigen::VectorXd g = gradient(others), at = x(others);
  const Eigen::VectorXd size = H.diagonal().cwiseSqrt();
  const Eigen::LLT<Eigen::MatrixXd> root(size.cwiseInverse().asDiagonal() * H *
                                         size.cwiseInverse().asDiagonal());
  if (root.info() != Eigen::Success) return {result.step, infinity};
  const Eigen::VectorXd reach = 0.3 * widths(cost)(others);
  const Eigen::VectorXd low = (cost.lower(others) - at).cwiseMax(-reach).cwiseMin(0.0);
  const Eigen::VectorXd high = (cost.upper(others) - at).cwiseMin(reach).cwiseMax(0.0);
  const Eigen::MatrixXd A = root.matrixU();
  const Eigen::VectorXd target = -root.matrixL().solve(g.cwiseQuotient(size));
  const Eigen::VectorXd scaled =
      bounded_linear_least_squares(A, target, size.cwiseProduct(low), size.cwiseProduct(high));
  result.step(others) = scaled.cwiseQuotient(size);
  const Eigen::VectorXd moved = A * scaled;
  result.gain = std::max(0.0, moved.dot(target) - 0.5 * moved.squaredNorm());
  return result;
}

HeldOptimum search_held(MeteredCost& cost, Picture& picture, const std::vector<Eigen::VectorXd>& starts,
                        std::size_t held, double tolerance) {
  HeldOptimum result;
  Place& place = result.place;
  for (const Eigen::VectorXd& start : starts) {
    place.x = within(start, cost.cost.lower, cost.cost.upper);
    place.cost = cost(place.x, &place.gradient);
    if (cost.cancelled) return result;
    if (std::isfinite(place.cost)) break;
  }
  if (!std::isfinite(place.cost)) return result;
  result.sure = descend(cost, picture, place, held, tolerance);
  if (!result.sure && !cost.cancelled) result.sure = search_again(cost, place, held, tolerance);
  return result;
}

}  // namespace stoverturn
