#include "fitting/bootstrap.hpp"

#include <cmath>
#include <numeric>

#include "tests/catch.hpp"

using namespace stoverturn;

namespace {

using Values = std::vector<double>;

std::vector<int> counted(std::size_t n) {
  std::vector<int> result(n);
  std::iota(result.begin(), result.end(), 0);
  return result;
}

double weighted_mean(const Values& y, const Values& weights) {
  double sum = 0.0, weight = 0.0;
  for (std::size_t i = 0; i < y.size(); ++i) {
    sum += weights[i] * y[i];
    weight += weights[i];
  }
  return sum / weight;
}

WeightedFit mean_of(const Values& y) {
  return [y](const Values& weights) { return Eigen::VectorXd::Constant(1, weighted_mean(y, weights)); };
}

double correlation(const Values& x, const Values& y, const Values& weights) {
  const double mx = weighted_mean(x, weights), my = weighted_mean(y, weights);
  double xx = 0.0, xy = 0.0, yy = 0.0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    xx += weights[i] * (x[i] - mx) * (x[i] - mx);
    xy += weights[i] * (x[i] - mx) * (y[i] - my);
    yy += weights[i] * (y[i] - my) * (y[i] - my);
  }
  return xy / std::sqrt(xx * yy);
}

const Values hours = {3, 5, 7, 18, 43, 85, 91, 98, 100, 130, 230, 487};  // aircondit of R's boot

/// A limit from 20000 resamples, against R's mean of 40 such runs with the standard deviation between runs:
/// four of these, and the error of the mean.
void check_limit(double limit, double mean, double sd) { CHECK(limit == Approx(mean).margin(4.2 * sd)); }

}  // namespace

TEST_CASE("bootstrap: percentile and BCa intervals as R's boot has them", "[fitting]") {
  // numbers: tests/reference/uncertainty.R; law schools of Efron and Tibshirani 1993, table 3.1, from memory
  const Values lsat = {576, 635, 558, 578, 666, 580, 555, 661, 651, 605, 653, 575, 545, 572, 594};
  const Values gpa = {3.39, 3.30, 2.81, 3.03, 3.44, 3.07, 3.00, 3.43,
                      3.36, 3.13, 3.12, 2.74, 2.76, 2.88, 2.96};
  BootstrapOptions options;
  options.resamples = 20000;
  const double r = correlation(lsat, gpa, Values(15, 1.0));
  CHECK(r == Approx(0.77637449));
  const Bootstrap law = bootstrap(
      counted(15), std::vector<int>(15, 0), Eigen::VectorXd::Constant(1, r),
      [&](const Values& weights) { return Eigen::VectorXd::Constant(1, correlation(lsat, gpa, weights)); },
      options);
  REQUIRE(law.bca.size() == 1);
  CHECK(law.finished);
  check_limit(law.percentile[0].lower, 0.523064, 0.001954);
  check_limit(law.percentile[0].upper, 0.947308, 0.000843);
  check_limit(law.bca[0].lower, 0.431739, 0.005867);
  check_limit(law.bca[0].upper, 0.926937, 0.001088);

  const Bootstrap air =
      bootstrap(counted(12), std::vector<int>(12, 0),
                Eigen::VectorXd::Constant(1, weighted_mean(hours, Values(12, 1.0))), mean_of(hours), options);
  check_limit(air.percentile[0].lower, 53.385833, 0.292972);
  check_limit(air.percentile[0].upper, 175.869687, 0.779468);
  check_limit(air.bca[0].lower, 62.737936, 0.439957);
  check_limit(air.bca[0].upper, 201.960150, 1.367534);
}

