#include "fitting/identifiability.hpp"

#include <cmath>
#include <limits>

#include "tests/catch.hpp"

using namespace stoverturn;
using Indices = std::vector<std::size_t>;

namespace {

/// Columns of length 1 in 4 dimensions, from angles to the first.
Eigen::MatrixXd two_at(double cosine) {
  Eigen::MatrixXd S(4, 2);
  S << 1, cosine, 0, std::sqrt(1.0 - cosine * cosine), 0, 0, 0, 0;
  return S;
}

}  // namespace

TEST_CASE("collinearity: of two columns it is 1/sqrt(1 - cosine)", "[fitting]") {
  // S'S = (1, c; c, 1), eigenvalues 1 + c and 1 - c, by hand
  const std::vector<std::pair<double, double>> worked = {{0.0, 1.0},  {0.75, 2.0},  {0.9, 3.16227766},
                                                         {0.96, 5.0}, {0.99, 10.0}, {0.9975, 20.0}};
  for (const auto& [cosine, index] : worked) {
    Eigen::MatrixXd S = two_at(cosine);
    S.col(0) *= 0.02;  // lengths and signs do not matter
    S.col(1) *= -30.0;
    const Identifiability said = identifiability(S, Eigen::Vector2d(1.0, 1.0));
    CHECK(said.index == Approx(index));
    CHECK(said.eigenvalues[0] == Approx(1.0 + cosine));
    CHECK(said.eigenvalues[1] == Approx(1.0 - cosine));
    CHECK(said.confounded.size() == (index > 15.0 ? 1 : 0));
  }
  // the direction that is seen least: both up, in steps of equal effect
  Eigen::MatrixXd S = two_at(0.9975);
  S.col(0) *= 0.02;
  S.col(1) *= -30.0;
  const Eigen::VectorXd weakest = identifiability(S, Eigen::Vector2d(1.0, 1.0)).weakest;
  CHECK(weakest[0] / weakest[1] == Approx(30.0 / 0.02));
  CHECK((S * weakest).norm() == Approx(std::sqrt(2.0 * (1.0 - 0.9975))));
}

TEST_CASE("collinearity: BoxBOD of NIST, and three columns by R's eigen", "[fitting]") {
  // y = b1 (1 - exp(-b2 x)) at the certified b1 213.80940889, b2 0.54723748542
  // (https://www.itl.nist.gov/div898/strd/nls/data/boxbod.shtml). The certified standard errors and the
  // residual deviation give the diagonal of (J'J)^-1, hence the correlation -0.729846 and, J being two
  // columns whose cosine is minus that, an index of 1/sqrt(1 - 0.729846) = 1.9240.
  const std::vector<double> x = {1, 2, 3, 5, 7, 10};
  Eigen::MatrixXd J(6, 2);
  for (Eigen::Index i = 0; i < 6; ++i) {
    const double t = x[static_cast<std::size_t>(i)], left = std::exp(-0.54723748542 * t);
    J.row(i) << (1.0 - left) / 17.088072, 213.80940889 * t * left / 17.088072;
  }
  const Identifiability box = identifiability(J, Eigen::Vector2d(1.0, 1.0));
  CHECK(box.index == Approx(1.9240).margin(5e-5));
  // (J'J)^-1 from the length of a column and the cosine: 1/(length^2 (1 - cosine^2))
  const double se = 1.0 / (box.sensitivity[0] * std::sqrt(6.0) * std::sqrt(1.0 - 0.729846 * 0.729846));
  CHECK(se == Approx(12.354515176).epsilon(1e-5));

  Eigen::MatrixXd S(5, 3);  // tests/reference/uncertainty.R
  S << 1, 1, 5, 2, 1, 3, 3, 2, 4, 4, 3, 1, 5, 4, 2;
  const Eigen::Vector3d unit(1, 1, 1);
  CHECK(identifiability(S, unit).index == Approx(12.1802281515));
  const Identifiability said = identifiability(S, unit, 11.0);
  REQUIRE(said.confounded.size() == 1);  // the triple, 12.18, holds this pair
  CHECK(said.confounded[0].unknowns == Indices{0, 1});
  CHECK(said.confounded[0].index == Approx(11.8988050370));
  const Identifiability triple = identifiability(S, unit, 12.0);
  REQUIRE(triple.confounded.size() == 1);
  CHECK(triple.confounded[0].unknowns == Indices{0, 1, 2});
  CHECK(identifiability(S, unit, 12.0, 2).confounded.empty());
}

TEST_CASE("collinearity: smallest sets, and a blind triple beside a doubtful pair", "[fitting]") {
  // columns: e1, e2, e1 + e2 + tiny e3: no two alike, the three blind
  Eigen::MatrixXd S(4, 4);
  S << 1, 0, 1, 0, 0, 1, 1, 0, 0, 0, 1e-4, 0, 0, 0, 0, 1;
  const Identifiability three = identifiability(S, Eigen::Vector4d::Ones());
  REQUIRE(three.confounded.size() == 1);
  CHECK(three.confounded[0].unknowns == Indices{0, 1, 2});
  CHECK(three.index == Approx(three.confounded[0].index));

  // a pair at 20 inside a triple without any direction: both are told, the blind one first
  S.col(1) << 0.9975, std::sqrt(1.0 - 0.9975 * 0.9975), 0, 0;
  S.col(2) = S.col(0) + 10.0 * S.col(1) + Eigen::Vector4d(0, 20, 0, 0);
  const Identifiability both = identifiability(S, Eigen::Vector4d::Ones());
  REQUIRE(both.confounded.size() == 2);
  CHECK(both.confounded[0].unknowns == Indices{0, 1, 2});
  CHECK(std::isinf(both.confounded[0].index));
  CHECK(both.confounded[1].unknowns == Indices{0, 1});
  CHECK(both.confounded[1].index == Approx(20.0));
  CHECK(std::isinf(both.index));
}

TEST_CASE("collinearity: what changes nothing, and fewer residuals than unknowns", "[fitting]") {
  Eigen::MatrixXd S(3, 3);
  S << 1, 0, 0, 0, 2e-4, 0, 0, 0, 2;
  const Identifiability said = identifiability(S, Eigen::Vector3d(0.5, 1.0, 2.0));
  CHECK(said.blind == Indices{1});
  CHECK(said.sensitivity[0] == Approx(0.5 / std::sqrt(3.0)));
  CHECK(said.sensitivity[2] == Approx(4.0 / std::sqrt(3.0)));
  CHECK(said.eigenvalues.size() == 2);
  CHECK(said.weakest[1] == 0.0);
  CHECK(said.index == Approx(1.0));

  Eigen::MatrixXd one(1, 2);
  one << 1, 2;
  const Identifiability few = identifiability(one, Eigen::Vector2d(1, 1));
  REQUIRE(few.confounded.size() == 1);
  CHECK(std::isinf(few.confounded[0].index));
  CHECK(std::abs((one * few.weakest)[0]) < 1e-12);

  CHECK(identifiability(Eigen::MatrixXd::Zero(3, 2), Eigen::Vector2d(1, 1)).blind == Indices{0, 1});
  CHECK_THROWS_AS(identifiability(S, Eigen::Vector2d(1, 1)), std::invalid_argument);
  S(0, 0) = std::numeric_limits<double>::quiet_NaN();
  CHECK_THROWS_AS(identifiability(S, Eigen::Vector3d(1, 1, 1)), std::invalid_argument);
}
