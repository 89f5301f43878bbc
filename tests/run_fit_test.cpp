/// The whole fit: complete, the same on any number of threads, stopped and gone on with to the same bits.
#include "scenarios/fit/run_fit.hpp"

#include <algorithm>
#include <cmath>
#include <memory>

#include <fmt/format.h>

#include "fitting/on_threads.hpp"
#include "scenarios/files/fit_file.hpp"
#include "scenarios/fit/fit_work.hpp"
#include "tests/catch.hpp"
#include "tests/invented_results.hpp"
#include "tests/small_trials.hpp"
#include "tests/trial_parts.hpp"

using namespace stoverturn;

namespace {

const std::string estimates = "k_hol = {}\nk_sol = { prior = { low = 0.1, high = 0.5 } }\n";
const std::string quick = "[methods]\nstarts = 2\npopulation = false\ndraws = 1000\nresamples = 20\n";

/// Stalks alone, all buried: a simulation of one cohort. The soil hardly washes it, so that bags tell k_sol.
const std::string one_cohort =
    "duration = \"60 d\"\n[conditions]\ntemperature = \"20 C\"\n"
    "[harvest]\ndate = 2027-10-20\nresidue = \"4 t/ha\"\nmaterial = \"own\"\n"
    "placement = { buried = \"100 %\" }\n"
    "[component]\nstalk = { mass_share = 1.0, nitrogen = 0.006, cut_length = \"8 cm\" }\n"
    "[parameters]\nsoak_mm_d = 0.01\n"
    "[treatment.closed]\n[treatment.opened]\ncomponent.stalk.entry_spacing = \"2 cm\"\n";

/// Bags buried at 20 C, as the model has them at its defaults, with errors of 2 %.
std::string simulated_bags() {
  std::string rows = "treatment,placement,replicate,days [d],mass left [%]\n", invented;
  std::vector<std::string> heads;
  for (const char* treatment : {"closed", "opened"}) {
    for (const int day : {8, 20, 45}) {
      for (const int replicate : {1, 2})
        heads.push_back(fmt::format("{},buried,{},{},", treatment, replicate, day));
    }
  }
  for (const std::string& head : heads) invented += head + "50\n";
  const FitPlan plan = plan_of(estimates);
  const FitProblem problem = fit_problem(plan, {small_trial(rows + invented, plan, one_cohort)});
  const auto predicted = problem.posterior->predicted(problem.posterior->start());
  for (std::size_t i = 0; i < heads.size(); ++i) {
    const double left = predicted->value[static_cast<Eigen::Index>(i)] + 0.02 * standard_normal(11, i);
    rows += fmt::format("{}{:.3f}\n", heads[i], 100.0 * left);
  }
  return rows;
}

struct Small {
  FitPlan plan = plan_of(estimates + quick);
  std::vector<LoadedTrial> trials = {small_trial(bags(), plan, one_cohort)};
  static const std::string& bags() {
    static const std::string text = simulated_bags();
    return text;
  }
};

const FitResult& whole() {
  static const FitResult result = [] {
    const Small small;
    return run_fit(small.plan, small.trials);
  }();
  return result;
}

std::string bytes_of(const FitResult& result) {
  const Folder folder;
  write_fit(folder / "fit.h5", result);
  return slurp(folder / "fit.h5");
}

FitResult read_back(const FitResult& result) {
  const Folder folder;
  write_fit(folder / "fit.h5", result);
  return read_fit(folder / "fit.h5");
}

bool says(const std::vector<std::string>& list, const std::string& part) {
  return std::any_of(list.begin(), list.end(),
                     [&](const std::string& s) { return s.find(part) != std::string::npos; });
}

}  // namespace

