/// The most probable point of invented trials whose truth is known.
#include "fitting/best_fit.hpp"
#include "fitting/least_squares.hpp"
#include "tests/catch.hpp"
#include "tests/small_trials.hpp"

using namespace stoverturn;

namespace {

constexpr std::size_t mass = static_cast<std::size_t>(Measure::mass);
enum : std::size_t { k_hol, k_sol, absolute, proportional };

std::shared_ptr<TrialModel> jar_model(std::vector<Observation> bags, Tolerance tolerance = {}) {
  std::vector<Slot> slots;
  add_slots(slots, 0, "k_hol", 0);
  add_slots(slots, 0, "k_sol", 1);
  TrialTreatment jar = small_jar(20.0, Placement::buried, 90);
  jar.plan.tolerance = tolerance;
  return std::make_shared<TrialModel>(std::vector{jar}, slots, 2, std::move(bags));
}

/// 28 bags on seven dates; what they hold is predicted at the truth and moved by `error` sd.
std::vector<Observation> bags_of(double k_hol_true, double k_sol_true,
                                 const std::function<double(std::size_t bag, double left)>& error) {
  std::vector<Observation> bags;
  for (const int day : {4, 9, 16, 28, 45, 65, 90}) {
    for (int copy = 0; copy < 4; ++copy) bags.push_back({.measure = Measure::mass, .day = day});
  }
  Eigen::VectorXd left;
  REQUIRE(jar_model(bags, {1e-10, 1e-11})->predict(Eigen::Vector2d(k_hol_true, k_sol_true), left, nullptr));
  for (std::size_t i = 0; i < bags.size(); ++i) {
    bags[i].value = left[static_cast<Eigen::Index>(i)];
    bags[i].value += error(i, bags[i].value);
  }
  return bags;
}

std::vector<Observation> noisy_bags(std::uint64_t seed, double sd = 0.03) {
  return bags_of(0.02, 0.1, [&](std::size_t i, double) { return sd * standard_normal(seed, i); });
}

std::vector<Unknown> rates_and(std::vector<Unknown> more) {
  std::vector<Unknown> all{unknown("k_hol", Fit::log, 0.05, 0.001, 0.3),
                           unknown("k_sol", Fit::log, 0.05, 0.005, 0.5)};
  all.insert(all.end(), more.begin(), more.end());
  return all;
}
Unknown size_of_errors() { return unknown("error of mass", Fit::log, 0.2, 1e-5, 1.0); }

TrialPosterior posterior_of(const std::vector<Observation>& bags, std::vector<Unknown> all, ErrorSize size,
                            Tail tail = Tail::normal) {
  TrialErrors errors;
  errors.size[mass] = size;
  errors.tail = tail;
  return TrialPosterior(jar_model(bags), {{Fit::log, k_hol}, {Fit::log, k_sol}}, std::move(all), errors);
}

BestFitOptions few_starts(int starts = 3, bool population = false) {
  BestFitOptions options;
  options.starts = starts;
  options.population = population;
  return options;
}

}  // namespace

TEST_CASE("best fit: without noise the truth comes back", "[fitting]") {
  const auto bags = bags_of(0.02, 0.1, [](std::size_t, double) { return 0.0; });
  const TrialPosterior posterior = posterior_of(bags, rates_and({size_of_errors()}), {absolute});
  const BestFit fit = best_fit(posterior, {}, few_starts(4));
  CAPTURE(words(fit.optimum, posterior.unknowns()), fit.optimum.distance_se);
  CHECK(fit.optimum.stop == Stop::converged);
  CHECK(fit.finished);
  const Eigen::VectorXd found = posterior.in_units(fit.optimum.x);
  CHECK(found[k_hol] ==
        Approx(0.02).epsilon(1e-4));  // the integrator's 1e-7, times what it is over the rate's effect
  CHECK(found[k_sol] == Approx(0.1).epsilon(1e-4));
  CHECK(fit.optimum.on_bound[absolute] == Bound::lower);
  CHECK(words(fit.optimum, posterior.unknowns()) == "converged; on the lower bound: error of mass");
}

