#include "fitting/trial_design.hpp"

#include <cmath>

#include "tests/catch.hpp"

using namespace stoverturn;

namespace {

/// A straight line a + b t, seen on days 0 to 10.
DesignProblem line() {
  DesignProblem problem{{{}}, Eigen::MatrixXd::Zero(2, 2)};
  for (int t = 0; t <= 10; ++t) {
    const Eigen::Vector2d row(1.0, t);
    problem.information[0].push_back(row * row.transpose());
  }
  return problem;
}

/// exp(-k t) of rates k, on the logarithm of k, every 5 days.
DesignProblem decay(const std::vector<double>& rates) {
  DesignProblem problem{{}, Eigen::MatrixXd::Zero(1, 1)};
  for (const double k : rates) {
    std::vector<Eigen::MatrixXd> days;
    for (int t = 5; t <= 200; t += 5) {
      days.push_back(Eigen::MatrixXd::Constant(1, 1, std::pow(k * t * std::exp(-k * t), 2)));
    }
    problem.information.push_back(days);
  }
  return problem;
}

LeastSquares exponential(const std::vector<double>& days, double sd) {
  LeastSquares p{days.size(), Eigen::VectorXd::Constant(1, -10.0), Eigen::VectorXd::Constant(1, 1.0), {}};
  p.evaluate = [days, sd](const Eigen::VectorXd& z, Eigen::VectorXd& r, Eigen::MatrixXd* jacobian) {
    const double k = std::exp(z[0]);
    const auto n = static_cast<Eigen::Index>(days.size());
    r.resize(n);
    if (jacobian) jacobian->resize(n, 1);
    for (Eigen::Index i = 0; i < n; ++i) {
      const double t = days[static_cast<std::size_t>(i)];
      r[i] = std::exp(-k * t) / sd;
      if (jacobian) (*jacobian)(i, 0) = -k * t * std::exp(-k * t) / sd;
    }
    return true;
  };
  return p;
}

}  // namespace

TEST_CASE("design: covariance of a straight line, by hand", "[design]") {
  // days 0 and 10, 3 bags each: variance of a is 1/3, of b is 2/(3 x 100)
  const Eigen::MatrixXd covariance = design_covariance(line(), {{0, 10}, 3}, 0);
  CHECK(covariance(0, 0) == Approx(1.0 / 3.0));
  CHECK(covariance(1, 1) == Approx(2.0 / 300.0));
  CHECK(covariance(0, 1) == Approx(-1.0 / 30.0));
  CHECK(design_score(line(), {{0, 10}, 3}) == Approx(0.25 * std::log(1.0 / 3.0 * 2.0 / 300.0)));
  // one day leaves slope or level open
  CHECK(design_covariance(line(), {{4}, 3}, 0).size() == 0);
  CHECK(std::isinf(design_score(line(), {{4}, 3})));
}

TEST_CASE("design: the best days are those of textbooks", "[design]") {
  // a line is told best by its ends; a rate of decay by one pull at 1/k, where t exp(-kt) is largest
  CHECK(best_days(line(), {{4, 5}, 1}, 11).design.days == std::vector<std::size_t>{0, 10});
  CHECK(best_days(decay({0.02}), {{0}, 1}, 40).design.days == std::vector<std::size_t>{9});  // day 50
  CHECK(best_days(decay({0.01}), {{0}, 1}, 40).design.days == std::vector<std::size_t>{19});
  // candidates beyond those named take no part
  CHECK(best_days(line(), {{4, 5}, 1}, 8).design.days == std::vector<std::size_t>{0, 7});
}

TEST_CASE("design: exchange ends at the best of all pairs", "[design]") {
  const DesignProblem problem = decay({0.006, 0.02, 0.05});
  const DesignSearch found = best_days(problem, {{10, 30}, 2}, 40);
  double best = INFINITY;
  for (std::size_t a = 0; a < 40; ++a) {
    for (std::size_t b = a + 1; b < 40; ++b) best = std::min(best, design_score(problem, {{a, b}, 2}));
  }
  CHECK(found.score == Approx(best).epsilon(1e-9));
  CHECK(found.score <= design_score(problem, {{10, 30}, 2}));
  CHECK(found.exchanges > 0);
}

TEST_CASE("design: invented fits are as wide as expected and hold the truth", "[design]") {
  const std::vector<double> days = {20, 60, 120};
  const LeastSquares bags = exponential(days, 0.02);
  const Eigen::VectorXd mean = Eigen::VectorXd::Constant(1, std::log(0.02));
  const Eigen::MatrixXd prior = Eigen::MatrixXd::Constant(1, 1, 1.0 / 0.09);
  constexpr int trials = 400;
  // truths from the prior, by quantiles: Sobol would do; sum of uniform steps is enough for an average
  Eigen::MatrixXd truths(1, trials);
  for (int t = 0; t < trials; ++t)
    truths(0, t) = mean[0] + 0.3 * std::sqrt(2.0) * (2.0 * (t + 0.5) / trials - 1.0);
  const InventedFits fits = fit_invented(bags, mean, prior, truths, 3, one_after_the_other);
  int held = 0;
  double ratio = 0.0;
  for (int t = 0; t < trials; ++t) {
    const auto& covariance = fits.covariance[static_cast<std::size_t>(t)];
    REQUIRE(covariance.size() == 1);
    const double k = std::exp(truths(0, t));
    double information = prior(0, 0);
    for (const double day : days) information += std::pow(k * day * std::exp(-k * day) / 0.02, 2);
    ratio += std::sqrt(covariance(0, 0) * information) / trials;
    held += std::abs(fits.estimate(0, t) - truths(0, t)) < 1.644854 * std::sqrt(covariance(0, 0));
  }
  CHECK(ratio == Approx(1.0).epsilon(0.01));  // curvature within 4 % errors of ln k
  CHECK(std::abs(held - 360) < 18);           // 90 % of 400, three standard errors of 6

  const ForEach backwards = [](std::size_t n, const std::function<void(std::size_t)>& work) {
    for (std::size_t i = n; i-- > 0;) work(i);
  };
  CHECK(fit_invented(bags, mean, prior, truths, 3, backwards).estimate == fits.estimate);
  CHECK(fit_invented(bags, mean, prior, truths, 4, backwards).estimate != fits.estimate);
}

TEST_CASE("design: a direction without prior is fitted by bags alone", "[design]") {
  // two levels, their mean known beforehand, their difference not
  LeastSquares two{2, Eigen::Vector2d::Constant(-9.0), Eigen::Vector2d::Constant(9.0), {}};
  two.evaluate = [](const Eigen::VectorXd& z, Eigen::VectorXd& r, Eigen::MatrixXd* jacobian) {
    r = z;
    if (jacobian) *jacobian = Eigen::MatrixXd::Identity(2, 2);
    return true;
  };
  const Eigen::Matrix2d prior = Eigen::Matrix2d::Constant(50.0);
  const InventedFits fits =
      fit_invented(two, Eigen::Vector2d::Zero(), prior, Eigen::MatrixXd::Zero(2, 1), 1, one_after_the_other);
  const Eigen::Vector2d contrast(1.0, -1.0), sum(1.0, 1.0);
  REQUIRE(fits.covariance[0].size() == 4);
  CHECK(contrast.dot(fits.covariance[0] * contrast) == Approx(2.0));        // as without any prior
  CHECK(sum.dot(fits.covariance[0] * sum) == Approx(4.0 / (2.0 + 200.0)));  // 2 of bags, 4 x 50 of the prior
}
