/// Draws against distributions that are known exactly, and against another sampler's.
#include <cmath>

#include <Eigen/Cholesky>
#include <boost/math/distributions/normal.hpp>

#include "fitting/effective_draws.hpp"
#include "fitting/sampler.hpp"
#include "tests/catch.hpp"

using namespace stoverturn;

namespace {

LogDensities by_point(std::function<double(const Eigen::VectorXd&)> density) {
  return [density](const Eigen::MatrixXd& points, Eigen::VectorXd& values) {
    for (Eigen::Index i = 0; i < points.cols(); ++i) values[i] = density(points.col(i));
  };
}

struct Mean {
  double value, deviation;  ///< Monte-Carlo error of the value
};

/// Mean of something over the draws, its error from its own effective number of draws.
Mean mean_of(const Chains& chains, const std::function<double(const Eigen::VectorXd&)>& f) {
  Eigen::VectorXd values(chains.draws.cols());
  for (Eigen::Index i = 0; i < values.size(); ++i) values[i] = f(chains.draws.col(i));
  const double mean = values.mean();
  const double variance = (values.array() - mean).square().mean();
  const Eigen::MatrixXd walkers = values.reshaped(chains.walkers, chains.steps).transpose();
  return {mean, std::sqrt(variance / effective_draws(in_halves(walkers)))};
}

LogDensities normal_of(const Eigen::MatrixXd& covariance) {
  const Eigen::LLT<Eigen::MatrixXd> factor(covariance);
  return [factor](const Eigen::MatrixXd& points, Eigen::VectorXd& values) {
    values = -0.5 * factor.matrixL().solve(points).colwise().squaredNorm().transpose();
  };
}

Eigen::VectorXd all(int n, double x) { return Eigen::VectorXd::Constant(n, x); }

/// Ten unknowns, standard normal, each correlated with each by 0.99.
Eigen::MatrixXd narrow() {
  Eigen::MatrixXd covariance = Eigen::MatrixXd::Constant(10, 10, 0.99);
  covariance.diagonal().setOnes();
  return covariance;
}

void check_mean(const Chains& chains, double exact, const std::function<double(const Eigen::VectorXd&)>& f) {
  const Mean mean = mean_of(chains, f);
  CAPTURE(mean.value, exact, mean.deviation);
  // four Monte-Carlo deviations of the mean: by chance in 6 of 100,000
  CHECK(std::abs(mean.value - exact) < 4.0 * mean.deviation);
}

}  // namespace

TEST_CASE("sampler: ten unknowns correlated by 0.99, as the normal distribution says", "[fitting][sampler]") {
  SamplerOptions options;
  options.seed = 3;
  const Chains chains =
      sample(normal_of(narrow()), all(10, 0.0), all(10, 0.5), all(10, -50.0), all(10, 50.0), options);
  const ChainReport report = judge(chains);
  INFO(report.why);
  CHECK(report.converged);
  const double z95 = boost::math::quantile(boost::math::normal(), 0.95);
  for (int j = 0; j < 10; ++j) {
    check_mean(chains, 0.0, [j](const Eigen::VectorXd& x) { return x[j]; });
    check_mean(chains, 1.0, [j](const Eigen::VectorXd& x) { return x[j] * x[j]; });
    check_mean(chains, 0.99, [j](const Eigen::VectorXd& x) { return x[j] * x[(j + 1) % 10]; });
    check_mean(chains, 0.9, [&](const Eigen::VectorXd& x) { return std::abs(x[j]) < z95 ? 1.0 : 0.0; });
  }
  // the narrow directions: a difference of two has the variance 0.02
  check_mean(chains, 0.02, [](const Eigen::VectorXd& x) { return (x[0] - x[9]) * (x[0] - x[9]); });
}

