#include "fitting/minimise.hpp"

#include <cmath>

#include <Eigen/LU>

#include "fitting/least_squares.hpp"
#include "fitting/multi_start.hpp"
#include "tests/catch.hpp"
#include "tests/nist_typed.hpp"

using namespace stoverturn;

namespace {

constexpr double inf = std::numeric_limits<double>::infinity();

/// A normal density with standard deviations 0.1 and 2, correlated 0.95, about (1, -3).
LogDensity tilted(const Eigen::Vector2d& lower, const Eigen::Vector2d& upper) {
  Eigen::Matrix2d covariance;
  covariance << 0.01, 0.19, 0.19, 4.0;
  const Eigen::Matrix2d precision = covariance.inverse();
  return {lower, upper, [precision](const Eigen::VectorXd& x, Eigen::VectorXd* gradient) {
            const Eigen::Vector2d away = x - Eigen::Vector2d(1, -3);
            if (gradient) *gradient = -precision * away;
            return -0.5 * away.dot(precision * away);
          }};
}

/// Himmelblau (1972, Applied Nonlinear Programming): residuals x^2 + y - 11 and x + y^2 - 7; four optima of
/// cost 0.
LeastSquares four_optima() {
  return {2, Eigen::Vector2d(-5, -5), Eigen::Vector2d(5, 5),
          [](const Eigen::VectorXd& x, Eigen::VectorXd& r, Eigen::MatrixXd* J) {
            r << x[0] * x[0] + x[1] - 11.0, x[0] + x[1] * x[1] - 7.0;
            if (J) *J << 2.0 * x[0], 1.0, 1.0, 2.0 * x[1];
            return true;
          }};
}

/// The two-dimensional function of Rastrigin type as a density: one best among a hundred local optima.
LogDensity many_optima(int& refused) {
  return {Eigen::Vector2d(-5.12, -5.12), Eigen::Vector2d(5.12, 5.12),
          [&refused](const Eigen::VectorXd& x, Eigen::VectorXd* gradient) {
            if (x[0] + x[1] < -6.0) {
              ++refused;
              return -inf;
            }
            if (gradient)
              *gradient = -(2.0 * x.array() + 20.0 * M_PI * (2.0 * M_PI * x.array()).sin()).matrix();
            return -(20.0 + (x.array().square() - 10.0 * (2.0 * M_PI * x.array()).cos()).sum());
          }};
}

}  // namespace

TEST_CASE("minimise: every method finds the top of a normal density", "[fitting]") {
  const Cost cost = cost_of(tilted(Eigen::Vector2d(-10, -30), Eigen::Vector2d(10, 30)));
  for (const Method method : {Method::slsqp, Method::lbfgs, Method::ccsa, Method::bobyqa, Method::subplex}) {
    MinimiseOptions options;
    options.method = method;
    const Optimum found = minimise(cost, Eigen::Vector2d(-4, 12), options);
    CAPTURE(static_cast<int>(method), found.x.transpose(), found.distance_se, std::string(found.why));
    CHECK(found.stop == Stop::converged);
    CHECK(found.distance_se <= options.converged_se);
    CHECK(std::abs(found.x[0] - 1.0) < 0.001);  // a hundredth of 0.1
    CHECK(std::abs(found.x[1] + 3.0) < 0.02);
    CHECK(found.evaluations + found.derivatives > 2);
    CHECK(!found.why.empty());
  }
}

TEST_CASE("minimise: on a bound, the other parameter goes where the bound sends it", "[fitting]") {
  // with x1 held at 0.9, a deviation below its mean, the best x2 is the mean of the conditional normal:
  // -3 + 0.95 * 2 * (0.9 - 1)/0.1 = -4.9
  const Cost cost = cost_of(tilted(Eigen::Vector2d(-10, -30), Eigen::Vector2d(0.9, 30)));
  for (const Method method : {Method::slsqp, Method::lbfgs, Method::ccsa, Method::bobyqa}) {
    MinimiseOptions options;
    options.method = method;
    const Optimum found = minimise(cost, Eigen::Vector2d(-4, 12), options);
    CAPTURE(static_cast<int>(method), found.x.transpose(), found.distance_se, std::string(found.why));
    CHECK(found.stop == Stop::converged);
    CHECK(found.x[1] == Approx(-4.9).margin(0.01));
    CHECK(found.on_bound[0] == Bound::upper);
    CHECK(found.on_bound[1] == Bound::none);
  }
}

