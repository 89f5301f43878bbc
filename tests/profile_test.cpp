#include "fitting/profile.hpp"

#include <cmath>

#include <Eigen/LU>
#include <boost/math/distributions/normal.hpp>

#include "tests/catch.hpp"

using namespace stoverturn;

namespace {

constexpr double inf = std::numeric_limits<double>::infinity();

/// Half the sum of squares of y - f(x), over `spread` squared, for f = a times a shape of x and b.
struct TwoParameters {
  std::vector<double> x, y;
  bool saturating;  ///< x/(b + x), else 1 - exp(-b x)
  double spread;
};

Cost cost_of_two(const TwoParameters& data, const Eigen::Vector2d& lower, const Eigen::Vector2d& upper) {
  const auto evaluate = [data](const Eigen::VectorXd& p, Eigen::VectorXd& r, Eigen::MatrixXd* J) {
    for (Eigen::Index i = 0; i < r.size(); ++i) {
      const double x = data.x[static_cast<std::size_t>(i)];
      const double shape = data.saturating ? x / (p[1] + x) : 1.0 - std::exp(-p[1] * x);
      r[i] = (p[0] * shape - data.y[static_cast<std::size_t>(i)]) / data.spread;
      if (!J) continue;
      (*J)(i, 0) = shape / data.spread;
      (*J)(i, 1) =
          p[0] * (data.saturating ? -x / ((p[1] + x) * (p[1] + x)) : x * std::exp(-p[1] * x)) / data.spread;
    }
    return true;
  };
  return cost_of(LeastSquares{data.x.size(), lower, upper, evaluate});
}

/// A sum of squares that is quadratic: precision matrix, centre, box.
Cost quadratic(const Eigen::MatrixXd& precision, const Eigen::VectorXd& centre, double half_width) {
  const Eigen::VectorXd half = Eigen::VectorXd::Constant(centre.size(), half_width);
  return cost_of(
      LogDensity{centre - half, centre + half, [=](const Eigen::VectorXd& x, Eigen::VectorXd* gradient) {
                   const Eigen::VectorXd away = x - centre;
                   if (gradient) *gradient = -precision * away;
                   return -0.5 * away.dot(precision * away);
                 }});
}

Optimum found(const Cost& cost, const Eigen::VectorXd& start) {
  const Optimum best = minimise(cost, start);
  REQUIRE(best.stop == Stop::converged);
  return best;
}

Optimum at(const Cost& cost, const Eigen::VectorXd& x) {
  Optimum best;
  best.x = x;
  best.cost = cost.evaluate(x, nullptr);
  return best;
}

/// A cost of two unknowns that depends on the first by `f` (value, slope) and on the second by half the
/// square of its distance from the first.
Cost along(double lower, double upper, std::function<std::pair<double, double>(double)> f) {
  return cost_of(LogDensity{Eigen::Vector2d(lower, lower - 10.0), Eigen::Vector2d(upper, upper + 10.0),
                            [=](const Eigen::VectorXd& x, Eigen::VectorXd* gradient) {
                              const auto [value, slope] = f(x[0]);
                              const double away = x[1] - x[0];
                              if (gradient) *gradient = -Eigen::Vector2d(slope - away, away);
                              return -value - 0.5 * away * away;
                            }});
}

double normal_quantile(double p) { return boost::math::quantile(boost::math::normal(), p); }

}  // namespace

TEST_CASE("profile: of a normal density, the normal interval exactly", "[fitting]") {
  // six unknowns, each pair correlated 0.95, of sd 0.3: the profile of one is the marginal density
  const Eigen::Index n = 6;
  Eigen::MatrixXd covariance = Eigen::MatrixXd::Constant(n, n, 0.95 * 0.09);
  covariance.diagonal().setConstant(0.09);
  const Eigen::VectorXd centre = Eigen::VectorXd::LinSpaced(n, -2.0, 3.0);
  const Cost cost = quadratic(covariance.inverse(), centre, 4.0);
  for (const double level : {0.5, 0.9, 0.99}) {
    ProfileOptions options;
    options.level = level;
    const Profile profile = profile_of(cost, at(cost, centre), 2, options);
    CHECK(profile.finished);
    CHECK(profile.identifiable == Identifiable::yes);
    CHECK(profile.unsure == 0);
    CHECK(profile.better.size() == 0);
    const double half = normal_quantile(0.5 + 0.5 * level) * 0.3;
    // a cubic is exact for a parabola; what is left is the end of the searches and of the differences
    CHECK(profile.interval.lower == Approx(centre[2] - half).margin(1e-4 * half));
    CHECK(profile.interval.upper == Approx(centre[2] + half).margin(1e-4 * half));
    REQUIRE(std::is_sorted(profile.z.begin(), profile.z.end()));
    REQUIRE(profile.others.cols() == static_cast<Eigen::Index>(profile.z.size()));
    for (std::size_t i = 0; i < profile.z.size(); ++i) {
      const double away = (profile.z[i] - centre[2]) / 0.3;
      // searches end within 0.2 % of the threshold
      CHECK(profile.cost[i] == Approx(0.5 * away * away).margin(2e-3 * 0.5 * std::pow(half / 0.3, 2)));
      CHECK(profile.others(2, static_cast<Eigen::Index>(i)) == profile.z[i]);
    }
    // rises of a fifth of the threshold: five to six points a side
    CHECK(profile.z.size() >= 9);
    CHECK(profile.z.size() <= 15);
    // what a costly model can afford: 12 for the curvature, and a few at each point
    CHECK(profile.evaluations <= 60);
  }
}

