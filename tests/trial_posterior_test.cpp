/// How probable unknowns are, given a trial.
#include "fitting/trial_posterior.hpp"
#include "fitting/covariance.hpp"
#include "fitting/least_squares.hpp"
#include "tests/catch.hpp"
#include "tests/small_trials.hpp"

using namespace stoverturn;

namespace {

constexpr double inf = std::numeric_limits<double>::infinity();

// unknowns of the trial below
enum : std::size_t {
  k_hol,
  k_spread,
  effect_0,
  effect_1,
  k_sol,
  e_hol,
  N_bg,
  absolute,
  proportional,
  nitrogen_sd,
  shift_spread,
  block_0,
  block_1,
  unknowns
};

/// Two sites with a k_hol each, drawn to a common mean; errors of every kind.
TrialPosterior every_kind(Tail tail) {
  std::vector<Slot> slots;
  for (std::size_t t = 0; t < 2; ++t) {
    add_slots(slots, t, "k_hol", t);
    add_slots(slots, t, "k_sol", 2);
    add_slots(slots, t, "e_hol", 3);
    slots.push_back({t, -1, find_parameter("N_bg"), 4});
  }
  std::vector<TrialTreatment> treatments{small_jar(15.0, Placement::buried, 40),
                                         small_jar(25.0, Placement::buried, 40)};
  for (TrialTreatment& t : treatments) t.plan.tolerance = {1e-11, 1e-12};
  TrialErrors errors;
  errors.tail = tail;
  std::vector<Observation> seen;
  for (std::size_t t = 0; t < 2; ++t) {
    for (const int day : {7, 20, 40}) {
      const double left = 1.0 - 0.008 * day;
      seen.push_back({.treatment = t, .measure = Measure::mass, .day = day, .value = left + 0.04});
      seen.push_back({.treatment = t, .measure = Measure::carbon, .day = day, .value = left, .n = 4});
      seen.push_back(
          {.treatment = t, .measure = Measure::nitrogen_left, .component = 1, .day = day, .value = left});
      seen.push_back({.treatment = t,
                      .measure = Measure::respired,
                      .day = day,
                      .value = 0.9 - left,
                      .sd = 0.03,
                      .n = 2});
    }
  }
  for (std::size_t i = 0; i < seen.size(); ++i) {
    errors.shift.push_back(i % 3 == 0 ? std::optional<std::size_t>() : block_0 + i % 2);
  }
  errors.shift_spread = shift_spread;
  errors.size[static_cast<std::size_t>(Measure::mass)] = {absolute, proportional};
  errors.size[static_cast<std::size_t>(Measure::carbon)] = {std::nullopt, proportional};
  errors.size[static_cast<std::size_t>(Measure::nitrogen_left)] = {nitrogen_sd, std::nullopt};
  std::vector<Unknown> all(unknowns);
  all[k_hol] = unknown("k_hol", Fit::log, 0.035, 0.001, 0.3, prior_between(Fit::log, 0.01, 0.1));
  all[k_spread] = unknown("spread of k_hol", Fit::log, 0.3, 0.01, 2.0, prior_between(Fit::log, 0.05, 1.0));
  all[effect_0] = standard_effect("k_hol of site 1");
  all[effect_1] = standard_effect("k_hol of site 2");
  all[k_sol] = unknown("k_sol", Fit::log, 0.07, 0.005, 0.5);
  all[e_hol] = unknown("e_hol", Fit::logit, 0.45, 0.05, 0.75);
  all[N_bg] = unknown("N_bg", Fit::linear, 0.06, 0.0, 0.5);
  all[absolute] = unknown("error of mass", Fit::log, 0.03, 1e-3, 1.0);
  all[proportional] =
      unknown("relative error", Fit::log, 0.05, 1e-3, 1.0, prior_between(Fit::log, 0.01, 0.2));
  all[nitrogen_sd] = unknown("error of nitrogen", Fit::log, 0.05, 1e-3, 1.0);
  all[shift_spread] = unknown("spread of blocks", Fit::log, 0.02, 1e-3, 0.5);
  all[block_0] = standard_effect("block 1");
  all[block_1] = standard_effect("block 2");
  return TrialPosterior(std::make_shared<TrialModel>(treatments, slots, 5, seen),
                        {{Fit::log, k_hol, k_spread, effect_0},
                         {Fit::log, k_hol, k_spread, effect_1},
                         {Fit::log, k_sol},
                         {Fit::logit, e_hol},
                         {Fit::linear, N_bg}},
                        all, errors);
}

/// A point at which nothing is zero.
Eigen::VectorXd uneven(const TrialPosterior& posterior) {
  Eigen::VectorXd z = posterior.start();
  for (Eigen::Index j = 0; j < z.size(); ++j) z[j] += 0.02 * static_cast<double>(j % 5 - 1);
  z[effect_0] = 0.7;
  z[effect_1] = -1.2;
  z[block_0] = -0.5;
  z[block_1] = 0.9;
  return z;
}

double richardson(const LogDensity& density, const Eigen::VectorXd& z, Eigen::Index j, double step) {
  const auto central = [&](double h) {
    Eigen::VectorXd up = z, down = z;
    up[j] += h;
    down[j] -= h;
    return (density.evaluate(up, nullptr) - density.evaluate(down, nullptr)) / (2.0 * h);
  };
  return (4.0 * central(step) - central(2.0 * step)) / 3.0;
}

/// One bag, one unknown: everything can be written down.
TrialPosterior one_bag(TrialErrors errors, std::vector<Unknown> all, Observation bag) {
  std::vector<Slot> slots;
  add_slots(slots, 0, "k_hol", 0);
  return TrialPosterior(std::make_shared<TrialModel>(std::vector{small_jar(20.0, Placement::buried, 30)},
                                                     slots, 1, std::vector{bag}),
                        {{Fit::log, 0}}, std::move(all), std::move(errors));
}

}  // namespace

