#include "fitting/least_squares.hpp"

#include <array>

#include "fitting/bounded_linear.hpp"
#include "fitting/differences.hpp"
#include "tests/catch.hpp"

using namespace stoverturn;

namespace {

constexpr double inf = std::numeric_limits<double>::infinity();

Eigen::VectorXd vector(std::initializer_list<double> values) {
  return Eigen::Map<const Eigen::VectorXd>(values.begin(), static_cast<Eigen::Index>(values.size()));
}

/// Rosenbrock (1960, Computer Journal 3, 175-184) as residuals: 10 (x2 - x1^2) and 1 - x1.
LeastSquares valley(Eigen::VectorXd lower, Eigen::VectorXd upper) {
  return {2, std::move(lower), std::move(upper),
          [](const Eigen::VectorXd& x, Eigen::VectorXd& r, Eigen::MatrixXd* J) {
            r << 10.0 * (x[1] - x[0] * x[0]), 1.0 - x[0];
            if (J) *J << -20.0 * x[0], 10.0, -1.0, 0.0;
            return true;
          }};
}

}  // namespace

TEST_CASE("bounded_linear: where the free optimum is inside, it is the answer", "[fitting]") {
  Eigen::MatrixXd A(3, 2);
  A << 1, 0, 0, 2, 0, 0;
  const Eigen::VectorXd p =
      bounded_linear_least_squares(A, vector({1, 4, 7}), vector({-5, -5}), vector({5, 5}));
  CHECK(p[0] == Approx(1.0));
  CHECK(p[1] == Approx(2.0));
}

TEST_CASE("bounded_linear: correlated columns move a free parameter when another is held", "[fitting]") {
  // minimum of (p1 + p2 - 2)^2 + (p1 - p2 - 2)^2 with p1 <= 0.5: the clipped free optimum (2, 0) -> (0.5, 0)
  // happens to be right for these orthogonal columns; with the third row it is not. By hand: p1 = 0.5 and
  // d/dp2 [(p2 - 1.5)^2 + (-1.5 - p2)^2 + (3 p2 + 0.5 - 1)^2] = 0 -> 22 p2 = 3
  Eigen::MatrixXd A(3, 2);
  A << 1, 1, 1, -1, 1, 3;
  const Eigen::VectorXd p =
      bounded_linear_least_squares(A, vector({2, 2, 1}), vector({-10, -10}), vector({0.5, 10}));
  CHECK(p[0] == 0.5);
  CHECK(p[1] == Approx(3.0 / 22.0).epsilon(1e-12));  // round-off
}

TEST_CASE("bounded_linear: every answer meets the conditions of Karush, Kuhn and Tucker",
          "[fitting][property]") {
  // A linear congruence of our own gives repeatable, unremarkable problems.
  std::uint64_t state = 12345;
  const auto number = [&] {
    state = state * 6364136223846793005ULL + 1442695040888963407ULL;
    return static_cast<double>(state >> 11) / 9007199254740992.0 * 2.0 - 1.0;
  };
  int on_bounds = 0;
  for (int problem = 0; problem < 200; ++problem) {
    const Eigen::Index n = 1 + problem % 8;
    Eigen::MatrixXd A(n + 4, n);
    Eigen::VectorXd b(n + 4), lower(n), upper(n);
    for (Eigen::Index i = 0; i < A.size(); ++i) A.data()[i] = number();
    for (Eigen::Index i = 0; i < b.size(); ++i) b[i] = 3.0 * number();
    for (Eigen::Index i = 0; i < n; ++i) {
      lower[i] = i % 4 == 3 ? 0.0 : -std::abs(number());
      upper[i] = i % 3 == 2 ? inf : std::abs(number());
    }
    const Eigen::VectorXd p = bounded_linear_least_squares(A, b, lower, upper);
    const Eigen::VectorXd slope = A.transpose() * (A * p - b);
    for (Eigen::Index i = 0; i < n; ++i) {
      CAPTURE(problem, i, p[i], lower[i], upper[i]);
      REQUIRE(p[i] >= lower[i]);
      REQUIRE(p[i] <= upper[i]);
      const double rounding = 1e-12 * (1.0 + b.norm());
      if (p[i] == lower[i]) {
        CHECK(slope[i] >= -rounding);
      } else if (p[i] == upper[i]) {
        CHECK(slope[i] <= rounding);
      } else {
        CHECK(std::abs(slope[i]) <= rounding);
      }
      on_bounds += p[i] == lower[i] || p[i] == upper[i];
    }
  }
  CHECK(on_bounds > 200);
}

