#include "fitting/covariance.hpp"

#include <cmath>

#include "tests/catch.hpp"

using namespace stoverturn;

namespace {

LeastSquaresFit fit_with(const Eigen::MatrixXd& J, const Eigen::VectorXd& r) {
  LeastSquaresFit fit;
  fit.x.setZero(J.cols());
  fit.jacobian = J;
  fit.residuals = r;
  fit.cost = 0.5 * r.squaredNorm();
  fit.on_bound.assign(static_cast<std::size_t>(J.cols()), Bound::none);
  return fit;
}

}  // namespace

TEST_CASE("covariance: a straight line by the textbook", "[fitting]") {
  // x = 1..5, residuals 1, -1, 0, -1, 1: s^2 = 4/3; var(slope) = s^2/sum (x - mean)^2 = s^2/10,
  // var(intercept) = s^2 (1/5 + 9/10), covariance = -s^2 3/10
  Eigen::MatrixXd J(5, 2);
  J << 1, 1, 1, 2, 1, 3, 1, 4, 1, 5;
  Eigen::VectorXd r(5);
  r << 1, -1, 0, -1, 1;
  const Covariance estimated = covariance_of(fit_with(J, r), Spread::estimated);
  REQUIRE(estimated.ok);
  CHECK(estimated.variance_scale == Approx(4.0 / 3.0));
  CHECK(estimated.freedom == 3);
  CHECK(estimated.se[0] == Approx(std::sqrt(4.0 / 3.0 * 1.1)));
  CHECK(estimated.se[1] == Approx(std::sqrt(4.0 / 30.0)));
  CHECK(estimated.matrix(0, 1) == Approx(-4.0 / 3.0 * 0.3));
  CHECK(estimated.correlation(0, 1) == Approx(-0.3 / std::sqrt(1.1 * 0.1)));
  const Covariance known = covariance_of(fit_with(J, r), Spread::known);
  CHECK(known.se[1] == Approx(std::sqrt(0.1)));
  CHECK(known.freedom == 0);
  // the same through second derivatives J'J
  const Covariance hessian = covariance_of(Eigen::MatrixXd(J.transpose() * J), {Bound::none, Bound::none});
  REQUIRE(hessian.ok);
  CHECK(hessian.se[1] == Approx(std::sqrt(0.1)));
}

TEST_CASE("covariance: refused when rank deficient, and the direction named", "[fitting]") {
  // columns 0 and 2 differ by a factor of -1000: raising one by 1000 and the other by 1 changes nothing
  Eigen::MatrixXd J(6, 3);
  J << 1, 1, -1000, 2, 1, -2000, 3, 1, -3000, 4, 1, -4000, 5, 1, -5000, 7, 2, -7000;
  const LeastSquaresFit fit = fit_with(J, Eigen::VectorXd::Ones(6));
  const Covariance refused = covariance_of(fit, Spread::estimated);
  CHECK(!refused.ok);
  CHECK(refused.rank == 2);
  REQUIRE(refused.blind.size() == 3);
  CHECK(refused.blind[0] / refused.blind[2] == Approx(1000.0).epsilon(1e-6));
  CHECK(std::abs(refused.blind[1]) < 1e-9);
  CHECK((J * refused.blind).norm() < 1e-9);
  CHECK(std::isnan(refused.se[0]));
  const Covariance second = covariance_of(Eigen::MatrixXd(J.transpose() * J), fit.on_bound);
  CHECK(!second.ok);
  CHECK(second.rank == 2);
  CHECK(second.blind[0] / second.blind[2] == Approx(1000.0).epsilon(1e-4));

  Eigen::MatrixXd without(3, 2);
  without << 1, 0, 1, 0, 1, 0;
  const Covariance unseen = covariance_of(fit_with(without, Eigen::Vector3d(1, 0, 1)), Spread::estimated);
  CHECK(!unseen.ok);
  CHECK(unseen.blind == Eigen::Vector2d(0, 1).cwiseProduct(unseen.blind));
}

TEST_CASE("covariance: a parameter on a bound is held, and the rest are conditional on it", "[fitting]") {
  Eigen::MatrixXd J(4, 2);
  J << 1, 1, 1, 2, 1, 3, 1, 4;
  LeastSquaresFit fit = fit_with(J, Eigen::Vector4d(1, -1, -1, 1));
  fit.on_bound[0] = Bound::lower;
  const Covariance held = covariance_of(fit, Spread::known);
  REQUIRE(held.ok);
  CHECK(std::isnan(held.se[0]));
  CHECK(held.held[0]);
  CHECK(held.se[1] == Approx(1.0 / std::sqrt(30.0)));  // 1/sqrt(1 + 4 + 9 + 16)
}

TEST_CASE("covariance: no degrees of freedom, no estimate of the error; a maximum is no minimum",
          "[fitting]") {
  const LeastSquaresFit fit = fit_with(Eigen::Matrix2d::Identity(), Eigen::Vector2d(0, 0));
  CHECK(!covariance_of(fit, Spread::estimated).ok);
  CHECK(covariance_of(fit, Spread::known).ok);
  CHECK(!covariance_of(Eigen::MatrixXd(-Eigen::Matrix2d::Identity()), {Bound::none, Bound::none}).ok);
}

TEST_CASE("covariance: intervals of Student's t", "[fitting]") {
  // two-sided 95 % points of t: 2.776445 for 4 degrees of freedom, 1.959964 for the normal; any table
  const Interval five = t_interval(10.0, 2.0, 4, 0.95);
  CHECK(five.lower == Approx(10.0 - 2.0 * 2.776445).epsilon(1e-6));
  CHECK(five.upper == Approx(10.0 + 2.0 * 2.776445).epsilon(1e-6));
  CHECK(t_interval(0.0, 1.0, 0, 0.95).upper == Approx(1.959964).epsilon(1e-6));
  const Interval positive = log_t_interval(10.0, 2.0, 4, 0.95);
  CHECK(positive.lower == Approx(10.0 * std::exp(-0.2 * 2.776445)).epsilon(1e-6));
  CHECK(positive.lower * positive.upper == Approx(100.0));
}
