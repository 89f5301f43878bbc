#include "fitting/robust.hpp"

#include <cmath>

#include <boost/random/normal_distribution.hpp>
#include "engine/random_stream.hpp"
#include "fitting/decay_curves.hpp"
#include "tests/catch.hpp"

using namespace stoverturn;

namespace {

/// 28 invented bags: seven dates, four replicates, errors of 3 %.
DecayData bags(Curve curve, std::uint64_t seed) {
  DecayData data;
  RandomStream stream = random_stream(seed, "bags", 0);
  boost::random::normal_distribution<double> error(0.0, 0.03);
  for (const double t : {0.0, 14.0, 35.0, 80.0, 150.0, 280.0, 420.0}) {
    for (int bag = 0; bag < 4; ++bag) {
      data.time.push_back(t);
      const bool one = curve == Curve::exponential;
      const double left =
          one ? std::exp(-0.003 * t) : 0.4 * std::exp(-0.02 * t) + 0.6 * std::exp(-0.0015 * t);
      data.left.push_back(left + error(stream));
    }
  }
  return data;
}

/// Start and rate of an exponential, or start, share and two rates of a double one.
LeastSquares problem_of(Curve curve, const DecayData& data) {
  const Eigen::Index own = static_cast<Eigen::Index>(curve_parameters(curve).size());
  LeastSquares problem;
  problem.residuals = data.time.size();
  problem.lower.setZero(own + 1);
  problem.upper.setConstant(own + 1, curve == Curve::exponential ? 2.0 : 1.5);
  if (curve == Curve::double_exponential) problem.upper[0] = 1.0;
  problem.evaluate = [=](const Eigen::VectorXd& x, Eigen::VectorXd& r, Eigen::MatrixXd* J) {
    Eigen::VectorXd slope(own);
    for (std::size_t i = 0; i < data.time.size(); ++i) {
      const Eigen::Index row = static_cast<Eigen::Index>(i);
      const double share = share_left(curve, x.head(own), data.time[i], &slope);
      r[row] = x[own] * share - data.left[i];
      if (J) J->row(row) << x[own] * slope.transpose(), share;
    }
    return true;
  };
  return problem;
}

Eigen::VectorXd start_of(Curve curve) {
  if (curve == Curve::exponential) return Eigen::Vector2d(0.003, 1.0);
  return Eigen::Vector4d(0.3, 0.03, 0.002, 1.0);
}

/// The faster pool first, as its label is only a habit.
Eigen::VectorXd ordered(Eigen::VectorXd x) {
  if (x.size() == 4 && x[1] < x[2]) {
    x[0] = 1.0 - x[0];
    std::swap(x[1], x[2]);
  }
  return x;
}

}  // namespace

TEST_CASE("robust: losses, slopes and weights belong together", "[fitting]") {
  for (const Loss loss : {Loss::squares, Loss::huber, Loss::tukey, Loss::student}) {
    for (const double u : {-20.0, -4.6, -1.4, -1.3, -0.2, 0.0, 0.7, 1.3, 1.4, 3.0, 4.6, 4.8, 50.0}) {
      CAPTURE(static_cast<int>(loss), u);
      const LossAt at = loss_at(loss, u);
      const double h = 1e-5;
      CHECK(at.psi == Approx((loss_at(loss, u + h).loss - loss_at(loss, u - h).loss) / (2.0 * h))
                          .margin(1e-7)
                          .epsilon(1e-7));
      CHECK(at.bend == Approx((loss_at(loss, u + h).psi - loss_at(loss, u - h).psi) / (2.0 * h))
                           .margin(1e-7)
                           .epsilon(1e-6));
      CHECK(at.weight * u == Approx(at.psi).margin(1e-14));
    }
  }
  // near the middle all are squares, up to the student's weight of 5/4
  CHECK(loss_at(Loss::tukey, 1e-4).weight == Approx(1.0).epsilon(1e-8));
  CHECK(loss_at(Loss::student, 0.0).weight == 1.25);
  CHECK(loss_at(Loss::tukey, 5.0).weight == 0.0);
}

TEST_CASE("robust: the scale of residuals is that of a normal distribution", "[fitting]") {
  // quantiles of the normal distribution at (i - 1/2)/n stand for a sample: their median size over 0.6745 is
  // 1
  RandomStream stream = random_stream(1, "scale", 0);
  boost::random::normal_distribution<double> normal;
  Eigen::VectorXd r(20001);
  for (double& value : r) value = 2.5 * normal(stream);
  CHECK(robust_scale(r, 0) == Approx(2.5).epsilon(0.025));  // three of its own deviations, 1.17/sqrt(n)
}

