#include "fitting/decay_curves.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <utility>

#include <boost/math/tools/roots.hpp>

namespace stoverturn {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

void check(const DecayData& data, const CurveOptions& options) {
  const std::size_t n = data.time.size();
  if (data.left.size() != n || (!data.sd.empty() && data.sd.size() != n)) {
    throw std::invalid_argument("times, masses and deviations must be equally many");
  }
  if (options.spread == Spread::known && data.sd.empty()) {
    throw std::invalid_argument("known deviations are not given");
  }
  for (std::size_t i = 0; i < n; ++i) {
    if (!std::isfinite(data.time[i]) || data.time[i] < 0.0 || !std::isfinite(data.left[i])) {
      throw std::invalid_argument("times must be 0 or more, masses finite");
    }
    if (!data.sd.empty() && !(data.sd[i] > 0.0)) throw std::invalid_argument("deviations must be above zero");
  }
  const auto [first, last] = std::minmax_element(data.time.begin(), data.time.end());
  if (n == 0 || *first == *last) throw std::invalid_argument("a curve needs two different times");
}

double first_time(const DecayData& data) {
  double first = infinity;
  for (const double t : data.time) {
    if (t > 0.0) first = std::min(first, t);
  }
  return first;
}

LeastSquares problem_of(Curve curve, const DecayData& data, const CurveOptions& options) {
  const double fastest = 50.0 / first_time(data);
  LeastSquares problem;
  problem.residuals = data.time.size();
  std::vector<double> upper;
  switch (curve) {
    case Curve::exponential:
      upper = {fastest};
      break;
    case Curve::double_exponential:
      upper = {1.0, fastest, fastest};
      break;
    case Curve::asymptotic:
      upper = {1.0, fastest};
      break;
    case Curve::weibull:
      upper = {fastest, 20.0};
      break;
  }
  const Eigen::Index own = static_cast<Eigen::Index>(upper.size());
  if (options.estimate_start) upper.push_back(infinity);
  problem.upper = Eigen::Map<Eigen::VectorXd>(upper.data(), static_cast<Eigen::Index>(upper.size()));
  problem.lower.setZero(problem.upper.size());
  if (curve == Curve::weibull) {  // (k t)^c has no derivative at k = 0; a rate this low loses nothing
    problem.lower[0] = 1e-9 * fastest;
    problem.lower[1] = 0.05;
  }
  problem.evaluate = [=, &data](const Eigen::VectorXd& x, Eigen::VectorXd& r, Eigen::MatrixXd* J) {
    const Eigen::VectorXd p = x.head(own);
    const double start = options.estimate_start ? x[own] : options.start;
    Eigen::VectorXd slope(own);
    for (std::size_t i = 0; i < data.time.size(); ++i) {
      const Eigen::Index row = static_cast<Eigen::Index>(i);
      const double weight = data.sd.empty() ? 1.0 : 1.0 / data.sd[i];
      const double share = share_left(curve, p, data.time[i], J ? &slope : nullptr);
      r[row] = weight * (start * share - data.left[i]);
      if (!J) continue;
      J->row(row).head(own) = weight * start * slope.transpose();
      if (options.estimate_start) (*J)(row, own) = weight * share;
    }
    return true;
  };
  return problem;
}

/// Rate and start of the straight line through the logarithms, good enough to begin with.
std::pair<double, double> straight_line(const DecayData& data, const CurveOptions& options) {
  double top = options.start;
  if (options.estimate_start) top = *std::max_element(data.left.begin(), data.left.end());
  double sum_tt = 0.0, sum_ty = 0.0;
  for (std::size_t i = 0; i < data.time.size(); ++i) {
    const double share = std::clamp(data.left[i] / top, 1e-3, 1.0);
    sum_tt += data.time[i] * data.time[i];
    sum_ty -= data.time[i] * std::log(share);
  }
  const double slowest = 1e-3 / *std::max_element(data.time.begin(), data.time.end());
  return {std::max(slowest, sum_ty / sum_tt), top};
}

std::vector<Eigen::VectorXd> starts_of(Curve curve, const DecayData& data, const CurveOptions& options) {
  const auto [k, top] = straight_line(data, options);
  std::vector<std::vector<double>> grid;
  switch (curve) {
    case Curve::exponential:
      grid = {{k}, {3.0 * k}, {k / 3.0}};
      break;
    case Curve::asymptotic:
      for (const double a : {0.0, 0.2, 0.5, 0.8})
        grid.insert(grid.end(), {{a, 1.5 * k}, {a, 5.0 * k}, {a, 20.0 * k}});
      break;
    case Curve::weibull:
      for (const double c : {0.4, 0.7, 1.0, 1.6, 3.0}) grid.push_back({k, c});
      break;
    case Curve::double_exponential:
      for (const double a : {0.2, 0.5, 0.8}) {
        for (const double fast : {2.0, 6.0, 30.0})
          grid.insert(grid.end(), {{a, fast * k, 0.6 * k}, {a, fast * k, 0.05 * k}});
      }
      break;
  }
  if (curve != Curve::exponential) {  // never worse than the simpler curve it contains
    const Eigen::VectorXd simple = fit_curve(Curve::exponential, data, options).fit.x;
    if (curve == Curve::weibull) grid.push_back({simple[0], 1.0});
    if (curve == Curve::asymptotic) grid.push_back({0.0, simple[0]});
    if (curve == Curve::double_exponential) grid.push_back({0.5, simple[0], simple[0]});
  }
  if (curve == Curve::double_exponential) {
    const Eigen::VectorXd level = fit_curve(Curve::asymptotic, data, options).fit.x;
    grid.push_back({1.0 - level[0], level[1], 0.0});
  }
  std::vector<Eigen::VectorXd> starts;
  for (std::vector<double>& values : grid) {
    if (options.estimate_start) values.push_back(top);
    starts.push_back(Eigen::Map<Eigen::VectorXd>(values.data(), static_cast<Eigen::Index>(values.size())));
  }
  return starts;
}

Estimate time_estimate(const CurveFit& result, double share) {
  const Eigen::Index own = static_cast<Eigen::Index>(curve_parameters(result.curve).size());
  const Eigen::VectorXd p = result.fit.x.head(own);
  Estimate time{time_to_share(result.curve, p, share), std::numeric_limits<double>::quiet_NaN()};
  if (!std::isfinite(time.value) || !result.covariance.ok) return time;
  Eigen::VectorXd slope(own);
  share_left(result.curve, p, time.value, &slope);
  slope /= -share_slope(result.curve, p, time.value);
  double variance = 0.0;
  for (Eigen::Index i = 0; i < own; ++i) {
    for (Eigen::Index j = 0; j < own; ++j) {
      const bool held = result.covariance.held[static_cast<std::size_t>(i)] ||
                        result.covariance.held[static_cast<std::size_t>(j)];
      if (!held) variance += slope[i] * slope[j] * result.covariance.matrix(i, j);
    }
  }
  time.se = std::sqrt(variance);
  return time;
}

}  // namespace

