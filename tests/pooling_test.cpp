/// Sites whose rates differ by a known spread: pulled together they come nearer to the truth.
#include <array>
#include <iostream>

#include "fitting/on_threads.hpp"
#include "tests/catch.hpp"
#include "tests/recovery.hpp"

using namespace stoverturn;

namespace {

using Index = Eigen::Index;
constexpr std::size_t sites = 6;
enum : std::size_t { k_hol, spread, first_effect };
constexpr double k_true = 0.06, spread_true = 0.4, error = 0.02;

/// Opens so slowly that 16 days tell little of its rate, whatever the defaults of the day are.
Parameters<double> slow_leaf() {
  Parameters<double> leaf = corn("leaf");
  leaf.tissue = 1.0;
  leaf.tau_d = 21.0;
  return leaf;
}

/// Six fields of Ames weather, 2 C apart; leaves, buried for 16 days of July; two bags on each of two dates.
/// A site's own bags tell its ln k to some 0.5, which is more than sites differ.
TrialModel six_sites() {
  using namespace std::chrono;
  std::vector<TrialTreatment> treatments;
  std::vector<Slot> slots;
  std::vector<Observation> bags;
  for (std::size_t s = 0; s < sites; ++s) {
    TrialTreatment site;
    auto layout = std::make_shared<Layout>();
    layout->cohorts.push_back({0, 0, Placement::buried, 0, -1});
    site.plan.layout = layout;
    site.plan.pieces = {usual_pieces("leaf")};
    site.plan.start = {2.0, 3.0, 3.0};
    site.plan.days = 16;
    site.plan.drivers = weather_drivers_of(shifted(ames(), 2.0 * static_cast<double>(s) - 5.0),
                                           sys_days{year{2004} / 7 / 1}, site.plan.days, {});
    site.plan.events = {{0, Harvest<double>{0, 300.0}}};
    site.plan.tolerance = {1e-5, 1e-5};
    site.field = default_parameters();
    site.components = {slow_leaf()};
    treatments.push_back(site);
    slots.push_back({s, 0, find_parameter("k_hol"), s});
    for (const int day : {8, 8, 16, 16}) bags.push_back({.treatment = s, .day = day, .sd = error});
  }
  return {treatments, slots, sites, bags};
}

Unknown rate() { return unknown("k_hol", Fit::log, 0.06, 0.001, 0.3); }

/// Each site with the common rate and its effect.
TrialPosterior pooled(const TrialModel& trial, const std::vector<Observation>& bags) {
  std::vector<Unknown> all{rate(),
                           unknown("spread", Fit::log, 0.3, 0.01, 2.0, prior_between(Fit::log, 0.1, 1.0))};
  std::vector<ModelValue> values;
  for (std::size_t s = 0; s < sites; ++s) {
    all.push_back(standard_effect("site"));
    values.push_back({Fit::log, k_hol, spread, first_effect + s});
  }
  return {std::make_shared<TrialModel>(trial.measuring(bags)), values, all, {}};
}

/// Each site with a rate of its own and nothing else known.
TrialPosterior separate(const TrialModel& trial, const std::vector<Observation>& bags) {
  std::vector<ModelValue> values;
  for (std::size_t s = 0; s < sites; ++s) values.push_back({Fit::log, s});
  return {
      std::make_shared<TrialModel>(trial.measuring(bags)), values, std::vector<Unknown>(sites, rate()), {}};
}

struct OfTrial {
  bool drawn = false, spread_held = false;
  double pooled = 0.0, separate = 0.0;  ///< sums over sites of squared errors of ln k
};

OfTrial of_trial(const TrialModel& trial, std::uint64_t seed) {
  Eigen::VectorXd truth(static_cast<Index>(first_effect + sites));
  truth << std::log(k_true), std::log(spread_true), Eigen::VectorXd::Zero(sites);
  for (Index s = 0; s < static_cast<Index>(sites); ++s) {
    truth[first_effect + s] = standard_normal(seed, static_cast<std::uint64_t>(s));
  }
  std::vector<Observation> bags = trial.observations();
  fill(bags, pooled(trial, bags), truth, seed);
  const TrialPosterior together = pooled(trial, bags), apart = separate(trial, bags);
  const Optimum own = refit(apart, {}, apart.start());
  OfTrial result;
  const Drawn drawn = judged_draws(together, seed, 30000, 32);
  result.drawn = drawn.draws.size() > 0 && own.stop == Stop::converged;
  if (!result.drawn) return result;
  result.spread_held = holds(central(drawn.draws.row(spread)), truth[spread]);
  for (Index s = 0; s < static_cast<Index>(sites); ++s) {
    const double site = std::log(k_true) + spread_true * truth[first_effect + s];
    double mean = 0.0;
    for (const auto& z : drawn.draws.colwise()) mean += z[k_hol] + std::exp(z[spread]) * z[first_effect + s];
    mean /= static_cast<double>(drawn.draws.cols());
    result.pooled += (mean - site) * (mean - site);
    result.separate += (own.x[s] - site) * (own.x[s] - site);
  }
  return result;
}

/// Trials that were drawn and whose spread was held; errors summed over trials.
struct Sum {
  int drawn = 0, held = 0;
  double pooled = 0.0, separate = 0.0;
};

Sum over(std::size_t seeds) {
  const TrialModel trial = six_sites();
  std::vector<OfTrial> all(seeds);
  on_threads(0)(seeds, [&](std::size_t i) { all[i] = of_trial(trial, i + 1); });
  Sum sum;
  for (const OfTrial& one : all) {
    sum.drawn += one.drawn ? 1 : 0;
    sum.held += one.spread_held ? 1 : 0;
    sum.pooled += one.pooled;
    sum.separate += one.separate;
  }
  const double n = static_cast<double>(seeds * sites);
  std::cout << seeds << " trials of six sites: " << sum.drawn << " drawn, spread held in " << sum.held
            << ", error of ln k " << std::sqrt(sum.pooled / n) << " pooled, " << std::sqrt(sum.separate / n)
            << " separate" << std::endl;
  return sum;
}

}  // namespace

TEST_CASE("pooling: six sites together come nearer to their truths than each alone", "[fitting]") {
  NEEDS_SHARED("weather-ames-iowa");
  const Sum sum = over(1);
  CHECK(sum.drawn == 1);
  CHECK(sum.held == 1);
  CHECK(sum.pooled < sum.separate);
}

// A spread that is drawn from its prior would be held in 18 of 20; here it stays in the prior's middle, so
// rather more. 14 or fewer at a true 90 %: once in 90 times. A best shrinkage of errors of 0.5 to effects of
// 0.4 leaves 0.4/hypot(0.4, 0.5) = 0.6 of the error; the mean and the spread are not known, so 0.8 is asked.
TEST_CASE("pooling: over 20 trials errors are smaller by a fifth and the spread is held", "[.long]") {
  NEEDS_SHARED("weather-ames-iowa");
  const Sum sum = over(20);
  CHECK(sum.drawn == 20);
  CHECK(sum.held >= 15);
  CHECK(std::sqrt(sum.pooled) < 0.8 * std::sqrt(sum.separate));
}
