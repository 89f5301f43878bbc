#include "fitting/robust.hpp"

#include <algorithm>
#include <cmath>

namespace stoverturn {
namespace {

constexpr double huber_c = 1.345, tukey_c = 4.685, student_nu = 4.0;

Eigen::VectorXd weights_of(Loss loss, const Eigen::VectorXd& residuals, double scale) {
  return residuals.unaryExpr([&](double r) { return loss_at(loss, r / scale).weight; });
}

LeastSquares weighted(const LeastSquares& problem, const Eigen::VectorXd& weights) {
  LeastSquares result = problem;
  result.evaluate = [&problem, roots = Eigen::VectorXd(weights.cwiseSqrt())](
                        const Eigen::VectorXd& x, Eigen::VectorXd& r, Eigen::MatrixXd* J) {
    if (!problem.evaluate(x, r, J)) return false;
    r = r.cwiseProduct(roots);
    if (J) *J = roots.asDiagonal() * *J;
    return true;
  };
  return result;
}

double smallest_scale(const Eigen::VectorXd& residuals) {
  return 1e-12 * residuals.cwiseAbs().maxCoeff() + std::numeric_limits<double>::min();
}

struct Reweighting {
  const LeastSquares& problem;
  const RobustOptions& options;
  RobustFit result = {};
  int evaluations = 0, derivatives = 0, iterations = 0;

  bool refit() {
    LeastSquares inner = weighted(problem, result.weights);
    LeastSquaresFit fit = fit_least_squares(inner, result.fit.x, options.inner);
    evaluations += fit.evaluations;
    derivatives += fit.derivatives;
    iterations += fit.iterations;
    const bool good = fit.stop != Stop::bad_start && fit.stop != Stop::cancelled;
    result.fit = std::move(fit);
    if (result.fit.stop != Stop::bad_start) {
      problem.evaluate(result.fit.x, result.fit.residuals, &result.fit.jacobian);
    }
    return good;
  }

  /// Fits to the three quarters of residuals that are smallest, until these stay the same (the concentration
  /// steps of Rousseeuw and Van Driessen 1999, Technometrics 41, 212-223).
  bool concentrate() {
    const Eigen::Index n = result.weights.size();
    const Eigen::Index kept = std::min(n, std::max((3 * n + 3) / 4, result.fit.x.size() + 1));
    for (int round = 0; round < 50; ++round) {
      const Eigen::VectorXd sizes = result.fit.residuals.cwiseAbs();
      std::vector<double> sorted(sizes.data(), sizes.data() + n);
      std::nth_element(sorted.begin(), sorted.begin() + kept - 1, sorted.end());
      const double largest = sorted[static_cast<std::size_t>(kept) - 1];
      const Eigen::VectorXd weights = (sizes.array() <= largest).cast<double>();
      if (round > 0 && weights == result.weights) return true;
      result.weights = weights;
      if (!refit()) return false;
    }
    return true;
  }