TEST_CASE("minimise: an end that the method believes in but derivatives do not is called stalled",
          "[fitting]") {
  const Cost cost = cost_of(tilted(Eigen::Vector2d(-10, -30), Eigen::Vector2d(10, 30)));
  Cost stairs = cost;  // costs come in steps of 3, derivatives are right
  stairs.evaluate = [&](const Eigen::VectorXd& x, Eigen::VectorXd* gradient) {
    return 3.0 * std::floor(cost.evaluate(x, gradient) / 3.0);
  };
  MinimiseOptions simplex;
  simplex.method = Method::subplex;
  const Optimum found = minimise(stairs, Eigen::Vector2d(1.1, 2), simplex);
  CHECK(found.stop == Stop::stalled);
  CHECK(found.distance_se > simplex.converged_se);
  CHECK(std::string(found.why) == "relative change of the cost below its tolerance");
  // one deviation of x2 away along its own axis is 1/sqrt(1 - 0.95^2) = 3.2026 conditional deviations
  CHECK(cost.distance_se(Eigen::Vector2d(1, -1)) == Approx(3.2025631).epsilon(1e-5));
  // a pressed bound with a gradient along it is not an optimum; at the right place on the bound it is
  const Cost bounded = cost_of(tilted(Eigen::Vector2d(-10, -30), Eigen::Vector2d(0.9, 30)));
  CHECK(bounded.distance_se(Eigen::Vector2d(0.9, -2.0)) > 1.0);
  CHECK(bounded.distance_se(Eigen::Vector2d(0.9, -4.9)) < 1e-6);
}

TEST_CASE("minimise: a saddle is no optimum", "[fitting]") {
  const Cost cost = cost_of(LogDensity{Eigen::Vector2d(-1, -1), Eigen::Vector2d(1, 1),
                                       [](const Eigen::VectorXd& x, Eigen::VectorXd* gradient) {
                                         if (gradient) *gradient << -2.0 * x[0], 2.0 * x[1];
                                         return x[1] * x[1] - x[0] * x[0];
                                       }});
  CHECK(std::isinf(cost.distance_se(Eigen::Vector2d(0, 0))));
}

TEST_CASE("minimise: failing points are bad points", "[fitting]") {
  LogDensity density = tilted(Eigen::Vector2d(-10, -30), Eigen::Vector2d(10, 30));
  const auto whole = density.evaluate;
  int refused = 0;
  density.evaluate = [&](const Eigen::VectorXd& x, Eigen::VectorXd* gradient) {
    if (x[0] > 1.4) {
      if (gradient) gradient->setConstant(std::nan(""));
      return ++refused % 2 ? -inf : std::nan("");
    }
    return whole(x, gradient);
  };
  for (const Method method : {Method::slsqp, Method::lbfgs, Method::ccsa, Method::bobyqa, Method::subplex}) {
    MinimiseOptions options;
    options.method = method;
    const Optimum found = minimise(cost_of(density), Eigen::Vector2d(-4, 12), options);
    CAPTURE(static_cast<int>(method), found.x.transpose(), std::string(found.why));
    // a method may be caught at the edge of what can be evaluated, and must say so
    const bool may_be_caught = method != Method::lbfgs && method != Method::subplex;
    CHECK((found.stop == Stop::converged || (may_be_caught && found.stop == Stop::stalled)));
    CHECK((found.stop == Stop::converged) == (std::abs(found.x[0] - 1.0) < 0.001));
  }
  CHECK(refused > 0);
  CHECK(minimise(cost_of(density), Eigen::Vector2d(2, 0)).stop == Stop::bad_start);
}