TEST_CASE("unknown: scales and priors", "[fitting]") {
  for (const Fit scale : {Fit::linear, Fit::log, Fit::logit}) {
    const double x = 0.3, z = to_fit_scale(scale, x), h = 1e-5;
    CHECK(from_fit_scale(scale, z) == Approx(x).epsilon(1e-14));
    const double slope = (from_fit_scale(scale, z + h) - from_fit_scale(scale, z - h)) / (2.0 * h);
    CHECK(slope_of_fit_scale(scale, z) == Approx(slope).epsilon(1e-8));  // h^2 and round-off over h
  }
  CHECK(from_fit_scale(Fit::logit, -800.0) >= 0.0);  // no overflow
  CHECK(from_fit_scale(Fit::logit, 800.0) == 1.0);
  CHECK(!std::isfinite(to_fit_scale(Fit::log, -1.0)));

  // 90 % of a normal lies within 1.644854 sd (tables of the normal distribution)
  const Prior prior = prior_between(Fit::log, 0.01, 0.1);
  CHECK(prior.mean == Approx(0.5 * (std::log(0.01) + std::log(0.1))).epsilon(1e-14));
  CHECK(prior.sd == Approx(std::log(10.0) / (2.0 * 1.644854)).epsilon(1e-6));
  // density of the normal one sd off: 0.2419707 over sd (tables)
  double slope = 1.0;
  CHECK(log_prior({Prior::Shape::normal, 1.0, 2.0}, 3.0, &slope) ==
        Approx(std::log(0.2419707 / 2.0)).epsilon(1e-6));
  CHECK(slope == Approx(1.0 - 0.5).epsilon(1e-14));
  CHECK(log_prior({}, 7.0) == 0.0);
  CHECK_THROWS_WITH(prior_between(Fit::log, -1.0, 2.0),
                    "a prior needs a lower value below an upper one, both possible on its scale");
  CHECK_THROWS_AS(prior_between(Fit::linear, 2.0, 1.0), std::invalid_argument);
}