TEST_CASE("least_squares: along a curved valley to its end", "[fitting]") {
  const LeastSquaresFit fit =
      fit_least_squares(valley(vector({-inf, -inf}), vector({inf, inf})), vector({-1.2, 1.0}));
  CHECK(fit.stop == Stop::converged);
  CHECK(fit.x[0] == Approx(1.0).epsilon(1e-7));  // 1e-7 standard errors are aimed at
  CHECK(fit.x[1] == Approx(1.0).epsilon(1e-7));
  CHECK(fit.derivatives < 30);
}

TEST_CASE("least_squares: a bound across the valley is met at the right place", "[fitting]") {
  // with x1 <= 0.5 the optimum is x2 = x1^2, x1 = 0.5: cost 0.5 (1 - 0.5)^2
  const LeastSquaresFit fit =
      fit_least_squares(valley(vector({-inf, -inf}), vector({0.5, inf})), vector({-1.2, 1.0}));
  CHECK(fit.stop == Stop::converged);
  CHECK(fit.x[0] == 0.5);
  CHECK(fit.x[1] == Approx(0.25).epsilon(1e-8));
  CHECK(fit.cost == Approx(0.125).epsilon(1e-12));
  CHECK(fit.on_bound == std::vector<Bound>{Bound::upper, Bound::none});
}

TEST_CASE("least_squares: a start on a bound that is not the optimum's leaves it", "[fitting]") {
  const LeastSquares problem = valley(vector({-2, -2}), vector({2, 2}));
  for (const double x1 : {-2.0, 2.0}) {
    for (const double x2 : {-2.0, 2.0}) {
      const LeastSquaresFit fit = fit_least_squares(problem, vector({x1, x2}));
      CAPTURE(x1, x2, fit.x);
      CHECK(fit.stop == Stop::converged);
      CHECK((fit.x - vector({1, 1})).norm() < 1e-7);
      CHECK(fit.on_bound == std::vector<Bound>{Bound::none, Bound::none});
    }
  }
}

TEST_CASE("least_squares: what is called converged on a bound is, and what is not is called so",
          "[fitting]") {
  // at (0.5, 0.25) under x1 <= 0.5 nothing is left to gain; at (0.5, 0.2) there is, whatever bound x1 lies on
  const LeastSquares problem = valley(vector({-inf, -inf}), vector({0.5, inf}));
  const auto distance = [&](const Eigen::VectorXd& x) {
    Eigen::VectorXd r(2);
    Eigen::MatrixXd J(2, 2);
    problem.evaluate(x, r, &J);
    return distance_in_se(x, r, J, problem.lower, problem.upper);
  };
  CHECK(distance(vector({0.5, 0.25})) == 0.0);
  CHECK(distance(vector({0.5, 0.20})) == Approx(0.5));  // 10 * 0.05, in residuals of unit deviation
}

TEST_CASE("least_squares: points that cannot be evaluated are walked around", "[fitting]") {
  LeastSquares problem = valley(vector({-inf, -inf}), vector({inf, inf}));
  const auto whole = problem.evaluate;
  int refused = 0;
  problem.evaluate = [&](const Eigen::VectorXd& x, Eigen::VectorXd& r, Eigen::MatrixXd* J) {
    if (x[1] < x[0] * x[0] - 0.5) {  // below the valley the model fails, in three ways
      if (++refused % 3 == 0) return false;
      r.setConstant(refused % 3 == 1 ? inf : std::nan(""));
      return true;
    }
    return whole(x, r, J);
  };
  const LeastSquaresFit fit = fit_least_squares(problem, vector({-1.2, 1.0}));
  CHECK(refused > 0);
  CHECK(fit.stop == Stop::converged);
  CHECK((fit.x - vector({1, 1})).norm() < 1e-7);

  const LeastSquaresFit none = fit_least_squares(problem, vector({1.0, -3.0}));
  CHECK(none.stop == Stop::bad_start);
  CHECK(std::string(words(none.stop)) == "failed: the model cannot be evaluated at the start");
}