TEST_CASE("sampler: the same begun far away is refused when stopped early", "[fitting][sampler]") {
  SamplerOptions options;
  const auto run = [&] {
    return judge(
        sample(normal_of(narrow()), all(10, 30.0), all(10, 0.05), all(10, -50.0), all(10, 50.0), options));
  };
  options.draws = 4800;
  CHECK_FALSE(run().converged);
  options.draws = 100000;
  const ChainReport report = run();
  INFO(report.why);
  CHECK(report.converged);
}

TEST_CASE("sampler: a twisted normal distribution has its moments", "[fitting][sampler]") {
  // Haario, Saksman and Tamminen 1999, Computational Statistics 14, 375-395: x1 ~ N(0, 100) and x2 ~ N(0, 1)
  // bent by b = 0.03: x2 - b x1^2 + 100 b. Then mean 0, variances 100 and 1 + b^2 2 100^2, mean of x1^2 x2 -b
  // 2 100^2, and what is bent is straight again. Over 30 seeds the deviations were 0.9 to 1.1 times the
  // Monte-Carlo errors, of the two with x1^4, which live on the far ends, 1.6 times.
  constexpr double b = 0.03;
  SamplerOptions options;
  options.draws = 200000;
  const Chains chains = sample(by_point([](const Eigen::VectorXd& x) {
                                 const double straight = x[1] + b * x[0] * x[0] - 100.0 * b;
                                 return -0.5 * (x[0] * x[0] / 100.0 + straight * straight);
                               }),
                               all(2, 0.0), all(2, 1.0), all(2, -1e4), all(2, 1e4), options);
  const ChainReport report = judge(chains);
  INFO(report.why);
  CHECK(report.converged);
  check_mean(chains, 0.0, [](const Eigen::VectorXd& x) { return x[0]; });
  check_mean(chains, 0.0, [](const Eigen::VectorXd& x) { return x[1]; });
  check_mean(chains, 100.0, [](const Eigen::VectorXd& x) { return x[0] * x[0]; });
  check_mean(chains, 1.0 + b * b * 2e4, [](const Eigen::VectorXd& x) { return x[1] * x[1]; });
  check_mean(chains, -b * 2e4, [](const Eigen::VectorXd& x) { return x[0] * x[0] * x[1]; });
  check_mean(chains, 1.0,
             [](const Eigen::VectorXd& x) { return std::pow(x[1] + b * x[0] * x[0] - 100.0 * b, 2); });
}

TEST_CASE("sampler: a normal distribution cut off at a bound has its mean", "[fitting][sampler]") {
  // Johnson, Kotz and Balakrishnan 1994, Continuous Univariate Distributions 1, section 13.10 (from memory):
  // above a, mean lambda = pdf(a) / (1 - cdf(a)), variance 1 + a lambda - lambda^2
  const boost::math::normal standard;
  const double a = 0.5, lambda = pdf(standard, a) / cdf(complement(standard, a));
  Eigen::VectorXd lower = all(3, -20.0);
  lower[0] = a;
  SamplerOptions options;
  const Chains chains = sample(normal_of(Eigen::MatrixXd::Identity(3, 3)), all(3, a), all(3, 0.3), lower,
                               all(3, 20.0), options);
  CHECK(judge(chains).why.empty());
  check_mean(chains, lambda, [](const Eigen::VectorXd& x) { return x[0]; });
  check_mean(chains, 1.0 + a * lambda, [](const Eigen::VectorXd& x) { return x[0] * x[0]; });
  check_mean(chains, 0.0, [](const Eigen::VectorXd& x) { return x[1]; });
}