TEST_CASE("trial posterior: the gradient agrees with differences for every kind of unknown", "[fitting]") {
  for (const Tail tail : {Tail::normal, Tail::student}) {
    const TrialPosterior posterior = every_kind(tail);
    std::vector<double> weights(posterior.model().observations().size(), 1.0);
    weights[1] = 3.0;
    weights[4] = 0.0;
    const LogDensity density = posterior.density(weights);
    const Eigen::VectorXd z = uneven(posterior);
    Eigen::VectorXd gradient;
    const double value = density.evaluate(z, &gradient);
    REQUIRE(std::isfinite(value));
    CHECK(density.evaluate(z, nullptr) == Approx(value).epsilon(1e-9));
    for (Eigen::Index j = 0; j < z.size(); ++j) {
      INFO("unknown " << posterior.unknowns()[static_cast<std::size_t>(j)].name);
      // integration to 1e-11 over errors of 0.03 and steps of 2e-3 leaves some 1e-6; h^4 less
      CHECK(gradient[j] == Approx(richardson(density, z, j, 2e-3)).epsilon(1e-5).margin(1e-5));
    }
  }
}

TEST_CASE("trial posterior: information expected is that of the distributions", "[fitting]") {
  // Many copies of one bag, spread as the distribution says: the mean of score products is the information.
  // Midpoints of 4000 equal shares of probability; Simpson-like error of the tails, 1 %.
  const auto quantile_t4 =
      [](double p) {  // closed form for 4 degrees of freedom (Shaw 2006, J. Comp. Fin. 9)
        const double a = 4.0 * p * (1.0 - p), c = std::cos(std::acos(std::sqrt(a)) / 3.0) / std::sqrt(a);
        return std::copysign(2.0 * std::sqrt(c - 1.0), p - 0.5);
      };
  TrialErrors errors;
  errors.tail = Tail::student;
  errors.size[static_cast<std::size_t>(Measure::mass)] = {1, std::nullopt};
  const std::vector<Unknown> all{unknown("k_hol", Fit::log, 0.035, 0.001, 0.3),
                                 unknown("error of mass", Fit::log, 0.05, 1e-3, 1.0)};
  Eigen::Matrix2d products = Eigen::Matrix2d::Zero(), information = products;
  const Observation bag{.measure = Measure::mass, .day = 30};
  const TrialPosterior any = one_bag(errors, all, bag);
  const Eigen::VectorXd z = any.start();
  const double mean = any.predicted(z)->value[0];
  const int shares = 400;
  for (int k = 0; k < shares; ++k) {
    Observation drawn = bag;
    drawn.value = mean + 0.05 * quantile_t4((k + 0.5) / shares);
    Eigen::VectorXd score;
    Eigen::MatrixXd root;
    REQUIRE(std::isfinite(one_bag(errors, all, drawn).informed().evaluate(z, &score, &root)));
    const Eigen::Vector2d gradient = root.transpose() * score;
    products += gradient * gradient.transpose() / shares;
    information = root.transpose() * root;
  }
  CHECK(products(0, 0) == Approx(information(0, 0)).epsilon(0.01));
  CHECK(products(1, 1) == Approx(information(1, 1)).epsilon(0.01));
  CHECK(std::abs(products(0, 1)) < 1e-9 * products(0, 0));  // symmetry
}

TEST_CASE("trial posterior: many points at once agree with each alone", "[fitting]") {
  const TrialPosterior posterior = every_kind(Tail::student);
  Eigen::MatrixXd z(static_cast<Eigen::Index>(unknowns), 11);
  for (Eigen::Index c = 0; c < z.cols(); ++c) {
    z.col(c) = uneven(posterior);
    z.col(c).array() += 0.01 * static_cast<double>(c);
  }
  z(k_sol, 3) = 10.0;              // beyond its bound
  z(k_spread, 5) = std::log(2.0);  // the site leaves the bounds of k_hol
  z(effect_0, 5) = 4.0;
  Eigen::VectorXd values;
  posterior.log_densities(z, values);
  for (Eigen::Index c = 0; c < z.cols(); ++c) {
    const double alone = posterior.density().evaluate(z.col(c), nullptr);
    CAPTURE(c);
    if (c == 3 || c == 5) {
      CHECK(alone == -inf);
      CHECK(values[c] == -inf);
    } else {
      CHECK(std::isfinite(alone));
      // lanes share steps: ten times the tolerance of 1e-11 over errors of 0.02, times residuals of a few sd
      CHECK(values[c] == Approx(alone).margin(1e-7));
    }
  }
}