TEST_CASE("bootstrap: cases stay whole, strata keep their numbers", "[fitting]") {
  // case 4 has three observations; strata of 2, 2 and 1 cases
  const std::vector<int> case_of = {4, 4, 4, 1, 2, 3, 9}, stratum_of = {0, 0, 0, 0, 7, 7, 5};
  int fits = 0;
  const Bootstrap result = bootstrap(case_of, stratum_of, Eigen::VectorXd::Zero(1), [&](const Values& w) {
    ++fits;
    CHECK(w[0] == w[1]);
    CHECK(w[0] == w[2]);
    CHECK(w[6] == 1.0);  // alone in its stratum
    const bool resample = fits <= 400;
    CHECK(w[0] + w[3] == (resample ? 2.0 : 1.0 + (w[4] + w[5] < 2.0)));
    if (resample) CHECK(w[4] + w[5] == 2.0);
    return Eigen::VectorXd::Constant(1, w[0] - 1.0 + 10.0 * (w[4] - 1.0));
  });
  CHECK(fits == 404);  // and each of the four cases that have company left out once
  CHECK(result.resamples == 400);
  // both numbers of times are 0, 1, 2 with chances 1/4, 1/2, 1/4: variances 1/2. Four standard errors of a
  // variance of 400 draws: 4 * 50.5 * sqrt(1/400) or so
  const Eigen::VectorXd draws = result.estimates.row(0).transpose();
  const double variance = (draws.array() - draws.mean()).square().mean();
  CHECK(variance == Approx(50.5).margin(10.0));
  CHECK(std::abs(draws.mean()) < 4.0 * std::sqrt(50.5 / 400.0));

  CHECK_THROWS_AS(bootstrap({1, 1}, {0, 1}, Eigen::VectorXd::Zero(1), mean_of({1, 2})),
                  std::invalid_argument);
  CHECK_THROWS_AS(bootstrap({1, 1}, {0}, Eigen::VectorXd::Zero(1), mean_of({1, 2})), std::invalid_argument);
}

TEST_CASE("bootstrap: strata of unequal size bend as the skewness of their sum says", "[fitting]") {
  // A sum of two means: skewness of the estimate is sum(m3/n^2)/sum(m2/n)^1.5 with central moments m2, m3 of
  // each stratum, its standardised density near the normal one; for such a sum the acceleration is a sixth of
  // that (Efron 1987), and the bias correction is the same, Phi^-1(share below). BCa then stretches both
  // limits by z + a z^2 (2 + ...) : compared with limits by the second-order formula z0 + (z0 + z)/(1 - a (z0
  // + z)).
  const Values y = {3, 5, 7, 18, 43, 85, 91, 98, 100, 130, 230, 487, 10, 20, 90};
  std::vector<int> stratum(12, 0);
  stratum.insert(stratum.end(), 3, 1);
  const auto sum_of_means = [&](const Values& w) {
    const Values first(w.begin(), w.begin() + 12), second(w.begin() + 12, w.end());
    return weighted_mean(Values(y.begin(), y.begin() + 12), first) +
           weighted_mean(Values(y.begin() + 12, y.end()), second);
  };
  BootstrapOptions options;
  options.resamples = 4000;
  const double estimate = sum_of_means(Values(15, 1.0));
  const Bootstrap result = bootstrap(
      counted(15), stratum, Eigen::VectorXd::Constant(1, estimate),
      [&](const Values& w) { return Eigen::VectorXd::Constant(1, sum_of_means(w)); }, options);
  double square = 0.0, cube = 0.0;
  for (const auto& [from, n] : {std::pair{0, 12}, std::pair{12, 3}}) {
    const Values part(y.begin() + from, y.begin() + from + n);
    const double mean = weighted_mean(part, Values(part.size(), 1.0));
    double m2 = 0.0, m3 = 0.0;
    for (const double value : part) {
      m2 += std::pow(value - mean, 2) / n;
      m3 += std::pow(value - mean, 3) / n;
    }
    square += m2 / n;
    cube += m3 / (static_cast<double>(n) * n);
  }
  const double a = cube / std::pow(square, 1.5) / 6.0;
  Eigen::VectorXd sorted = result.estimates.row(0).transpose();
  std::sort(sorted.begin(), sorted.end());
  const auto cdf = [](double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); };
  const double below = static_cast<double>((sorted.array() < estimate).count()) / 4000.0;
  double z0 = 0.0;
  for (int i = 0; i < 50; ++i) z0 += (below - cdf(z0)) * std::sqrt(2.0 * M_PI);  // Newton with the slope at 0
  for (const double z : {-1.6448536, 1.6448536}) {
    const double p = cdf(z0 + (z0 + z) / (1.0 - a * (z0 + z)));
    const double want = sorted[static_cast<Eigen::Index>(p * 4001.0) - 1];
    // the next order statistic is at most a fraction of a per cent on
    CHECK((z < 0.0 ? result.bca[0].lower : result.bca[0].upper) == Approx(want).epsilon(0.01));
  }
}