TEST_CASE("least_squares: a model that does not move as its derivatives say is called stalled", "[fitting]") {
  const LeastSquares stuck{3, vector({-inf}), vector({inf}),
                           [](const Eigen::VectorXd&, Eigen::VectorXd& r, Eigen::MatrixXd* J) {
                             r << 5.0, 1.0, -1.0;
                             if (J) *J << 1.0, 0.0, 0.0;
                             return true;
                           }};
  const LeastSquaresFit fit = fit_least_squares(stuck, vector({1.0}));
  CHECK(fit.stop == Stop::stalled);
  CHECK(fit.distance_se == Approx(5.0));  // 5 to go, in a residual deviation of sqrt((1 + 1)/2)
  CHECK(std::string(words(fit.stop)) == "stalled: no more progress, but not at an optimum");
  CHECK(std::string(fit.why) == "no step changes the cost beyond round-off");
}

TEST_CASE("least_squares: stops on request, and goes on from a checkpoint to the same bits", "[fitting]") {
  const LeastSquares problem = valley(vector({-inf, -inf}), vector({inf, inf}));
  const LeastSquaresFit whole = fit_least_squares(problem, vector({-1.2, 1.0}));
  LeastSquaresState last;
  LeastSquaresOptions options;
  int calls = 0;
  options.progress = [&](const Progress& p) {
    CHECK(p.best != nullptr);
    CHECK(p.fraction <= 1.0);
    return ++calls < 4;
  };
  options.checkpoint = [&](const LeastSquaresState& state) { last = state; };
  const LeastSquaresFit part = fit_least_squares(problem, vector({-1.2, 1.0}), options);
  CHECK(part.stop == Stop::cancelled);
  CHECK(part.cost < 0.5 * (4.4 * 4.4 + 2.2 * 2.2));  // better than its start
  LeastSquaresOptions on;
  on.resume = &last;
  const LeastSquaresFit rest = fit_least_squares(problem, {}, on);
  CHECK(rest.stop == Stop::converged);
  CHECK(rest.x == whole.x);
  CHECK(rest.iterations == whole.iterations);
}

TEST_CASE("least_squares: limits and wrong calls", "[fitting]") {
  LeastSquaresOptions few;
  few.most_iterations = 2;
  const LeastSquares problem = valley(vector({-inf, -inf}), vector({inf, inf}));
  CHECK(fit_least_squares(problem, vector({-1.2, 1.0}), few).stop == Stop::evaluations_spent);
  CHECK_THROWS_AS(fit_least_squares(problem, vector({1.0})), std::invalid_argument);
  CHECK_THROWS_AS(fit_least_squares(valley(vector({1, 1}), vector({0, 2})), vector({1, 1})),
                  std::invalid_argument);
}

TEST_CASE("least_squares: a parameter held by equal bounds stays, one without effect does no harm",
          "[fitting]") {
  const LeastSquares problem{2, vector({2, -inf, -1}), vector({2, inf, 1}),
                             [](const Eigen::VectorXd& x, Eigen::VectorXd& r, Eigen::MatrixXd* J) {
                               r << x[0] * x[1] - 6.0, x[1] - 3.0;
                               if (J) *J << x[1], x[0], 0, 0, 1, 0;
                               return true;
                             }};
  const LeastSquaresFit fit = fit_least_squares(problem, vector({5, 1, 0.5}));
  CHECK(fit.stop == Stop::converged);
  CHECK(fit.x[0] == 2.0);
  CHECK(fit.x[1] == Approx(3.0));
  CHECK(fit.x[2] == Approx(0.5));
}

TEST_CASE("differences: Richardson's extrapolation keeps ten digits, also at bounds", "[fitting]") {
  const auto curve = [](const Eigen::VectorXd& x, Eigen::VectorXd& r) {
    if (x[0] < 0.0 || x[1] > 3.0) return false;
    r << std::exp(-x[0] * 2.0) * x[1], std::sqrt(x[0] + 1.0), std::sin(x[1]);
    return true;
  };
  const LeastSquares problem = with_differences(3, vector({0, -inf}), vector({inf, 3}), curve);
  for (const Eigen::VectorXd& x : {vector({0.7, 2.0}), vector({0.0, 3.0}), vector({1e-9, 0.0})}) {
    Eigen::VectorXd r(3);
    Eigen::MatrixXd J(3, 2);
    REQUIRE(problem.evaluate(x, r, &J));
    Eigen::MatrixXd exact(3, 2);
    exact << -2.0 * std::exp(-2.0 * x[0]) * x[1], std::exp(-2.0 * x[0]), 0.5 / std::sqrt(x[0] + 1.0), 0.0,
        0.0, std::cos(x[1]);
    CAPTURE(x, J, exact);
    CHECK((J - exact).cwiseAbs().maxCoeff() < 1e-9);  // round-off of order 1e-16 over a step of 1e-3, and h^4
  }
}