std::vector<std::string_view> curve_parameters(Curve curve) {
  switch (curve) {
    case Curve::exponential:
      return {"k"};
    case Curve::double_exponential:
      return {"a", "k1", "k2"};
    case Curve::asymptotic:
      return {"a", "k"};
    case Curve::weibull:
      return {"k", "c"};
  }
  return {};
}

double share_left(Curve curve, const Eigen::VectorXd& p, double t, Eigen::VectorXd* d) {
  switch (curve) {
    case Curve::exponential: {
      const double e = std::exp(-p[0] * t);
      if (d) *d << -t * e;
      return e;
    }
    case Curve::double_exponential: {
      const double a = p[0], fast = std::exp(-p[1] * t), slow = std::exp(-p[2] * t);
      if (d) *d << fast - slow, -a * t * fast, -(1.0 - a) * t * slow;
      return a * fast + (1.0 - a) * slow;
    }
    case Curve::asymptotic: {
      const double a = p[0], e = std::exp(-p[1] * t);
      if (d) *d << 1.0 - e, -(1.0 - a) * t * e;
      return a + (1.0 - a) * e;
    }
    case Curve::weibull: {
      const double k = p[0], c = p[1], power = std::pow(k * t, c), e = std::exp(-power);
      if (d) *d << -c / k * power * e, t > 0.0 ? -std::log(k * t) * power * e : 0.0;
      return e;
    }
  }
  return 0.0;
}