TEST_CASE("trial posterior: likelihood of a bag by hand", "[fitting]") {
  const std::vector<Unknown> sized{unknown("k_hol", Fit::log, 0.035, 0.001, 0.3),
                                   unknown("error of mass", Fit::log, 0.04, 1e-3, 1.0),
                                   unknown("relative error", Fit::log, 0.1, 1e-3, 1.0)};
  const Observation bag{.measure = Measure::mass, .day = 30, .value = 0.8, .n = 4};
  TrialErrors errors;
  errors.size[static_cast<std::size_t>(Measure::mass)] = {1, 2};
  const TrialPosterior both = one_bag(errors, sized, bag);
  const Eigen::VectorXd z = both.start();
  const double mean = both.predicted(z)->value[0];
  REQUIRE(mean > 0.3);
  const double sd = std::sqrt((0.04 * 0.04 + 0.01 * mean * mean) / 4.0), u = (0.8 - mean) / sd;
  CHECK(both.predicted(z)->sd[0] == Approx(sd).epsilon(1e-12));
  const double normal = std::exp(-0.5 * u * u) / (sd * std::sqrt(2.0 * M_PI));
  CHECK(both.density().evaluate(z, nullptr) == Approx(std::log(normal)).epsilon(1e-9));
  errors.tail = Tail::student;  // t of 4 degrees of freedom: 3/8 (1 + u^2/4)^(-5/2)
  const double t = 0.375 * std::pow(1.0 + u * u / 4.0, -2.5) / sd;
  CHECK(one_bag(errors, sized, bag).density().evaluate(z, nullptr) == Approx(std::log(t)).epsilon(1e-9));

  Observation stated = bag;  // its sd stated, nothing but k_hol unknown
  stated.sd = 0.06;
  const TrialPosterior given = one_bag({}, {sized[0]}, stated);
  const double v = (0.8 - mean) / 0.03;
  CHECK(given.density().evaluate(given.start(), nullptr) ==
        Approx(-0.5 * v * v - std::log(0.03 * std::sqrt(2.0 * M_PI))).epsilon(1e-9));
}

TEST_CASE("trial posterior: a weight of two counts as the same data twice", "[fitting]") {
  const TrialPosterior posterior = every_kind(Tail::normal);
  const Eigen::VectorXd z = uneven(posterior);
  const std::size_t n = posterior.model().observations().size();
  double priors = 0.0;
  for (std::size_t j = 0; j < unknowns; ++j) {
    priors += log_prior(posterior.unknowns()[j].prior, z[static_cast<Eigen::Index>(j)]);
  }
  const double once = posterior.density().evaluate(z, nullptr);
  const double twice = posterior.density(std::vector<double>(n, 2.0)).evaluate(z, nullptr);
  CHECK(twice - priors == Approx(2.0 * (once - priors)).epsilon(1e-13));  // round-off
  CHECK(posterior.density(std::vector<double>(n, 0.0)).evaluate(z, nullptr) == Approx(priors).epsilon(1e-13));
  CHECK_THROWS_AS(posterior.density({1.0}).evaluate(z, nullptr), std::invalid_argument);
}