TEST_CASE("best fit: with noise, truth and error size lie within their standard errors", "[fitting]") {
  const TrialPosterior posterior = posterior_of(noisy_bags(1), rates_and({size_of_errors()}), {absolute});
  const BestFit fit = best_fit(posterior, {}, few_starts(6, true));
  REQUIRE(fit.optimum.stop == Stop::converged);
  CHECK(fit.from_second_derivatives);
  REQUIRE(fit.covariance.ok);
  CHECK(fit.starts.same_place == 6);
  CHECK(fit.stages.size() == 4);
  const Eigen::Vector3d truth(std::log(0.02), std::log(0.1), std::log(0.03));
  for (Eigen::Index j = 0; j < 3; ++j) {
    CAPTURE(j, fit.optimum.x[j], fit.covariance.se[j]);
    CHECK(std::abs(fit.optimum.x[j] - truth[j]) < 4.0 * fit.covariance.se[j]);  // one in 16,000 beyond
    CHECK(fit.covariance.se[j] < 0.5);                                          // and that says something
  }
  // of ln sd at an optimum: 1/sqrt(2 n), no matter what the model is; to the error of the differences
  CHECK(fit.covariance.se[absolute] == Approx(1.0 / std::sqrt(56.0)).epsilon(1e-2));
  // the population may not find anything better than several starts that agree
  CHECK(fit.population.cost >= fit.optimum.cost);
  CHECK(fit.optimum.cost == Approx(-posterior.density().evaluate(fit.optimum.x, nullptr)).epsilon(1e-12));
}

TEST_CASE("best fit: absolute and relative errors are told apart by replicates", "[fitting]") {
  // bags of 96 to 40 % left with 2 % absolute and 5 % relative error; n of 1 or 3
  auto bags = bags_of(0.03, 0.15, [](std::size_t i, double left) {
    const double n = 1.0 + 2.0 * static_cast<double>(i % 2);
    return std::hypot(0.005, 0.08 * left) / std::sqrt(n) * standard_normal(2, i);
  });
  for (std::size_t i = 0; i < bags.size(); ++i) bags[i].n = 1 + 2 * static_cast<int>(i % 2);
  const TrialPosterior posterior = posterior_of(
      bags,
      rates_and({unknown("error of mass", Fit::log, 0.2, 1e-5, 1.0, prior_between(Fit::log, 0.002, 0.05)),
                 unknown("relative error", Fit::log, 0.02, 1e-4, 1.0)}),
      {absolute, proportional});
  const BestFit fit = best_fit(posterior, {}, few_starts());
  CAPTURE(words(fit.optimum, posterior.unknowns()), fit.optimum.distance_se);
  REQUIRE(fit.optimum.stop == Stop::converged);
  REQUIRE(fit.covariance.ok);
  const Eigen::Vector4d truth(std::log(0.03), std::log(0.15), std::log(0.005), std::log(0.08));
  for (Eigen::Index j = 0; j < 4; ++j) {
    CAPTURE(j, fit.optimum.x[j], fit.covariance.se[j]);
    CHECK(std::abs(fit.optimum.x[j] - truth[j]) < 4.0 * fit.covariance.se[j]);
  }
}

TEST_CASE("best fit: errors of known size give what Levenberg and Marquardt find", "[fitting]") {
  auto bags = noisy_bags(3);
  for (Observation& bag : bags) bag.sd = 0.03;
  const auto prior = prior_between(Fit::log, 0.005, 0.1);
  const TrialPosterior posterior = posterior_of(
      bags,
      {unknown("k_hol", Fit::log, 0.05, 0.001, 0.3, prior), unknown("k_sol", Fit::log, 0.05, 0.005, 0.5)},
      {});
  const BestFit fit = best_fit(posterior, {}, few_starts());
  const LeastSquaresFit squares =
      fit_least_squares(posterior.least_squares(posterior.start(), nullptr), posterior.start());
  REQUIRE(fit.optimum.stop == Stop::converged);
  REQUIRE(squares.stop == Stop::converged);
  const Covariance known = covariance_of(squares, Spread::known);
  for (Eigen::Index j = 0; j < 2; ++j) {
    // both are within their tolerance of a thousandth and less
    CHECK(std::abs(fit.optimum.x[j] - squares.x[j]) < 2e-3 * known.se[j]);
    // J'J leaves out residuals times second derivatives: a few hundredths here
    CHECK(fit.covariance.se[j] == Approx(known.se[j]).epsilon(0.1));
  }
}