  /// Minimises one loss; `rescale` gives the scale from the residuals before each round, 0 keeps it.
  template <class Rescale>
  bool run(Loss loss, Rescale rescale) {
    for (int round = 0; round < options.most_rounds; ++round) {
      ++result.rounds;
      const double scale = rescale();
      const double change = std::abs(scale - result.scale) / scale;
      result.scale = scale;
      const Eigen::VectorXd weights = weights_of(loss, result.fit.residuals, scale);
      const double moved = (weights - result.weights).cwiseAbs().maxCoeff();
      result.weights = weights;
      if (round > 0 && moved < 1e-9 && change < 1e-9) return true;
      if (!refit()) return false;
    }
    result.fit.stop = Stop::evaluations_spent;
    result.fit.why = "limit of reweighting rounds";
    return false;
  }
};

void finish(Reweighting& work) {
  RobustFit& result = work.result;
  const Loss loss = work.options.loss;
  double total = 0.0, squares = 0.0, bends = 0.0;
  for (Eigen::Index i = 0; i < result.fit.residuals.size(); ++i) {
    const double u = result.fit.residuals[i] / result.scale;
    const LossAt at = loss_at(loss, u);
    total += at.loss;
    squares += at.psi * at.psi;
    bends += at.bend;
    if (std::abs(u) > 3.5) result.outliers.push_back(static_cast<std::size_t>(i));
  }
  result.fit.cost = total * result.scale * result.scale;
  result.fit.evaluations = work.evaluations;
  result.fit.derivatives = work.derivatives;
  result.fit.iterations = work.iterations;
  const double n = static_cast<double>(result.fit.residuals.size());
  const double p = static_cast<double>(result.fit.x.size());
  result.covariance = covariance_of(result.fit, Spread::known);
  const double freedom = std::max(1.0, n - p);
  result.covariance.freedom = work.options.spread == Spread::estimated ? static_cast<int>(freedom) : 0;
  result.covariance.variance_scale =
      result.scale * result.scale * (squares / freedom) / std::pow(bends / n, 2);
  result.covariance.matrix *= result.covariance.variance_scale;
  result.covariance.se *= std::sqrt(result.covariance.variance_scale);
}

}  // namespace

LossAt loss_at(Loss loss, double u) {
  const double size = std::abs(u);
  switch (loss) {
    case Loss::squares:
      break;
    case Loss::huber:
      if (size <= huber_c) break;
      return {huber_c * (size - 0.5 * huber_c), std::copysign(huber_c, u), huber_c / size, 0.0};
    case Loss::tukey: {
      const double v = u / tukey_c, rest = 1.0 - v * v, most = tukey_c * tukey_c / 6.0;
      if (size >= tukey_c) return {most, 0.0, 0.0, 0.0};
      return {most * (1.0 - rest * rest * rest), u * rest * rest, rest * rest, rest * (1.0 - 5.0 * v * v)};
    }
    case Loss::student: {
      const double sum = student_nu + u * u, more = student_nu + 1.0;
      return {0.5 * more * std::log1p(u * u / student_nu), more * u / sum, more / sum,
              more * (student_nu - u * u) / (sum * sum)};
    }
  }
  return {0.5 * u * u, u, 1.0, 1.0};
}

double robust_scale(const Eigen::VectorXd& residuals, Eigen::Index parameters) {
  std::vector<double> sizes(residuals.data(), residuals.data() + residuals.size());
  for (double& size : sizes) size = std::abs(size);
  std::sort(sizes.begin(), sizes.end());
  const std::size_t skip = std::min(static_cast<std::size_t>(parameters), sizes.size() - 1);
  const std::size_t left = sizes.size() - skip;
  const double median =
      left % 2 == 1 ? sizes[skip + left / 2] : 0.5 * (sizes[skip + left / 2 - 1] + sizes[skip + left / 2]);
  return std::max(median / 0.6744897501960817, smallest_scale(residuals));  // normal quantile of 3/4
}

RobustFit fit_robust(const LeastSquares& problem, const Eigen::VectorXd& start,
                     const RobustOptions& options) {
  const bool known = options.spread == Spread::known;
  const Eigen::Index n = static_cast<Eigen::Index>(problem.residuals);
  Reweighting work{problem, options};
  RobustFit& result = work.result;
  result.fit.x = start;
  result.weights.setOnes(n);
  if (!work.refit()) return result;
  const double freedom = std::max(1.0, static_cast<double>(n - start.size()));
  const auto least = [&] { return smallest_scale(result.fit.residuals); };
  const auto by_squares = [&](const Eigen::VectorXd& weights) {
    return std::max(std::sqrt(weights.dot(result.fit.residuals.cwiseAbs2()) / freedom), least());
  };
  if (options.loss == Loss::squares) {
    result.scale = known ? 1.0 : by_squares(result.weights);
    finish(work);
    return result;
  }

  // an outlier may have carried the plain fit away for good: a second way begins at the start itself
  if (!work.concentrate()) return result;
  const LeastSquaresFit from_plain = result.fit;
  result.fit.x = within(start, problem.lower, problem.upper);
  problem.evaluate(result.fit.x, result.fit.residuals, &result.fit.jacobian);
  if (!work.concentrate() && result.fit.stop == Stop::cancelled) return result;
  const auto scale_of = [&](const LeastSquaresFit& fit) { return robust_scale(fit.residuals, fit.x.size()); };
  if (scale_of(from_plain) <= scale_of(result.fit)) result.fit = from_plain;

  const auto by_median = [&] { return known ? 1.0 : std::max(scale_of(result.fit), least()); };
  const auto as_is = [&] { return result.scale; };
  const auto by_likelihood = [&] {
    return known ? 1.0 : by_squares(weights_of(Loss::student, result.fit.residuals, result.scale));
  };
  result.weights.setZero(n);
  if (work.run(Loss::huber, by_median)) {
    if (options.loss == Loss::tukey) work.run(Loss::tukey, as_is);
    if (options.loss == Loss::student) work.run(Loss::student, by_likelihood);
  }
  finish(work);
  return result;
}

}  // namespace stoverturn