TEST_CASE("profile: t intervals of Michaelis-Menten kinetics and oxygen demand as R has them", "[fitting]") {
  // data and exact limits: tests/reference/uncertainty.R. `level` is that of chi-square whose threshold is
  // t^2 of n - 2 degrees of freedom, costs being divided by the residual variance.
  struct Case {
    const char* name;
    double level;
    Interval a, b;
  };
  const TwoParameters puromycin{{0.02, 0.02, 0.06, 0.06, 0.11, 0.11, 0.22, 0.22, 0.56, 0.56, 1.10, 1.10},
                                {76, 47, 97, 107, 123, 139, 159, 152, 191, 201, 207, 200},
                                true,
                                std::sqrt(1195.44881444 / 10.0)};
  const TwoParameters demand{
      {1, 2, 3, 4, 5, 7}, {8.3, 10.3, 19.0, 16.0, 15.6, 19.8}, false, std::sqrt(25.99026728 / 4.0)};
  const std::vector<Case> cases = {
      {"puromycin", 0.8299937233, {203.080228, 222.749657}, {0.05303182, 0.07703550}},
      {"puromycin", 0.9300850242, {200.088612, 226.086896}, {0.04981595, 0.08161723}},
      {"puromycin", 0.9741287428, {197.301933, 229.289055}, {0.04692034, 0.08615691}},
      {"bod", 0.8747749611, {16.016121, 24.818417}, {0.27924847, 0.96775776}},
      {"bod", 0.9669805560, {15.031423, 29.243668}, {0.20386884, 1.26374254}},
      {"bod", 0.9945043085, {14.049364, 38.456198}, {0.13139775, 1.80816959}}};
  for (const Case& one : cases) {
    CAPTURE(one.name, one.level);
    const bool first = std::string(one.name) == "puromycin";
    const Cost cost =
        first ? cost_of_two(puromycin, {100, 1e-3}, {500, 1.0}) : cost_of_two(demand, {5, 1e-2}, {200, 10.0});
    const Optimum best = found(cost, first ? Eigen::Vector2d(200, 0.05) : Eigen::Vector2d(20, 0.5));
    ProfileOptions options;
    options.level = one.level;
    for (const std::size_t unknown : {0, 1}) {
      const Profile profile = profile_of(cost, best, unknown, options);
      const Interval& exact = unknown == 0 ? one.a : one.b;
      REQUIRE(profile.identifiable == Identifiable::yes);
      // a cubic between points that are a fifth of the threshold apart
      const double half = 0.5 * (exact.upper - exact.lower);
      CHECK(profile.interval.lower == Approx(exact.lower).margin(5e-3 * half));
      CHECK(profile.interval.upper == Approx(exact.upper).margin(5e-3 * half));
      CHECK(profile.evaluations < 120);
    }
  }
  // at 99 %, a rate of oxygen demand without end fits as well: threshold 4.604^2/2 in units of the variance,
  // and a constant demand of 14.83 leaves a sum of squares of 107.2, a rise of (107.2 - 26.0)/(2 * 6.4976)
  // = 6.25
  const Cost cost = cost_of_two(demand, {5, 1e-2}, {200, 10.0});
  ProfileOptions options;
  options.level = std::erf(4.604 / std::sqrt(2.0));
  const Profile open = profile_of(cost, found(cost, Eigen::Vector2d(20, 0.5)), 1, options);
  CHECK(open.identifiable == Identifiable::open_above);
  CHECK(open.interval.upper == 10.0);
  CHECK(open.cost.back() - 2.0 == Approx(6.25).epsilon(0.01));
}