TEST_CASE("robust: one gross outlier in 28 bags moves no estimate by more than half its standard error",
          "[fitting]") {
  // Every bag of three trials in turn is the outlier: a digit lost or gained, an empty bag, 300 % noted. The
  // outlier's own pull is what moves estimates beyond leaving that bag out. Against the clean bag a move also
  // holds what that bag knew, which no method can know again: a bag of the first or last date, two deviations
  // off, is worth more than half a standard error by itself.
  for (const Curve curve : {Curve::exponential, Curve::double_exponential}) {
    for (const Loss loss : {Loss::tukey, Loss::student}) {
      int cases = 0, small_pulls = 0, small_moves = 0;
      double worst_of_squares = 0.0, sum_of_moves = 0.0;
      for (std::uint64_t seed = 1; seed <= 3; ++seed) {
        const DecayData clean = bags(curve, seed);
        RobustOptions options;
        options.loss = loss;
        const Eigen::VectorXd start = start_of(curve);
        const RobustFit whole = fit_robust(problem_of(curve, clean), start, options);
        REQUIRE(whole.fit.stop == Stop::converged);
        REQUIRE(whole.covariance.ok);
        const auto moved = [&](const Eigen::VectorXd& from, const Eigen::VectorXd& to) {
          return ((ordered(to) - ordered(from)).array().abs() / whole.covariance.se.array()).maxCoeff();
        };
        for (std::size_t bag = 0; bag < clean.left.size(); ++bag) {
          DecayData without = clean;
          without.time.erase(without.time.begin() + static_cast<std::ptrdiff_t>(bag));
          without.left.erase(without.left.begin() + static_cast<std::ptrdiff_t>(bag));
          const RobustFit left_out = fit_robust(problem_of(curve, without), start, options);
          for (const double wrong : {0.1, 10.0, 0.0, 3.0}) {
            DecayData spoilt = clean;
            spoilt.left[bag] *= wrong;
            if (std::abs(spoilt.left[bag] - clean.left[bag]) < 0.3)
              continue;  // under ten deviations is not gross
            const RobustFit fit = fit_robust(problem_of(curve, spoilt), start, options);
            CAPTURE(static_cast<int>(curve), static_cast<int>(loss), seed, bag, wrong, fit.fit.x.transpose());
            CHECK(fit.fit.stop == Stop::converged);
            CHECK(std::find(fit.outliers.begin(), fit.outliers.end(), bag) != fit.outliers.end());
            const double pull = moved(left_out.fit.x, fit.fit.x), move = moved(whole.fit.x, fit.fit.x);
            ++cases;
            small_pulls += pull < 0.5;
            small_moves += move < 0.5;
            sum_of_moves += move;
            worst_of_squares = std::max(
                worst_of_squares, moved(whole.fit.x, fit_least_squares(problem_of(curve, spoilt), start).x));
          }
        }
      }
      CAPTURE(static_cast<int>(curve), static_cast<int>(loss), cases, small_pulls, small_moves);
      // the two-pool curve is barely told by 28 bags, and a few outliers find a second way to fit them
      CHECK(small_pulls >= (curve == Curve::exponential ? cases : 0.98 * cases));
      CHECK(small_moves >= (curve == Curve::exponential ? 0.9 : 0.8) * cases);
      CHECK(sum_of_moves / cases < 0.5);
      CHECK(worst_of_squares > 50.0);  // the same outliers ruin a plain fit
    }
  }
}

TEST_CASE("robust: on clean bags estimates and standard errors stay near those of least squares",
          "[fitting]") {
  for (const Loss loss : {Loss::huber, Loss::tukey, Loss::student}) {
    double ratio = 0.0;
    const int trials = 40;
    for (int seed = 0; seed < trials; ++seed) {
      const LeastSquares problem =
          problem_of(Curve::exponential, bags(Curve::exponential, static_cast<std::uint64_t>(100 + seed)));
      RobustOptions options;
      options.loss = loss;
      const RobustFit fit = fit_robust(problem, start_of(Curve::exponential), options);
      const Covariance plain =
          covariance_of(fit_least_squares(problem, start_of(Curve::exponential)), Spread::estimated);
      ratio += fit.covariance.se[0] / plain.se[0] / trials;
    }
    CAPTURE(static_cast<int>(loss));
    // 5 % efficiency is 2.6 % of a standard error; the rest is the scale's own scatter with 28 bags
    CHECK(ratio == Approx(1.0).epsilon(0.15));
  }
  RobustOptions squares;
  squares.loss = Loss::squares;
  const LeastSquares problem = problem_of(Curve::exponential, bags(Curve::exponential, 1));
  const RobustFit same = fit_robust(problem, start_of(Curve::exponential), squares);
  const LeastSquaresFit plain = fit_least_squares(problem, start_of(Curve::exponential));
  CHECK((same.fit.x - plain.x).norm() == 0.0);
  CHECK(same.covariance.se[0] == Approx(covariance_of(plain, Spread::estimated).se[0]).epsilon(1e-9));
}

TEST_CASE("robust: the weights solve the equations of the M-estimate", "[fitting]") {
  // at the optimum J' psi = 0 with the loss's own slope, not only with the weights of the last round
  for (const Loss loss : {Loss::huber, Loss::tukey, Loss::student}) {
    RobustOptions options;
    options.loss = loss;
    DecayData data = bags(Curve::exponential, 9);
    data.left[13] = 3.0;
    const RobustFit fit =
        fit_robust(problem_of(Curve::exponential, data), start_of(Curve::exponential), options);
    const Eigen::VectorXd psi =
        fit.fit.residuals.unaryExpr([&](double r) { return loss_at(loss, r / fit.scale).psi; });
    const Eigen::ArrayXd sum = (fit.fit.jacobian.transpose() * psi).array().abs();
    const Eigen::ArrayXd size = fit.fit.jacobian.colwise().norm().transpose().array() * psi.norm();
    CHECK((sum / size).maxCoeff() < 1e-6);
  }
}

TEST_CASE("robust: a start that cannot be evaluated says so", "[fitting]") {
  LeastSquares problem = problem_of(Curve::exponential, bags(Curve::exponential, 1));
  problem.evaluate = [](const Eigen::VectorXd&, Eigen::VectorXd&, Eigen::MatrixXd*) { return false; };
  CHECK(fit_robust(problem, start_of(Curve::exponential)).fit.stop == Stop::bad_start);
}