TEST_CASE("minimise: stops on request, passes exceptions, refuses wrong calls", "[fitting]") {
  const Cost cost = cost_of(tilted(Eigen::Vector2d(-10, -30), Eigen::Vector2d(10, 30)));
  MinimiseOptions options;
  int calls = 0;
  options.progress = [&](const Progress& p) {
    CHECK(p.fraction <= 1.0);
    return ++calls < 4;
  };
  const Optimum part = minimise(cost, Eigen::Vector2d(-4, 12), options);
  CHECK(part.stop == Stop::cancelled);
  CHECK(part.x.size() == 2);
  Cost broken = cost;
  broken.evaluate = [&](const Eigen::VectorXd& x, Eigen::VectorXd* gradient) {
    if (gradient) throw std::runtime_error("out of order");
    return cost.evaluate(x, gradient);
  };
  CHECK_THROWS_WITH(minimise(broken, Eigen::Vector2d(-4, 12)), "out of order");
  CHECK_THROWS_AS(minimise(cost, Eigen::VectorXd::Zero(3)), std::invalid_argument);
  CHECK_THROWS_AS(minimise_by_population(cost_of(tilted(Eigen::Vector2d(-inf, 0), Eigen::Vector2d(inf, 1))),
                                         Eigen::Vector2d(0, 0)),
                  std::invalid_argument);
}

TEST_CASE("minimise: certified values of published sets from the second start", "[fitting][published]") {
  for (const nist::Set& set : nist::typed_sets()) {
    if (set.name == "MGH10") continue;  // a valley for least squares alone
    LeastSquares problem = nist::problem(set);
    const Eigen::Index n = static_cast<Eigen::Index>(set.certified.size());
    const Eigen::VectorXd start = Eigen::Map<const Eigen::VectorXd>(set.starts[1].data(), n);
    const Eigen::VectorXd certified = Eigen::Map<const Eigen::VectorXd>(set.certified.data(), n);
    problem.lower = 0.1 * certified;
    problem.upper = 10.0 * certified;
    const Optimum found = minimise(cost_of(problem), start);
    CAPTURE(set.name, found.x.transpose(), found.distance_se, std::string(found.why));
    CHECK(found.stop == Stop::converged);
    for (Eigen::Index j = 0; j < n; ++j) {
      // converged to a hundredth of a standard error
      CHECK(std::abs(found.x[j] - certified[j]) < 0.011 * set.sd[static_cast<std::size_t>(j)]);
    }
  }
}

TEST_CASE("minimise_by_population: the best of a hundred optima, the same for one seed, resumed to the bit",
          "[fitting]") {
  int refused = 0;
  const Cost cost = cost_of(many_optima(refused));
  PopulationOptions options;
  options.population = 60;
  std::vector<double> costs;
  options.checkpoint = [&](const std::vector<double>& so_far) { costs = so_far; };
  const Optimum whole = minimise_by_population(cost, Eigen::Vector2d(4, 4), options);
  CHECK(whole.x.norm() < 0.3);  // within the basin of the origin, whose half width is 0.5
  CHECK(refused > 0);
  CHECK(minimise_by_population(cost, Eigen::Vector2d(4, 4), options).x == whole.x);
  const Optimum finished = minimise(cost, whole.x);
  CHECK(finished.stop == Stop::converged);
  CHECK(finished.x.norm() < 1e-4);

  int calls = 0;
  options.progress = [&](const Progress&) { return ++calls < 250; };
  const Optimum part = minimise_by_population(cost, Eigen::Vector2d(4, 4), options);
  CHECK(part.stop == Stop::cancelled);
  CHECK(costs.size() == 250);
  options.progress = nullptr;
  options.seen = costs;
  const Optimum rest = minimise_by_population(cost, Eigen::Vector2d(4, 4), options);
  CHECK(rest.x == whole.x);
  CHECK(rest.cost == whole.cost);
}