TEST_CASE("run fit: everything that was asked for is there, and the truth is near", "[fit]") {
  const FitResult& r = whole();
  CHECK(r.converged);
  CHECK(r.observations == 12);
  REQUIRE(r.unknowns.size() == 3);
  CHECK(r.unknowns[2].unknown.name == "error of mass");
  for (const FittedUnknown& u : r.unknowns) {
    INFO(u.unknown.name);
    const Interval se = t_interval(to_fit_scale(u.unknown.scale, u.estimate), u.se_on_scale, 0, 0.9999);
    const double truth = u.unknown.name == "error of mass" ? 0.02 : u.unknown.start;
    CHECK(to_fit_scale(u.unknown.scale, truth) > se.lower);
    CHECK(to_fit_scale(u.unknown.scale, truth) < se.upper);
    CHECK(u.curvature.lower < u.estimate);
    CHECK(u.curvature.upper > u.estimate);
    CHECK(u.bootstrap.lower < u.bootstrap.upper);
    CHECK(u.rhat > 0.9);
  }
  // profiles are of the model's parameters alone
  REQUIRE(r.profiles.size() == 2);
  CHECK(std::isnan(r.unknowns[2].profile.lower));
  CHECK(r.unknowns[0].profile.lower < r.unknowns[0].estimate);
  CHECK(r.draws.cols() > 0);
  CHECK(r.residuals.size() == 12);
  CHECK(r.quality.size() == 2);
  REQUIRE(r.curves.size() == 2);
  CHECK(r.curves[0].estimate.size() == 61);
  CHECK(r.curves[0].upper.size() == 61);
  CHECK(says(r.methods, "case bootstrap of 20 resamples"));
  REQUIRE_FALSE(r.models.empty());
  CHECK(r.models[0].parameters == 3);
  CHECK(std::isfinite(r.models[0].left_out_treatment));
  CHECK_FALSE(says(r.warnings, "Stopped"));
  // of the errors only those of what was measured are told
  CHECK(says(r.methods, "Errors: mass left: absolute, estimated."));
}

TEST_CASE("run fit: the same bits on one thread and on two", "[fit]") {
  const Small small;
  FitRunOptions options;
  options.for_each = on_threads(2);
  CHECK(bytes_of(run_fit(small.plan, small.trials, options)) == bytes_of(whole()));
}

TEST_CASE("run fit: stopped at any stage it keeps what there is, and goes on to the same bits", "[fit]") {
  const Small small;
  for (const char* stage : {"searching", "profiles", "draws", "resamples", "curves"}) {
    INFO(stage);
    FitRunOptions options;
    int calls = 0;
    options.progress = [&](const FitProgress& p) {
      // the last stage is told once, others are stopped under way
      return p.stage != stage || !(std::string(stage) == "curves" || ++calls > 20 || p.fraction > 0.4);
    };
    std::string kept;
    options.checkpoint = [&](const FitState& state) { kept = to_bytes(state); };
    const FitResult part = run_fit(small.plan, small.trials, options);
    REQUIRE_FALSE(part.warnings.empty());
    CHECK(part.warnings.front() ==
          "Stopped before the end: what is missing was not reached; --resume goes on.");
    CHECK(read_back(part).unknowns.size() == part.unknowns.size());
    CHECK(part.converged == (std::string(stage) != "searching"));
    FitRunOptions again;
    FitState state;
    if (!kept.empty()) state = state_from_bytes(kept);
    again.resume = &state;
    CHECK(bytes_of(run_fit(small.plan, small.trials, again)) == bytes_of(whole()));
  }
}

TEST_CASE("run fit: stopped before anything was found it says no more than that", "[fit]") {
  const Small small;
  FitRunOptions options;
  options.progress = [](const FitProgress&) { return false; };
  const FitResult part = run_fit(small.plan, small.trials, options);
  CHECK_FALSE(part.converged);
  CHECK(part.warnings.front().rfind("Stopped", 0) == 0);
  CHECK_FALSE(says(part.warnings, "standard errors"));
}

TEST_CASE("run fit: a profile that meets a better fit sends the search there", "[fit]") {
  const Small small;
  const FitRunOptions options;
  const auto begun_badly = [&] {
    std::unique_ptr<FitWork> work(
        new FitWork{small.plan, small.trials, options, fit_problem(small.plan, small.trials)});
    BestFitOptions one;
    one.starts = 1;
    one.population = false;
    work->best = best_fit(work->posterior(), {}, one);
    Optimum& o = work->best.optimum;
    o.x[0] += 1.5 * work->best.covariance.se[0];
    o.x[1] += 1.5 * work->best.covariance.se[1];
    o.cost = -work->posterior().density().evaluate(o.x, nullptr);
    return work;
  };
  const auto work = begun_badly();
  const double bad = work->best.optimum.cost;
  make_profiles(*work);
  CHECK(work->best.optimum.cost < bad - 0.5);
  CHECK(work->best.optimum.cost == Approx(-whole().log_density).margin(1e-4));
  CHECK(work->state.better.size() == 3);
  REQUIRE(work->state.profiles.size() == 2);
  for (const Profile& p : work->state.profiles) CHECK(p.finished);
  CHECK(work->best.stages.back().name == "curvature");
  // gone on with after the first of the new profiles: there again, to the same bits
  const auto again = begun_badly();
  again->state.better = work->state.better;
  again->state.profiles = {work->state.profiles[0]};
  make_profiles(*again);
  CHECK(again->best.optimum.x == work->best.optimum.x);
  CHECK(again->state.profiles[1].z == work->state.profiles[1].z);
  CHECK(again->state.profiles[1].cost == work->state.profiles[1].cost);
}