TEST_CASE("best fit: a start on a bound leaves it, an optimum beyond a bound is named", "[fitting]") {
  auto all = rates_and({size_of_errors()});
  all[k_hol].start = all[k_hol].lower;
  all[k_sol].start = all[k_sol].upper;
  const BestFit from_corner = best_fit(posterior_of(noisy_bags(4), all, {absolute}), {}, few_starts(1));
  CHECK(from_corner.optimum.stop == Stop::converged);
  CHECK(from_corner.optimum.on_bound == std::vector<Bound>(3, Bound::none));

  all[k_hol].lower = all[k_hol].start = 0.03;  // the truth is 0.02
  const TrialPosterior narrow = posterior_of(noisy_bags(4), all, {absolute});
  const BestFit held = best_fit(narrow, {}, few_starts(2));
  CHECK(held.optimum.stop == Stop::converged);
  CHECK(words(held.optimum, narrow.unknowns()) == "converged; on the lower bound: k_hol");
  CHECK(held.covariance.held == std::vector<bool>{true, false, false});
  // nothing near it, within the bounds, is more probable: a hundredth of an se costs 5e-5
  for (const double step : {-0.02, 0.02}) {
    for (Eigen::Index j = 1; j < 3; ++j) {
      Eigen::VectorXd z = held.optimum.x;
      z[j] += step;
      CHECK(-narrow.density().evaluate(z, nullptr) > held.optimum.cost - 1e-6);
    }
  }
}

TEST_CASE("best fit: with a Student tail one gross outlier among 28 bags moves little", "[fitting]") {
  auto bags = noisy_bags(5);
  const auto all = rates_and({size_of_errors()});
  const BestFit clean = best_fit(posterior_of(bags, all, {absolute}, Tail::student), {}, few_starts());
  REQUIRE(clean.optimum.stop == Stop::converged);
  REQUIRE(clean.covariance.ok);
  const BestFit clean_normal = best_fit(posterior_of(bags, all, {absolute}), {}, few_starts());
  bags[13].value += 1.0;  // a lost digit: 33 deviations
  const BestFit spoilt = best_fit(posterior_of(bags, all, {absolute}, Tail::student), {}, few_starts());
  const BestFit pulled = best_fit(posterior_of(bags, all, {absolute}), {}, few_starts());
  CHECK(spoilt.optimum.stop == Stop::converged);
  double most_pulled = 0.0;
  for (Eigen::Index j = 0; j < 2; ++j) {
    CAPTURE(j);
    CHECK(std::abs(spoilt.optimum.x[j] - clean.optimum.x[j]) < 0.5 * clean.covariance.se[j]);
    most_pulled = std::max(most_pulled, std::abs(pulled.optimum.x[j] - clean_normal.optimum.x[j]) /
                                            clean_normal.covariance.se[j]);
  }
  CHECK(most_pulled > 1.0);  // what the tail saves
}

TEST_CASE("best fit: block effects of known spread shrink as the linear mixed model says", "[fitting]") {
  // Rates and sizes are known, but for what bounds need; then what is left is linear and normal. With n bags
  // a block, spread b and error s, the best predictor is b^2 sum(r)/(s^2 + n b^2) (Henderson 1975, Biometrics
  // 31, 423-447, from memory)
  const auto close = [](const char* name, double value) {
    return unknown(name, Fit::log, value, value * (1.0 - 1e-9), value * (1.0 + 1e-9));
  };
  auto bags = bags_of(0.02, 0.1, [](std::size_t i, double) {
    return 0.03 * standard_normal(6, i) + (i % 4 == 0 ? 0.05 : 0.0);
  });
  TrialErrors errors;
  errors.size[mass] = {absolute};
  errors.shift_spread = 3;
  for (std::size_t i = 0; i < bags.size(); ++i) errors.shift.push_back(4 + i % 4);
  std::vector<Unknown> all{close("k_hol", 0.02), close("k_sol", 0.1), close("error", 0.03),
                           close("spread", 0.04)};
  for (const char* block : {"A", "B", "C", "D"}) all.push_back(standard_effect(block));
  const auto model = jar_model(bags, {1e-10, 1e-11});
  const TrialPosterior posterior(model, {{Fit::log, k_hol}, {Fit::log, k_sol}}, all, errors);
  const BestFit fit = best_fit(posterior, {}, few_starts(1));
  CHECK(fit.optimum.distance_se < 1e-2);
  Eigen::VectorXd left;
  REQUIRE(model->predict(Eigen::Vector2d(0.02, 0.1), left, nullptr));
  for (std::size_t block = 0; block < 4; ++block) {
    double sum = 0.0;
    for (std::size_t i = block; i < bags.size(); i += 4)
      sum += bags[i].value - left[static_cast<Eigen::Index>(i)];
    const double expected = 0.04 * 0.04 * sum / (0.03 * 0.03 + 7.0 * 0.04 * 0.04);
    // relative widths of 1e-9 do not matter; the climb ends within 1e-6 standard errors of 0.3
    CHECK(0.04 * fit.optimum.x[static_cast<Eigen::Index>(4 + block)] == Approx(expected).margin(1e-6));
  }
}