TEST_CASE("profile: flat, open on one side, open on both", "[fitting]") {
  const Eigen::Vector2d zero(0, 0);
  const Cost flat = along(-1, 2, [](double) { return std::pair{0.0, 0.0}; });
  const Profile nothing = profile_of(flat, at(flat, zero), 0);
  CHECK(nothing.identifiable == Identifiable::flat);
  CHECK(nothing.interval.lower == -1.0);
  CHECK(nothing.interval.upper == 2.0);
  CHECK(nothing.finished);

  // noise of an integrator is no information, and no better optimum
  const Cost noisy = along(-1, 2, [](double z) {
    return std::pair{1e-6 * std::sin(1e5 * z), 1e-4 * std::cos(9e4 * z)};
  });
  const Profile noise = profile_of(noisy, at(noisy, zero), 0);
  CHECK(noise.identifiable == Identifiable::flat);
  CHECK(noise.better.size() == 0);

  // a saturating rise: ln(2)/2 at most above, without end below; 50 % is passed where exp(-z) = 1.2273 or so
  const auto log_rise = [](double z) {
    const double away = std::exp(-z) - 1.0;
    return std::pair{2.0 * away * away, -4.0 * away * std::exp(-z)};
  };
  const Cost one_sided = along(-3, 20, log_rise);
  ProfileOptions options;
  options.level = 0.99;  // threshold 3.317
  const Profile above = profile_of(one_sided, at(one_sided, zero), 0, options);
  CHECK(above.identifiable == Identifiable::open_above);
  CHECK(above.interval.upper == 20.0);
  const double end = -std::log(1.0 + std::sqrt(3.3174483 / 2.0));
  CHECK(above.interval.lower == Approx(end).epsilon(5e-3));
  const Cost other_way = along(-20, 3, [&](double z) {
    const auto [value, slope] = log_rise(-z);
    return std::pair{value, -slope};
  });
  const Profile below = profile_of(other_way, at(other_way, zero), 0, options);
  CHECK(below.identifiable == Identifiable::open_below);
  CHECK(below.interval.upper == Approx(-end).epsilon(5e-3));

  const Cost shallow = along(-1, 2, [](double z) { return std::pair{0.1 * z * z, 0.2 * z}; });
  const Profile both = profile_of(shallow, at(shallow, zero), 0);
  CHECK(both.identifiable == Identifiable::open);
  CHECK(both.interval.lower == -1.0);
  CHECK(both.interval.upper == 2.0);
  CHECK(both.cost.back() == Approx(0.4).margin(1e-3));
}

TEST_CASE("profile: an optimum on a bound has one side", "[fitting]") {
  const Cost cost = along(0, 10, [](double z) {
    return std::pair{0.5 * (z + 1.0) * (z + 1.0) - 0.5, z + 1.0};
  });
  const Profile profile = profile_of(cost, at(cost, Eigen::Vector2d(0, 0)), 0);
  CHECK(profile.identifiable == Identifiable::open_below);
  CHECK(profile.interval.lower == 0.0);
  // (z + 1)^2 - 1 = 2.7055435
  CHECK(profile.interval.upper == Approx(std::sqrt(3.7055435) - 1.0).epsilon(1e-3));

  // the other unknown pressed against its bound: the profile is that of the quadratic on the edge, z^2/2,
  // where it would be flatter if the other could follow
  Eigen::Matrix2d precision;
  precision << 1.0, -0.8, -0.8, 1.0;
  Cost pressed = quadratic(precision, Eigen::Vector2d(0, 0), 8.0);
  LogDensity edge{Eigen::Vector2d(-8, -8), Eigen::Vector2d(8, 0),
                  [pressed](const Eigen::VectorXd& x, Eigen::VectorXd* g) {
                    const double value = -pressed.evaluate(x, g);
                    if (g) *g = -*g;
                    return value;
                  }};
  const Profile edged = profile_of(cost_of(edge), at(pressed, Eigen::Vector2d(0, 0)), 0);
  CHECK(edged.interval.upper == Approx(1.6448536).epsilon(2e-3));
  CHECK(edged.interval.lower == Approx(-1.6448536 / 0.6).epsilon(2e-3));
}