TEST_CASE("trial posterior: least squares are the density but for a constant", "[fitting]") {
  const TrialPosterior posterior = every_kind(Tail::normal);
  const Eigen::VectorXd z = uneven(posterior);
  std::vector<std::size_t> free;
  std::vector<double> weights(posterior.model().observations().size(), 1.0);
  weights[2] = 2.0;
  const LeastSquares squares = posterior.least_squares(z, &free, weights);
  CHECK(free.size() == unknowns - 3);  // not the three sizes
  Eigen::VectorXd x(static_cast<Eigen::Index>(free.size())), r;
  for (std::size_t j = 0; j < free.size(); ++j)
    x[static_cast<Eigen::Index>(j)] = z[static_cast<Eigen::Index>(free[j])];
  Eigen::MatrixXd J;
  REQUIRE(squares.evaluate(x, r, &J));
  CHECK(r.size() == static_cast<Eigen::Index>(squares.residuals));
  // the relative errors move with predictions in the density, but are held in the squares: where none is,
  // slopes agree. nitrogen_left and respired have none, so leave the others out
  for (std::size_t i = 0; i < weights.size(); ++i) {
    if (posterior.model().observations()[i].measure <= Measure::carbon) weights[i] = 0.0;
  }
  REQUIRE(posterior.least_squares(z, nullptr, weights).evaluate(x, r, &J));
  Eigen::VectorXd gradient;
  posterior.density(weights).evaluate(z, &gradient);
  const Eigen::VectorXd slopes = -J.transpose() * r;
  for (std::size_t j = 0; j < free.size(); ++j) {
    CHECK(slopes[static_cast<Eigen::Index>(j)] ==
          Approx(gradient[static_cast<Eigen::Index>(free[j])]).margin(1e-9));
  }
  // half the sum of squares falls as the density rises
  Eigen::VectorXd moved = x, whole = z, after;
  moved.array() += 0.01;
  for (std::size_t j = 0; j < free.size(); ++j) whole[static_cast<Eigen::Index>(free[j])] += 0.01;
  REQUIRE(posterior.least_squares(z, nullptr, weights).evaluate(moved, after, nullptr));
  const LogDensity density = posterior.density(weights);
  CHECK(0.5 * (r.squaredNorm() - after.squaredNorm()) ==
        Approx(density.evaluate(whole, nullptr) - density.evaluate(z, nullptr)).epsilon(1e-8));
}

TEST_CASE("trial posterior: error sizes from held predictions have their closed form", "[fitting]") {
  // no prior, one size: sd^2 is the mean square of n (observed - predicted)^2
  std::vector<Slot> slots;
  add_slots(slots, 0, "k_hol", 0);
  std::vector<Observation> bags;
  for (int i = 0; i < 6; ++i) {
    bags.push_back({.measure = Measure::mass, .day = 5 * (i + 1), .value = 0.9 - 0.07 * i, .n = 1 + i % 2});
  }
  TrialErrors errors;
  errors.size[static_cast<std::size_t>(Measure::mass)] = {1, std::nullopt};
  const TrialPosterior posterior(
      std::make_shared<TrialModel>(std::vector{small_jar(20.0, Placement::buried, 30)}, slots, 1, bags),
      {{Fit::log, 0}},
      {unknown("k_hol", Fit::log, 0.035, 0.001, 0.3), unknown("error of mass", Fit::log, 0.5, 1e-4, 1.0)},
      errors);
  const Eigen::VectorXd z = posterior.start();
  const Eigen::VectorXd mean = posterior.predicted(z)->value;
  double sum = 0.0;
  for (std::size_t i = 0; i < bags.size(); ++i) {
    sum += bags[i].n * std::pow(bags[i].value - mean[static_cast<Eigen::Index>(i)], 2);
  }
  const Eigen::VectorXd best = posterior.with_best_error_sizes(z);
  CHECK(best[0] == z[0]);
  // climb stops within 1e-4 standard errors, one of which is 0.3 of ln sd
  CHECK(best[1] == Approx(0.5 * std::log(sum / 6.0)).margin(1e-4));
}