double share_slope(Curve curve, const Eigen::VectorXd& p, double t) {
  switch (curve) {
    case Curve::exponential:
      return -p[0] * std::exp(-p[0] * t);
    case Curve::double_exponential:
      return -p[0] * p[1] * std::exp(-p[1] * t) - (1.0 - p[0]) * p[2] * std::exp(-p[2] * t);
    case Curve::asymptotic:
      return -(1.0 - p[0]) * p[1] * std::exp(-p[1] * t);
    case Curve::weibull: {
      const double power = std::pow(p[0] * t, p[1]);
      return -p[1] / t * power * std::exp(-power);
    }
  }
  return 0.0;
}

double time_to_share(Curve curve, const Eigen::VectorXd& p, double share) {
  const double nepers = -std::log(share);
  switch (curve) {
    case Curve::exponential:
      return nepers / p[0];
    case Curve::asymptotic:
      return share > p[0] ? -std::log((share - p[0]) / (1.0 - p[0])) / p[1] : infinity;
    case Curve::weibull:
      return std::pow(nepers, 1.0 / p[1]) / p[0];
    case Curve::double_exponential:
      break;
  }
  const double fast = std::max(p[1], p[2]), slow = std::min(p[1], p[2]);
  const double stays = slow > 0.0 ? 0.0 : p[1] > 0.0 ? 1.0 - p[0] : p[2] > 0.0 ? p[0] : 1.0;
  if (share <= stays) return infinity;
  const auto above = [&](double t) { return share_left(curve, p, t) - share; };
  double low = nepers / fast, high = slow > 0.0 ? nepers / slow : 2.0 * low;
  while (above(high) > 0.0) {
    if (high > 1e30 * low) return infinity;
    high *= 2.0;
  }
  if (above(low) <= 0.0) return low;
  std::uintmax_t most = 200;
  const auto [from, to] = boost::math::tools::toms748_solve(
      above, low, high, boost::math::tools::eps_tolerance<double>(50), most);
  return 0.5 * (from + to);
}

CurveFit fit_curve(Curve curve, const DecayData& data, const CurveOptions& options) {
  check(data, options);
  const LeastSquares problem = problem_of(curve, data, options);
  CurveFit result;
  result.curve = curve;
  MultiStartOptions agreement;
  agreement.same_cost = 0.0;  // masses may be in any unit
  agreement.same_relative = 1e-6;
  result.starts = search_from(
      starts_of(curve, data, options),
      [&](const Eigen::VectorXd& start, const KeepGoing&) -> Optimum {
        return fit_least_squares(problem, start);
      },
      agreement);
  Eigen::VectorXd x = result.starts.best.x;
  if (curve == Curve::double_exponential && x[2] > x[1]) {
    x[0] = 1.0 - x[0];
    std::swap(x[1], x[2]);
  }
  result.fit = fit_least_squares(problem, x);
  result.covariance = covariance_of(result.fit, options.spread);
  result.criteria = information_criteria(result.fit, options.spread, data.sd);
  result.half_life = time_estimate(result, 0.5);
  result.time_to_5_percent = time_estimate(result, 0.05);
  return result;
}

double predicted(const CurveFit& fit, const CurveOptions& options, double t) {
  const Eigen::Index own = static_cast<Eigen::Index>(curve_parameters(fit.curve).size());
  const double start = options.estimate_start ? fit.fit.x[own] : options.start;
  return start * share_left(fit.curve, fit.fit.x.head(own), t);
}

}  // namespace stoverturn