TEST_CASE("run fit: the sampler begins about every optimum of similar cost", "[fit]") {
  const Small small;
  const FitRunOptions options;
  FitWork work{small.plan, small.trials, options, fit_problem(small.plan, small.trials)};
  const Eigen::VectorXd z = work.posterior().start();
  const Eigen::VectorXd spread = Eigen::VectorXd::Constant(3, 0.05);
  work.best.optimum.x = z;
  work.best.optimum.cost = -10.0;
  const auto ended = [&](double cost, const Eigen::Vector3d& away, Stop stop = Stop::converged) {
    Optimum o;
    o.x = z + away;
    o.cost = cost;
    o.stop = stop;
    work.best.starts.runs.push_back(o);
  };
  ended(-10.0, {0.001, 0.0, 0.0});              // the best itself
  ended(-3.0, {0.6, 0.0, 0.0});                 // far worse
  ended(-9.0, {0.0, 0.6, 0.0}, Stop::stalled);  // no optimum
  CHECK(walker_start(work, spread).cols() == 1);
  ended(-8.0, {0.0, 0.0, 0.6});
  const Eigen::MatrixXd start = walker_start(work, spread);
  REQUIRE(start.cols() == 32);
  // means of 16 walkers, by four standard errors
  for (int p = 0; p < 2; ++p) {
    Eigen::Vector3d mean = Eigen::Vector3d::Zero();
    for (Eigen::Index w = p; w < 32; w += 2) mean += start.col(w) / 16.0;
    CHECK((mean - z - Eigen::Vector3d(0.0, 0.0, 0.6 * p)).cwiseAbs().maxCoeff() < 4.0 * 0.05 / 4.0);
  }
}

TEST_CASE("run fit: blocks are held together by their prior, and an error that is none is named", "[fit]") {
  std::string data = "treatment,placement,block,days [d],mass left [%]\n";
  for (const int day : {5, 15, 30, 45}) {
    // the same absolute scatter at every mass: nothing is proportional
    data += fmt::format("closed,buried,1,{},{:.3f}\nclosed,buried,2,{},{:.3f}\n", day,
                        100.0 * std::exp(-0.009 * day) + (day % 2 ? 3.0 : 0.5), day,
                        100.0 * std::exp(-0.009 * day) - (day % 2 ? 0.5 : 3.0));
  }
  const FitPlan plan = plan_of(
      "k_hol = {}\n[error]\nblocks = true\nmass = \"both\"\n"
      "[methods]\nstarts = 1\npopulation = false\nprofiles = false\ndraws = 0\n");
  const FitResult r = run_fit(plan, {small_trial(data, plan, one_cohort)});
  CHECK(r.unknowns.size() == 6);
  CHECK_FALSE(says(r.warnings, "cannot be told apart"));
  const FittedUnknown& proportional = r.unknowns[2];
  REQUIRE(proportional.unknown.name == "proportional error of mass");
  REQUIRE(proportional.on_bound == "lower");
  CHECK(says(r.warnings, "proportional error of mass is as good as nothing: leave it out of the fit file."));
}

TEST_CASE("run fit: what only nitrogen tells is not counted for masses", "[fit]") {
  // contact of decomposers with soil N matters where N is short: with all of it there it moves no mass
  const std::string data =
      "treatment,placement,days [d],mass left [%],nitrogen "
      "[%]\nclosed,buried,10,80,0.8\nclosed,buried,20,70,0.9\n"
      "closed,buried,30,61,1.0\nopened,buried,10,78,0.8\nopened,buried,20,66,0.9\nopened,buried,30,58,1.1\n";
  const FitPlan plan = plan_of(
      "k_hol = {}\nN_structure = {}\n[methods]\nstarts = 1\npopulation = false\nprofiles = false\ndraws = "
      "0\n");
  const std::string rich = small_scenario + "[soil]\nammonium = \"500 kg/ha\"\n";
  const FitResult r = run_fit(plan, {small_trial(data, plan, rich)});
  REQUIRE(r.models.size() > 1);
  CHECK(r.models[0].parameters == 2);  // k_hol and the error of mass
  CHECK(r.models[0].remark == "N_structure not counted, told by other measures than mass");
}