TEST_CASE("trial posterior: bounds, and points that cannot be evaluated", "[fitting]") {
  const TrialPosterior posterior = every_kind(Tail::normal);
  const LogDensity density = posterior.density();
  Eigen::VectorXd z = uneven(posterior), gradient;
  z[N_bg] = 0.5 * (1.0 + 1e-13);  // round-off of a search
  CHECK(std::isfinite(density.evaluate(z, &gradient)));
  z[N_bg] = 0.5 + 1e-9;
  CHECK(density.evaluate(z, &gradient) == -inf);
  z[N_bg] = std::numeric_limits<double>::quiet_NaN();
  CHECK(density.evaluate(z, &gradient) == -inf);
  CHECK_THROWS_AS(density.evaluate(Eigen::VectorXd(2), nullptr), std::invalid_argument);

  TrialTreatment hard = small_jar(20.0, Placement::buried, 30);
  hard.plan.tolerance.most_steps_a_day = 0;  // the integrator gives up at once
  std::vector<Slot> slots;
  add_slots(slots, 0, "k_hol", 0);
  const TrialPosterior failing(
      std::make_shared<TrialModel>(
          std::vector{hard}, slots, 1,
          std::vector{Observation{.measure = Measure::mass, .day = 30, .value = 0.5, .sd = 0.1}}),
      {{Fit::log, 0}}, {unknown("k_hol", Fit::log, 0.035, 0.001, 0.3)}, {});
  CHECK(failing.density().evaluate(failing.start(), &gradient) == -inf);
  CHECK(!failing.predicted(failing.start()));
  Eigen::VectorXd values, r;
  failing.log_densities(failing.start(), values);
  CHECK(values[0] == -inf);
  CHECK(!failing.least_squares(failing.start(), nullptr).evaluate(failing.start(), r, nullptr));
  CHECK(climb(failing.informed(), failing.start()).stop == Stop::bad_start);
}

TEST_CASE("trial posterior: what does not fit together is refused", "[fitting]") {
  const Unknown k = unknown("k_hol", Fit::log, 0.035, 0.001, 0.3);
  const Observation bag{.measure = Measure::mass, .day = 30, .value = 0.8};
  TrialErrors errors;
  CHECK_THROWS_WITH(one_bag(errors, {k}, bag),
                    "an observation has neither an error size nor an sd above zero");
  errors.size[0] = {0, std::nullopt};
  CHECK_THROWS_WITH(one_bag(errors, {k}, bag), "k_hol: an error size cannot be something else, too");
  errors.size[0] = {1, std::nullopt};
  CHECK_THROWS_WITH(one_bag(errors, {k}, bag), "an index of an unknown is out of range");
  CHECK_THROWS_WITH(one_bag(errors, {unknown("k_hol", Fit::linear, 0.1, 0.0, 1.0), k}, bag),
                    "k_hol: its scale differs from that of the parameter it gives");
  CHECK_THROWS_WITH(one_bag(errors, {k, unknown("error", Fit::log, 0.1, 0.0, 1.0)}, bag),
                    "error: its bounds must be finite on the fit scale, the lower below the upper");
  CHECK_THROWS_WITH(one_bag(errors, {k, unknown("error", Fit::log, 2.0, 0.1, 1.0)}, bag),
                    "error: its start is beyond its bounds");
  errors.shift = {0, 0};
  CHECK_THROWS_WITH(one_bag(errors, {k, k}, bag), "shifts are by observation");
}

TEST_CASE("a point on a bound is the bound in units, to the bit", "[fit]") {
  // exp(log(3)) is 3.0000000000000004: a run forward would refuse it
  const TrialPosterior posterior = [] {
    TrialErrors errors;
    errors.size[static_cast<std::size_t>(Measure::mass)].absolute = 1;
    std::vector<Slot> slots;
    add_slots(slots, 0, "tissue", 0);
    auto model = std::make_shared<TrialModel>(std::vector{small_jar(20.0, Placement::buried, 10)}, slots, 1,
                                              std::vector<Observation>{{.measure = Measure::mass, .day = 5}});
    return TrialPosterior(
        model, {{Fit::log, 0}},
        {unknown("tissue", Fit::log, 1.0, 0.02, 3.0), unknown("error of mass", Fit::log, 0.1, 0.001, 1.0)},
        errors);
  }();
  CHECK(posterior.in_units(posterior.upper())[0] == 3.0);
  CHECK(posterior.in_units(posterior.lower())[0] == 0.02);
}