TEST_CASE("sampler: walkers go from one mode to another", "[fitting][sampler]") {
  // 30 % at -5, 70 % at 5, both with unit variances, ten deviations apart: nobody walks across. In five
  // unknowns the usual moves are 0.75 of a difference and end between the modes; whole ones are needed.
  SamplerOptions options;
  options.draws = 200000;
  const Chains chains = sample(by_point([](const Eigen::VectorXd& x) {
                                 const double left = std::pow(x[0] + 5.0, 2), right = std::pow(x[0] - 5.0, 2);
                                 return std::log(0.3 * std::exp(-0.5 * left) + 0.7 * std::exp(-0.5 * right)) -
                                        0.5 * x.tail(4).squaredNorm();
                               }),
                               all(5, 0.0), all(5, 4.0), all(5, -30.0), all(5, 30.0), options);
  const ChainReport report = judge(chains);
  INFO(report.why);
  CHECK(report.converged);
  check_mean(chains, 0.3, [](const Eigen::VectorXd& x) { return x[0] < 0.0 ? 1.0 : 0.0; });
  check_mean(chains, 26.0, [](const Eigen::VectorXd& x) { return x[0] * x[0]; });
}

TEST_CASE("sampler: a double exponential as another sampler has it", "[fitting][sampler]") {
  // data, bounds and numbers of tests/reference/double_exponential_emcee.py: emcee 3.1.4, stretch moves
  const Eigen::ArrayXd day{{0, 30, 60, 90, 120, 150, 180, 360, 540}};
  const Eigen::ArrayXd left{{100, 68.664, 50.699, 47.241, 43.427, 39.017, 37.224, 35.027, 32.710}};
  struct Golden {
    double mean, sd, q05, q50, q95, effective;
  };
  const Golden golden[] = {{0.46021, 0.14448, 0.19545, 0.48044, 0.66539, 55295},
                           {-3.74380, 0.15213, -3.97218, -3.75608, -3.47402, 63868},
                           {-8.83208, 1.24725, -11.14688, -8.55637, -7.21174, 46294}};
  SamplerOptions options;
  options.draws = 200000;
  const Chains chains = sample(
      by_point([&](const Eigen::VectorXd& z) {
        const double a = 1.0 / (1.0 + std::exp(-z[0]));
        const Eigen::ArrayXd curve =
            100.0 * (a * (-std::exp(z[1]) * day).exp() + (1.0 - a) * (-std::exp(z[2]) * day).exp());
        return -0.5 * ((left - curve) / 3.0).square().sum();
      }),
      Eigen::Vector3d(0.4, -3.7, -7.8), all(3, 0.05), Eigen::Vector3d(-4.0, std::log(0.005), std::log(1e-5)),
      Eigen::Vector3d(4.0, std::log(0.5), std::log(0.005)), options);
  const ChainReport report = judge(chains, {"logit a", "ln k1", "ln k2"});
  INFO(report.why);
  CHECK(report.converged);
  for (int j = 0; j < 3; ++j) {
    const Golden& of = golden[j];
    // Four deviations of the difference, both samplers' errors in it. Of a quantile the share below it is
    // compared. emcee's number of effective draws is that of the mean; of other quantities it is taken as
    // half, which is what tails and squares may cost.
    const auto agrees = [&](double theirs, double variance, double effective, const auto& f) {
      const Mean mean = mean_of(chains, f);
      CAPTURE(j, mean.value, theirs, mean.deviation);
      CHECK(std::abs(mean.value - theirs) <
            4.0 * std::sqrt(mean.deviation * mean.deviation + variance / effective));
    };
    agrees(of.mean, of.sd * of.sd, of.effective, [j](const Eigen::VectorXd& z) { return z[j]; });
    const double fourth =
        mean_of(chains, [&](const Eigen::VectorXd& z) { return std::pow(z[j] - of.mean, 4); }).value;
    agrees(of.sd * of.sd, fourth - std::pow(of.sd, 4), 0.5 * of.effective,
           [&](const Eigen::VectorXd& z) { return std::pow(z[j] - of.mean, 2); });
    for (const auto& [share, at] : {std::pair{0.05, of.q05}, {0.5, of.q50}, {0.95, of.q95}}) {
      agrees(share, share * (1.0 - share), 0.5 * of.effective,
             [&, limit = at](const Eigen::VectorXd& z) { return z[j] <= limit ? 1.0 : 0.0; });
    }
  }
}