TEST_CASE("bootstrap: the order of the work does not matter, the seed does", "[fitting]") {
  BootstrapOptions options;
  options.resamples = 50;
  const auto run = [&] {
    return bootstrap(counted(12), std::vector<int>(12, 0),
                     Eigen::VectorXd::Constant(1, weighted_mean(hours, Values(12, 1.0))), mean_of(hours),
                     options);
  };
  const Bootstrap forward = run();
  options.for_each = [](std::size_t n, const std::function<void(std::size_t)>& work) {
    while (n-- > 0) work(n);
  };
  const Bootstrap backward = run();
  CHECK(forward.estimates == backward.estimates);
  CHECK(forward.bca[0].lower == backward.bca[0].lower);
  options.seed = 2;
  CHECK(run().estimates != forward.estimates);
  options.seed = 1;
  options.resamples = 30;  // the first of a longer run
  CHECK(run().estimates == forward.estimates.leftCols(30));
}

TEST_CASE("bootstrap: failed fits are counted, a stop keeps what there is", "[fitting]") {
  // case 0 is needed: without it the fit fails, which a resample of 12 meets (11/12)^12 = 35 % of the time
  const WeightedFit needy = [](const Values& w) {
    return w[0] > 0.0 ? Eigen::VectorXd(Eigen::VectorXd::Constant(1, weighted_mean(hours, w)))
                      : Eigen::VectorXd();
  };
  const Eigen::VectorXd estimate = Eigen::VectorXd::Constant(1, 108.0);
  BootstrapOptions options;
  const Bootstrap failing = bootstrap(counted(12), std::vector<int>(12, 0), estimate, needy, options);
  CHECK(failing.finished);
  CHECK(failing.resamples == 400);
  CHECK(failing.estimates.cols() + failing.failed == 400);
  CHECK(failing.failed == Approx(141).margin(4.0 * std::sqrt(400 * 0.35 * 0.65)));
  CHECK(failing.percentile.size() == 1);
  CHECK(failing.bca.empty());

  double last = -1.0;
  options.progress = [&](double fraction) {
    CHECK(fraction > last);
    last = fraction;
    return fraction < 0.2;
  };
  const Bootstrap stopped =
      bootstrap(counted(12), std::vector<int>(12, 0), estimate, mean_of(hours), options);
  CHECK(!stopped.finished);
  CHECK(stopped.failed == 0);
  CHECK(stopped.resamples == 96);  // the first multiple of 16 from 0.2 * 412 on
  CHECK(stopped.estimates.cols() == 96);
  CHECK(stopped.percentile.size() == 1);
  CHECK(stopped.bca.empty());

  options.progress = nullptr;
  options.resamples = 10;
  CHECK(
      bootstrap(counted(12), std::vector<int>(12, 0), estimate, mean_of(hours), options).percentile.empty());
  // an estimate that no resample reaches has no bias correction
  options.resamples = 40;
  const Bootstrap beyond = bootstrap(counted(12), std::vector<int>(12, 0),
                                     Eigen::VectorXd::Constant(1, 500.0), mean_of(hours), options);
  REQUIRE(beyond.bca.size() == 1);
  CHECK(std::isnan(beyond.bca[0].lower));
}