TEST_CASE("best fit: a saddle is left", "[fitting]") {
  // at spread 0 and effect 0 no first derivative says that a move of both together helps
  std::vector<Unknown> all{unknown("k_hol", Fit::log, 0.05, 0.04, 0.3),
                           unknown("k_sol", Fit::log, 0.1, 0.09, 0.11), size_of_errors(),
                           unknown("spread", Fit::linear, 0.0, -2.0, 2.0), standard_effect("effect")};
  all[k_hol].lower = 0.001;
  all[k_hol].prior = {Prior::Shape::normal, std::log(0.05), 0.05};
  TrialErrors errors;
  errors.size[mass] = {absolute};
  const TrialPosterior posterior(jar_model(noisy_bags(7)), {{Fit::log, k_hol, 3, 4}, {Fit::log, k_sol}}, all,
                                 errors);
  const Optimum caught = climb(posterior.informed(), posterior.start());
  REQUIRE(caught.x[3] == 0.0);
  REQUIRE(caught.x[4] == 0.0);
  const BestFit fit = best_fit(posterior, {}, few_starts(1));
  CHECK(fit.optimum.cost < caught.cost - 1.0);
  CHECK(fit.optimum.x[3] * fit.optimum.x[4] < 0.0);  // towards the truth, below
}

TEST_CASE("best fit: a refit is what a fit of the same data is", "[fitting]") {
  const auto bags = noisy_bags(8);
  const auto all = rates_and({size_of_errors()});
  const TrialPosterior posterior = posterior_of(bags, all, {absolute});
  const BestFit fit = best_fit(posterior, {}, few_starts());
  std::vector<double> weights(bags.size(), 1.0);
  weights[3] = 0.0;
  weights[20] = 2.0;
  const Optimum again = refit(posterior, weights, fit.optimum.x);
  CHECK(again.stop == Stop::converged);
  CHECK(again.derivatives < 12);  // begun near: a handful
  auto same = bags;
  same[3] = same[20];
  const BestFit whole = best_fit(posterior_of(same, all, {absolute}), {}, few_starts());
  for (Eigen::Index j = 0; j < 3; ++j) {
    CHECK(std::abs(again.x[j] - whole.optimum.x[j]) < 2e-3 * whole.covariance.se[j]);  // where refit ends
  }
}

TEST_CASE("best fit: stopped and gone on with, it ends at the same bits", "[fitting]") {
  const TrialPosterior posterior = posterior_of(noisy_bags(9), rates_and({size_of_errors()}), {absolute});
  const BestFit whole = best_fit(posterior, {}, few_starts(3, true));
  BestFitOptions options = few_starts(3, true);
  std::vector<Optimum> done;
  std::vector<double> seen;
  options.checkpoint_starts = [&](const std::vector<Optimum>& runs) { done = runs; };
  options.checkpoint_population = [&](const std::vector<double>& costs) { seen = costs; };
  double last = 0.0;
  bool back = false;
  options.progress = [&](const Progress& here) {
    back = back || here.fraction < last;
    last = here.fraction;
    return here.fraction < 0.7;  // in the population
  };
  const BestFit part = best_fit(posterior, {}, options);
  CHECK(!part.finished);
  CHECK(!back);
  CHECK(part.optimum.stop == Stop::cancelled);
  CHECK(part.optimum.cost >= whole.optimum.cost);
  REQUIRE(done.size() == 3);
  REQUIRE(!seen.empty());
  options.progress = {};
  options.done = done;
  options.seen = seen;
  const BestFit rest = best_fit(posterior, {}, options);
  CHECK(rest.optimum.x == whole.optimum.x);
  CHECK(rest.covariance.matrix == whole.covariance.matrix);
}

TEST_CASE("best fit: a model that cannot be run is said to be one", "[fitting]") {
  const auto bags = noisy_bags(10);
  Tolerance hopeless;
  hopeless.most_steps_a_day = 0;
  TrialErrors errors;
  errors.size[mass] = {absolute};
  const TrialPosterior posterior(jar_model(bags, hopeless), {{Fit::log, k_hol}, {Fit::log, k_sol}},
                                 rates_and({size_of_errors()}), errors);
  const BestFit fit = best_fit(posterior, {}, few_starts(2, true));
  CHECK(fit.optimum.stop == Stop::bad_start);
  CHECK(fit.starts.failed == 2);
  CHECK(words(fit.optimum, posterior.unknowns()) == "failed: the model cannot be evaluated at the start");
}