TEST_CASE("the state of a fit as bytes and back, all of it", "[fit]") {
  constexpr double infinity = std::numeric_limits<double>::infinity();
  FitState state;
  state.inputs = "checksum";
  Optimum o;
  o.x = Eigen::Vector2d(0.1, -1.0 / 3.0);
  o.cost = -12.5;
  o.stop = Stop::stalled;
  o.on_bound = {Bound::none, Bound::upper};
  o.evaluations = 7;
  o.derivatives = 8;
  o.iterations = 9;
  state.starts = {o, Optimum{}};  // the second has nothing but infinities
  state.population = {3.0, infinity, 2.0};
  Profile p;
  p.unknown = 1;
  p.z = {-1.0, 0.5};
  p.cost = {infinity, 2.0};
  p.slope = {-1.0, 0.0};
  p.others = Eigen::MatrixXd::Random(2, 2);
  p.interval = {-0.7, infinity};
  p.identifiable = Identifiable::open_above;
  p.wall_above = true;
  p.unsure = 3;
  p.better_cost = 1.5;
  p.better = Eigen::Vector2d(4.0, 5.0);
  p.evaluations = 77;
  p.finished = true;
  state.profiles = {p};
  state.better = Eigen::Vector2d(6.0, 7.0);
  SamplerState s;
  s.walkers = Eigen::MatrixXd::Random(2, 6);
  s.density = Eigen::VectorXd::Random(6);
  s.density[0] = -infinity;
  s.step = 1LL << 40;
  s.offered = 5;
  s.accepted = 4;
  s.kept = Eigen::MatrixXd::Random(2, 4);
  s.kept_density = Eigen::VectorXd::Random(4);
  state.sampler = s;
  const std::string bytes = to_bytes(state);
  const FitState back = state_from_bytes(bytes);
  CHECK(to_bytes(back) == bytes);
  CHECK(back.inputs == "checksum");
  CHECK(back.starts[0].x == o.x);
  CHECK(back.starts[0].stop == Stop::stalled);
  CHECK(back.starts[0].on_bound == o.on_bound);
  CHECK(back.starts[0].iterations == 9);
  CHECK(back.starts[1].cost == infinity);
  CHECK(back.starts[1].distance_se == infinity);
  CHECK(back.starts[1].x.size() == 0);
  CHECK(back.population == state.population);
  CHECK(back.profiles[0].cost == p.cost);
  CHECK(back.profiles[0].slope == p.slope);
  CHECK(back.profiles[0].others == p.others);
  CHECK(back.profiles[0].interval.upper == infinity);
  CHECK(back.profiles[0].identifiable == Identifiable::open_above);
  CHECK((back.profiles[0].wall_above && !back.profiles[0].wall_below));
  CHECK(back.profiles[0].unsure == 3);
  CHECK(back.profiles[0].better == p.better);
  CHECK((back.profiles[0].finished && back.profiles[0].evaluations == 77));
  CHECK(back.better == state.better);
  REQUIRE(back.sampler);
  CHECK(back.sampler->walkers == s.walkers);
  CHECK(back.sampler->density[0] == -infinity);
  CHECK(back.sampler->step == s.step);
  CHECK(back.sampler->kept == s.kept);
  CHECK_FALSE(state_from_bytes(to_bytes(FitState{})).sampler);
}

TEST_CASE("bytes that are no state are refused", "[fit]") {
  FitState state;
  state.starts = {Optimum{}};
  const std::string bytes = to_bytes(state);
  for (std::size_t length = 0; length < bytes.size(); ++length)
    CHECK_THROWS_AS(state_from_bytes(bytes.substr(0, length)), std::runtime_error);
  CHECK_THROWS_WITH(state_from_bytes("[methods]\nseed = 1\n"), contains("not the state of a fit"));
  CHECK_THROWS_WITH(state_from_bytes(""), contains("not the state of a fit"));
  // any byte spoiled: refused or read, never a crash
  for (std::size_t at = 0; at < bytes.size(); ++at) {
    for (const char other : {'\x00', '\x7f', '\xff'}) {
      std::string spoiled = bytes;
      spoiled[at] = other;
      try {
        state_from_bytes(spoiled);
      } catch (const std::runtime_error&) {
      }
    }
  }
  SUCCEED();
}
