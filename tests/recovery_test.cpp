/// Trials with a known truth, invented many times over: as often as they promise, intervals must hold it.
#include <array>
#include <iostream>

#include "fitting/on_threads.hpp"
#include "fitting/profile.hpp"
#include "tests/catch.hpp"
#include "tests/recovery.hpp"

using namespace stoverturn;

namespace {

using Index = Eigen::Index;
constexpr std::size_t mass = static_cast<std::size_t>(Measure::mass);
enum : std::size_t { k_hol, v_mm_d, contact, size_of_error, unknowns };

/// Six bags of each of three kinds on five dates, Ames, June and July: stalks of 150 mm buried and on the
/// surface, stalks of 20 mm buried, all in one plot. Short and long tell the speed of advance from the rate,
/// the surface tells contact. With 90 bags and three parameters the likeliest error size is too small by
/// sqrt(87/90), 1.7 %, less than a quarter of its standard error 1/sqrt(2 x 90): 90 % intervals hold it in 89
/// %.
struct Bags {
  int component;  ///< of long stalks, of short ones
  Placement placement;
};
constexpr std::array bag_kinds = {Bags{0, Placement::buried}, Bags{0, Placement::surface},
                                  Bags{1, Placement::buried}};
constexpr std::array bag_days = {10, 20, 32, 46, 62};
constexpr int copies = 6;

TrialTreatment ames_plot() {
  using namespace std::chrono;
  TrialTreatment plot;
  auto layout = std::make_shared<Layout>();
  for (const Bags& bags : bag_kinds) {
    plot.plan.events.push_back({0, Harvest<double>{static_cast<int>(layout->cohorts.size()), 200.0}});
    layout->cohorts.push_back({bags.component, bags.component, bags.placement, 0, -1});
  }
  plot.plan.layout = layout;
  plot.plan.pieces = {{.length_mm = 150.0}, {.length_mm = 20.0}};
  plot.plan.start = {2.0, 3.0, 3.0};
  plot.plan.days = bag_days.back();
  plot.plan.drivers = weather_drivers_of(ames(), sys_days{year{2004} / 6 / 1}, plot.plan.days, {});
  plot.plan.tolerance = {1e-5, 1e-5};  // thousandths of an error of 0.02; the truth has it, too
  plot.field = default_parameters();
  plot.components = {corn("stalk"), corn("stalk")};
  return plot;
}

TrialModel ames_trial() {
  std::vector<Slot> slots;
  add_slots(slots, 0, "k_hol", k_hol);
  add_slots(slots, 0, "v_mm_d", v_mm_d);
  slots.push_back({0, -1, find_parameter("contact"), contact});
  std::vector<Observation> bags;
  for (const Bags& kind : bag_kinds) {
    for (const int day : bag_days) {
      for (int copy = 0; copy < copies; ++copy) {
        bags.push_back(
            {.component = kind.component, .placement = static_cast<int>(kind.placement), .day = day});
      }
    }
  }
  return {{ames_plot()}, slots, 3, bags};
}

/// Where profiles have their truth: about the middle of the priors.
constexpr std::array<double, unknowns> fixed_truth = {0.035, 1.2, 0.33, 0.018};

/// The search begins elsewhere.
std::vector<Unknown> ames_unknowns(bool priors) {
  std::vector<Unknown> all{
      unknown("k_hol", Fit::log, 0.05, 0.005, 0.2, prior_between(Fit::log, 0.015, 0.08)),
      unknown("v_mm_d", Fit::log, 0.8, 0.05, 20.0, prior_between(Fit::log, 0.4, 4.0)),
      unknown("contact", Fit::logit, 0.5, 0.01, 0.95, prior_between(Fit::logit, 0.15, 0.6)),
      unknown("error of mass", Fit::log, 0.05, 0.002, 0.2, prior_between(Fit::log, 0.01, 0.03))};
  if (!priors) {
    for (Unknown& u : all) u.prior = {};
  }
  return all;
}

TrialPosterior posterior_of(const TrialModel& trial, const std::vector<Observation>& bags, bool priors) {
  TrialErrors errors;
  errors.size[mass] = {size_of_error};
  return TrialPosterior(std::make_shared<TrialModel>(trial.measuring(bags)),
                        {{Fit::log, k_hol}, {Fit::log, v_mm_d}, {Fit::logit, contact}}, ames_unknowns(priors),
                        errors);
}

/// A truth as the priors have it. A draw beyond the bounds is drawn again, as the prior is cut off there.
Eigen::VectorXd drawn_truth(const std::vector<Unknown>& all, std::uint64_t seed) {
  Eigen::VectorXd z(static_cast<Index>(all.size()));
  RandomStream stream = random_stream(seed, "truth of a trial", 0);
  for (std::size_t j = 0; j < all.size(); ++j) {
    const Unknown& u = all[j];
    boost::random::normal_distribution<double> normal(u.prior.mean, u.prior.sd);
    const double low = to_fit_scale(u.scale, u.lower), high = to_fit_scale(u.scale, u.upper);
    double& value = z[static_cast<Index>(j)];
    do value = normal(stream);
    while (value < low || value > high);
  }
  return z;
}

TrialPosterior invented(const TrialModel& trial, const Eigen::VectorXd& truth, bool priors,
                        std::uint64_t seed) {
  std::vector<Observation> bags = trial.observations();
  fill(bags, posterior_of(trial, bags, priors), truth, seed);
  return posterior_of(trial, bags, priors);
}

/// Of one trial: does the interval of each unknown hold the truth? No where the method gave up.
struct Held {
  std::vector<bool> holds;
  bool lost = true;    ///< draws refused, or profiles that could not be walked
  bool again = false;  ///< drawn for longer
  int open = 0;        ///< profiles that reach to a bound
};

Held held_by_draws(const TrialModel& trial, bool priors, std::uint64_t seed) {
  const Eigen::VectorXd truth = drawn_truth(ames_unknowns(priors), seed);
  const TrialPosterior posterior = invented(trial, truth, priors, seed);
  const Drawn drawn = judged_draws(posterior, seed, 12000, 16);
  Held result{std::vector<bool>(static_cast<std::size_t>(truth.size()), false)};
  result.again = drawn.again;
  result.lost = drawn.draws.size() == 0;
  for (Index j = 0; j < truth.size() && !result.lost; ++j) {
    result.holds[static_cast<std::size_t>(j)] = holds(central(drawn.draws.row(j)), truth[j]);
  }
  return result;
}

/// Profiles of all unknowns about the place where one climb ends; another valley that a profile meets is
/// fitted anew, as its header says. Empty where that goes on and on, or a fit does not converge.
std::vector<Profile> walked_profiles(const TrialPosterior& posterior) {
  const Cost cost = cost_of(posterior.density());
  ProfileOptions options;
  options.level = level;
  Eigen::VectorXd start = posterior.start();
  for (int fits = 0; fits < 3; ++fits) {
    const Optimum best = refit(posterior, {}, start);
    if (best.stop != Stop::converged) return {};
    options.curvature = second_derivatives(cost, best.x);
    std::vector<Profile> profiles;
    for (std::size_t j = 0; j < unknowns; ++j) {
      profiles.push_back(profile_of(cost, best, j, options));
      if (!profiles.back().finished) break;
    }
    if (profiles.back().finished) return profiles;
    if (profiles.back().better.size() == 0) return {};
    start = profiles.back().better;
  }
  return {};
}

Held held_by_profiles(const TrialModel& trial, bool priors, std::uint64_t seed) {
  const std::vector<Unknown> all = ames_unknowns(priors);
  Eigen::VectorXd truth(static_cast<Index>(unknowns));
  for (std::size_t j = 0; j < unknowns; ++j) {
    truth[static_cast<Index>(j)] = to_fit_scale(all[j].scale, fixed_truth[j]);
  }
  Held result{std::vector<bool>(unknowns, false)};
  const std::vector<Profile> profiles = walked_profiles(invented(trial, truth, priors, seed));
  result.lost = profiles.empty();
  for (const Profile& profile : profiles) {
    result.holds[profile.unknown] = holds(profile.interval, truth[static_cast<Index>(profile.unknown)]);
    result.open += profile.identifiable != Identifiable::yes ? 1 : 0;
  }
  return result;
}

struct Count {
  std::vector<int> held;  ///< trials, by unknown
  int lost = 0, again = 0, open = 0;
};

Count count(Held (*one)(const TrialModel&, bool, std::uint64_t), const char* name, bool priors, int seeds) {
  const TrialModel trial = ames_trial();
  std::vector<Held> all(static_cast<std::size_t>(seeds));
  on_threads(0)(all.size(), [&](std::size_t i) { all[i] = one(trial, priors, i + 1); });
  Count sum{std::vector<int>(all[0].holds.size(), 0)};
  for (const Held& trial_held : all) {
    for (std::size_t j = 0; j < sum.held.size(); ++j) sum.held[j] += trial_held.holds[j] ? 1 : 0;
    sum.lost += trial_held.lost ? 1 : 0;
    sum.again += trial_held.again ? 1 : 0;
    sum.open += trial_held.open;
  }
  std::cout << name << ", held in of " << seeds << ":";
  for (const int held : sum.held) std::cout << ' ' << held;
  std::cout << "; lost " << sum.lost << ", drawn again " << sum.again << ", open " << sum.open << std::endl;
  return sum;
}

/// 40 trials: at a true 90 % fewer than 31 come up once in 200 times; at a true 70 % four times
/// in five (binomial).
void check_40(const Count& count) {
  for (std::size_t j = 0; j < count.held.size(); ++j) {
    CAPTURE(j, count.held[j], count.lost);
    CHECK(count.held[j] >= 31);
  }
}

/// 200 trials of four unknowns: the pooled share of a true 90 % has a standard deviation of 1.1 points, so 87
/// to 93 % are nearly three; of one unknown it is 2.1 points, and below 83 % comes up once in 1300 times
/// (binomial).
void check_200(const Count& count) {
  double sum = 0.0;
  for (std::size_t j = 0; j < count.held.size(); ++j) {
    CAPTURE(j, count.held[j], count.lost);
    CHECK(count.held[j] >= 166);
    sum += count.held[j];
  }
  const double pooled = sum / (200.0 * static_cast<double>(count.held.size()));
  CAPTURE(pooled);
  CHECK(pooled >= 0.87);
  CHECK(pooled <= 0.93);
}

}  // namespace

// Truths are drawn from the priors: then, and only then, must posterior intervals hold them in 90 % of
// trials.
TEST_CASE("recovery: 90 % of draws hold truths from the prior in 31 of 40 trials or more", "[fitting]") {
  NEEDS_SHARED("weather-ames-iowa");
  check_40(count(held_by_draws, "draws", true, 40));
}

TEST_CASE("recovery: profiles of 90 % hold a fixed truth in 31 of 40 trials or more", "[fitting]") {
  NEEDS_SHARED("weather-ames-iowa");
  check_40(count(held_by_profiles, "profiles", false, 40));
}

TEST_CASE("recovery: 90 % of draws hold 87 to 93 % of truths over 200 trials", "[.long]") {
  NEEDS_SHARED("weather-ames-iowa");
  check_200(count(held_by_draws, "draws", true, 200));
}

TEST_CASE("recovery: profiles of 90 % hold 87 to 93 % over 200 trials", "[.long]") {
  NEEDS_SHARED("weather-ames-iowa");
  check_200(count(held_by_profiles, "profiles", false, 200));
}