TEST_CASE("profile: a value beyond which nothing can be evaluated is a wall, not an end", "[fitting]") {
  const auto walled = [](double wall) {
    return along(-10, 10, [wall](double z) { return std::pair{z > wall ? inf : 0.5 * z * z, z}; });
  };
  const Eigen::Vector2d zero(0, 0);
  const Cost near = walled(0.777), far = walled(3.0);
  const Profile stopped = profile_of(near, at(near, zero), 0);
  CHECK(stopped.identifiable == Identifiable::open_above);
  CHECK(stopped.wall_above);
  CHECK(!stopped.wall_below);
  CHECK(stopped.interval.upper <= 0.777);
  CHECK(stopped.interval.upper ==
        Approx(0.777).epsilon(0.02));  // the walk ends within 1 %, and 1e-4 of the range
  CHECK(stopped.interval.lower == Approx(-1.6448536).epsilon(1e-3));
  // the threshold comes before the wall
  const Profile closed = profile_of(far, at(far, zero), 0);
  CHECK(closed.identifiable == Identifiable::yes);
  CHECK(!closed.wall_above);
  CHECK(closed.interval.upper == Approx(1.6448536).epsilon(1e-3));

  // a wall aslant, x + y < 1: with x held above 0.5 the least lies on the edge, y = 1 - x, where derivatives
  // cannot confirm it
  const Cost slanted = cost_of(LogDensity{Eigen::Vector2d(-10, -10), Eigen::Vector2d(10, 10),
                                          [](const Eigen::VectorXd& x, Eigen::VectorXd* gradient) {
                                            if (x[0] + x[1] > 1.0) return -inf;
                                            const double away = x[1] - x[0];
                                            if (gradient) *gradient = -Eigen::Vector2d(x[0] - away, away);
                                            return -0.5 * x[0] * x[0] - 0.5 * away * away;
                                          }});
  ProfileOptions one_sd;
  one_sd.level = std::erf(std::sqrt(0.5));
  const Profile edge = profile_of(slanted, at(slanted, zero), 0, one_sd);
  CHECK(edge.identifiable == Identifiable::yes);
  // x^2 + (1 - 2x)^2 = 1 at 0.8; costs on an edge are found from inside, a little high
  CHECK(edge.interval.upper == Approx(0.8).epsilon(0.03));
  CHECK(edge.interval.lower == Approx(-1.0).epsilon(1e-3));
}

TEST_CASE("profile: a better optimum on the way is told", "[fitting]") {
  // two valleys of (z^2 - 1)^2 tilted: the one at +1 is given, the one at -1 is deeper by 2; the ridge is
  // lower than the threshold of 99.9 % (5.4)
  const Cost cost = along(-2, 2, [](double z) {
    return std::pair{2.0 * (z * z - 1.0) * (z * z - 1.0) + z, 8.0 * z * (z * z - 1.0) + 1.0};
  });
  const Optimum local = found(cost, Eigen::Vector2d(1, 1));
  REQUIRE(local.x[0] > 0.8);
  ProfileOptions options;
  options.level = 0.999;
  const Profile profile = profile_of(cost, local, 0, options);
  REQUIRE(profile.better.size() == 2);
  CHECK(!profile.finished);
  CHECK(profile.identifiable == Identifiable::unknown);
  CHECK(profile.better_cost < local.cost - 0.2);
  CHECK(cost.evaluate(profile.better, nullptr) == profile.better_cost);
  const Optimum again = found(cost, profile.better);
  CHECK(again.cost < local.cost - 1.9);
  const Profile whole = profile_of(cost, again, 0, options);
  CHECK(whole.finished);
  CHECK(whole.better.size() == 0);
}

TEST_CASE("profile: stops on request, keeps what there is, and tells its way", "[fitting]") {
  const Cost cost = quadratic(Eigen::Matrix3d::Identity(), Eigen::Vector3d(0, 0, 0), 5.0);
  int calls = 0;
  double last = 0.0;
  ProfileOptions options;
  options.progress = [&](const Progress& now) {
    CHECK(now.fraction >= last);
    CHECK(now.fraction <= 1.0);
    last = now.fraction;
    return ++calls < 12;
  };
  const Profile profile = profile_of(cost, at(cost, Eigen::Vector3d(0, 0, 0)), 0, options);
  CHECK(!profile.finished);
  CHECK(profile.identifiable == Identifiable::unknown);
  CHECK(calls == 12);
  CHECK(profile.evaluations == 12);
  CHECK(profile.z.size() >= 2);
  calls = -1000000;
  last = 0.0;
  CHECK(profile_of(cost, at(cost, Eigen::Vector3d(0, 0, 0)), 0, options).finished);
  CHECK(last > 0.8);
}

TEST_CASE("profile: what it refuses", "[fitting]") {
  Cost cost = quadratic(Eigen::Matrix2d::Identity(), Eigen::Vector2d(0, 0), 5.0);
  const Optimum best = at(cost, Eigen::Vector2d(0, 0));
  CHECK_THROWS_AS(profile_of(cost, best, 2), std::invalid_argument);
  Optimum outside = best;
  outside.x[0] = 6.0;
  CHECK_THROWS_AS(profile_of(cost, outside, 0), std::invalid_argument);
  ProfileOptions options;
  options.level = 1.0;
  CHECK_THROWS_AS(profile_of(cost, best, 0, options), std::invalid_argument);
  cost.upper[1] = inf;
  CHECK_THROWS_AS(profile_of(cost, best, 0), std::invalid_argument);
  // a best point that cannot be evaluated
  const Cost nowhere = along(-1, 1, [](double) { return std::pair{inf, 0.0}; });
  const Profile none = profile_of(nowhere, at(nowhere, Eigen::Vector2d(0, 0)), 0);
  CHECK(none.identifiable == Identifiable::unknown);
  CHECK(!none.finished);
  CHECK(none.z.empty());
}