TEST_CASE("multi_start: starts fill the box evenly, differ by seed, repeat for one", "[fitting]") {
  const Eigen::Vector3d from(0, -1, 10), to(1, 1, 20);
  const auto points = start_points(Eigen::Vector3d(0.5, 0, 12), from, to, 65, 7);
  REQUIRE(points.size() == 65);
  CHECK(points[0] == Eigen::Vector3d(0.5, 0, 12));
  // 64 successive points of Sobol's sequence, however shifted, leave no quarter of an axis with less than 15
  // or more than 17 of them (exactly 16 when not shifted)
  for (Eigen::Index j = 0; j < 3; ++j) {
    int quarters[4] = {};
    for (std::size_t i = 1; i < points.size(); ++i) {
      const double u = (points[i][j] - from[j]) / (to[j] - from[j]);
      REQUIRE(u >= 0.0);
      REQUIRE(u < 1.0);
      ++quarters[static_cast<int>(4.0 * u)];
    }
    for (const int count : quarters) CHECK(std::abs(count - 16) <= 1);
  }
  CHECK(start_points(points[0], from, to, 65, 7) == points);
  CHECK(start_points(points[0], from, to, 65, 8) != points);
  CHECK_THROWS_AS(start_points(points[0], from, Eigen::Vector3d(1, 1, inf), 5, 1), std::invalid_argument);
}

TEST_CASE("multi_start: tells equal fits at different places from agreement", "[fitting]") {
  const LeastSquares problem = four_optima();
  const auto local = [&](const Eigen::VectorXd& start, const KeepGoing& progress) -> Optimum {
    LeastSquaresOptions options;
    options.progress = progress;
    return fit_least_squares(problem, start, options);
  };
  const auto starts = start_points(Eigen::Vector2d(4, 1), problem.lower, problem.upper, 20, 1);
  const MultiStart all = search_from(starts, local);
  CHECK(all.finished);
  CHECK(all.best.cost < 1e-12);
  CHECK(all.same_cost >= 15);
  CHECK(all.same_place < all.same_cost);
  CHECK(all.failed == 0);

  // in the quarter of one optimum (3, 2) all agree
  const auto near = start_points(Eigen::Vector2d(4, 1), Eigen::Vector2d(2, 1), Eigen::Vector2d(5, 3), 10, 1);
  const MultiStart agreed = search_from(near, local);
  CHECK(agreed.same_place == 10);
  CHECK(agreed.converged == 10);
  CHECK((agreed.best.x - Eigen::Vector2d(3, 2)).norm() < 1e-7);
}

TEST_CASE("multi_start: stopped and resumed is the same as never stopped; failed starts are counted",
          "[fitting]") {
  LeastSquares problem = four_optima();
  const auto whole_model = problem.evaluate;
  problem.evaluate = [&](const Eigen::VectorXd& x, Eigen::VectorXd& r, Eigen::MatrixXd* J) {
    return x[0] + x[1] < 5.0 && whole_model(x, r, J);
  };
  const auto local = [&](const Eigen::VectorXd& start, const KeepGoing& progress) -> Optimum {
    LeastSquaresOptions options;
    options.progress = progress;
    return fit_least_squares(problem, start, options);
  };
  const auto starts = start_points(Eigen::Vector2d(5, 5), problem.lower, problem.upper, 20, 3);
  const MultiStart all = search_from(starts, local);
  CHECK(all.failed >= 1);
  CHECK(all.runs[0].stop == Stop::bad_start);
  CHECK(all.best.stop == Stop::converged);

  MultiStartOptions options;
  int calls = 0;
  options.progress = [&](const Progress& p) {
    CHECK(p.fraction <= 1.0);
    return ++calls < 40;
  };
  std::vector<Optimum> done;
  options.checkpoint = [&](const std::vector<Optimum>& runs) { done = runs; };
  const MultiStart part = search_from(starts, local, options);
  CHECK(!part.finished);
  CHECK(part.best.x.size() == 2);
  REQUIRE(done.size() > 1);
  REQUIRE(done.size() < starts.size());
  MultiStartOptions on;
  on.done = done;
  const MultiStart rest = search_from(starts, local, on);
  CHECK(rest.finished);
  CHECK(rest.best.x == all.best.x);
  CHECK(rest.same_cost == all.same_cost);
  CHECK(rest.same_place == all.same_place);
}
