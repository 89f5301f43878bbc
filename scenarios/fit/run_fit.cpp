#include "scenarios/fit/run_fit.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "fitting/bootstrap.hpp"
#include "fitting/identifiability.hpp"
#include "fitting/normal_draws.hpp"
#include "scenarios/results/run_scenario.hpp"
#include "scenarios/trial/derived_quantities.hpp"
#include "scenarios/trial/fit_methods.hpp"
#include "scenarios/trial/fit_tables.hpp"
#include "scenarios/trial/identifiability_advice.hpp"
#include "scenarios/trial/model_comparison.hpp"

namespace stoverturn {
namespace {

constexpr Eigen::Index curve_draws = 400;  ///< bands need no more
constexpr Eigen::Index draws_from_curvature = 1000;
constexpr double doubtful_sd = 3.5;

/// One fit under way.
struct Run {
  const FitPlan& plan;
  const std::vector<LoadedTrial>& trials;
  const FitRunOptions& options;
  FitProblem problem;
  FitState state;
  BestFit best;
  FitResult result;
  Eigen::MatrixXd draws;     ///< on the fit scale
  int resampled = 0;         ///< refits of the bootstrap
  std::int64_t sampled = 0;  ///< evaluations of the sampler after burn-in
  bool stopped = false;

  const TrialPosterior& posterior() const { return *problem.posterior; }
  std::size_t unknowns() const { return posterior().unknowns().size(); }
  bool tell(std::string_view stage, double fraction) {
    if (!stopped && options.progress) stopped = !options.progress({stage, fraction, best.optimum.cost});
    return !stopped;
  }
  void keep() const {
    if (options.checkpoint) options.checkpoint(state);
  }
  double in_unit(std::size_t u, double z) const { return from_fit_scale(posterior().unknowns()[u].scale, z); }
  Between in_unit(std::size_t u, const Interval& i) const {
    return {in_unit(u, i.lower), in_unit(u, i.upper)};
  }
};

std::vector<std::string> names_of(const TrialPosterior& posterior) {
  std::vector<std::string> names;
  for (const Unknown& unknown : posterior.unknowns()) names.push_back(unknown.name);
  return names;
}

void search(Run& run) {
  BestFitOptions options;
  options.starts = run.plan.starts;
  options.population = run.plan.population;
  options.seed = run.plan.seed;
  options.done = run.state.starts;
  options.seen = run.state.population;
  options.progress = [&](const Progress& p) {
    run.best.optimum.cost = p.best_cost;
    return run.tell("searching", p.fraction);
  };
  options.checkpoint_starts = [&](const std::vector<Optimum>& done) {
    run.state.starts = done;
    run.keep();
  };
  options.checkpoint_population = [&](const std::vector<double>& costs) {
    run.state.population = costs;
    run.keep();
  };
  run.best = best_fit(run.posterior(), {}, options);
}

void tell_of_search(Run& run) {
  FitResult& r = run.result;
  const MultiStart& starts = run.best.starts;
  for (const SearchStage& stage : run.best.stages) {
    r.stages.push_back({stage.name, stage.words, stage.evaluations + stage.derivatives, 0.0, not_there});
  }
  if (!r.stages.empty()) r.stages.back().best_cost = run.best.optimum.cost;
  r.converged = run.best.optimum.stop == Stop::converged;
  if (!r.converged) {
    r.warnings.push_back(fmt::format(
        "The search did not converge ({}): do not use the estimates; try more starts or hold a parameter.",
        words(run.best.optimum, run.posterior().unknowns())));
  } else if (starts.runs.size() > 1 && starts.same_cost > starts.same_place) {
    r.warnings.push_back(
        "Different starts ended as good but elsewhere: the data do not tell some parameters apart; hold one, "
        "give it a prior, or measure something else.");
  } else if (starts.runs.size() > 3 && starts.same_cost * 3 < static_cast<int>(starts.runs.size())) {
    r.warnings.push_back(
        "Few starts reached the best fit: raise `starts` to be sure that there is no better.");
  }
}

void estimates(Run& run) {
  FitResult& r = run.result;
  const Optimum& o = run.best.optimum;
  const Covariance& covariance = run.best.covariance;
  r.log_density = -o.cost;
  if (covariance.ok) r.covariance = covariance.matrix;
  for (std::size_t u = 0; u < run.unknowns(); ++u) {
    const Eigen::Index i = static_cast<Eigen::Index>(u);
    FittedUnknown f;
    f.unknown = run.posterior().unknowns()[u];
    f.targets = run.problem.targets[u];
    f.estimate = run.in_unit(u, o.x[i]);
    if (u < o.on_bound.size() && o.on_bound[u] != Bound::none) {
      f.on_bound = o.on_bound[u] == Bound::lower ? "lower" : "upper";
      r.warnings.push_back(
          fmt::format("{} ended on its {} bound ({:.4g} {}): the other intervals hold only if "
                      "that is its value; widen the bound or hold it.",
                      f.unknown.name, f.on_bound, f.estimate, f.unknown.unit));
    }
    if (covariance.ok && !covariance.held[u]) {
      f.se_on_scale = covariance.se[i];
      Interval z = t_interval(o.x[i], covariance.se[i], 0, r.level);
      z.lower = std::max(z.lower, run.posterior().lower()[i]);
      z.upper = std::min(z.upper, run.posterior().upper()[i]);
      f.curvature = run.in_unit(u, z);
    }
    r.unknowns.push_back(std::move(f));
  }
  if (!covariance.ok) {
    r.warnings.push_back(
        "No standard errors from the curvature: the data do not see every direction of the parameters. Look "
        "at "
        "the profiles and at what cannot be told apart.");
  }
}

/// Residuals by unknown at a point, and the sentences about what they can tell.
void what_data_tell(Run& run, const Eigen::VectorXd& z) {
  std::vector<std::size_t> columns;
  const TrialPosterior& posterior = run.posterior();
  const LeastSquares squares = posterior.least_squares(z, &columns);
  Eigen::VectorXd x(static_cast<Eigen::Index>(columns.size())), unit = x;
  std::vector<std::string> names;
  for (std::size_t c = 0; c < columns.size(); ++c) {
    const Eigen::Index i = static_cast<Eigen::Index>(columns[c]), at = static_cast<Eigen::Index>(c);
    const Prior& prior = posterior.unknowns()[columns[c]].prior;
    x[at] = z[i];
    unit[at] =
        prior.shape == Prior::Shape::normal ? prior.sd : (posterior.upper()[i] - posterior.lower()[i]) / 6.0;
    names.push_back(posterior.unknowns()[columns[c]].name);
  }
  Eigen::VectorXd residuals;
  Eigen::MatrixXd jacobian;
  if (!squares.evaluate(x, residuals, &jacobian)) return;
  const Eigen::Index n = static_cast<Eigen::Index>(posterior.model().observations().size());
  const Identifiability seen = identifiability(jacobian.topRows(n), unit);
  for (std::string& sentence : identifiability_sentences(seen, names)) {
    run.result.warnings.push_back(std::move(sentence));
  }
}

void profile_all(Run& run) {
  const Cost cost = cost_of(run.posterior().informed());
  for (std::size_t u = 0; u < run.unknowns() && !run.stopped; ++u) {
    const auto done = std::find_if(run.state.profiles.begin(), run.state.profiles.end(),
                                   [&](const Profile& p) { return p.unknown == u; });
    if (done != run.state.profiles.end()) continue;
    ProfileOptions options;
    options.level = run.plan.level;
    options.progress = [&](const Progress& p) {
      const double whole = static_cast<double>(run.unknowns());
      return run.tell("profiles", (static_cast<double>(u) + p.fraction) / whole);
    };
    const Profile profile = profile_of(cost, run.best.optimum, u, options);
    if (!profile.finished) continue;
    run.state.profiles.push_back(profile);
    run.keep();
  }
}

/// A profile that meets a better fit sends the search back there, once.
bool better_fit_met(Run& run) {
  const Profile* best = nullptr;
  for (const Profile& p : run.state.profiles) {
    if (p.better.size() > 0 && (!best || p.better_cost < best->better_cost)) best = &p;
  }
  if (!best || best->better_cost > run.best.optimum.cost - 0.01) return false;
  const Optimum again = refit(run.posterior(), {}, best->better);
  if (again.cost >= run.best.optimum.cost) return false;
  BestFitOptions there;
  there.starts = 1;
  there.population = false;
  there.seed = run.plan.seed;
  there.done = {again};
  BestFit best_there = best_fit(run.posterior(), {}, there);
  best_there.stages.insert(best_there.stages.begin(), run.best.stages.begin(), run.best.stages.end());
  best_there.starts = run.best.starts;
  run.best = std::move(best_there);
  run.state.profiles.clear();
  return true;
}

void tell_of_profiles(Run& run) {
  for (const Profile& p : run.state.profiles) {
    FittedUnknown& f = run.result.unknowns[p.unknown];
    f.profile = run.in_unit(p.unknown, p.interval);
    f.identifiable = std::string(words(p.identifiable));
    FitProfile kept;
    kept.unknown = p.unknown;
    for (std::size_t i = 0; i < p.z.size(); ++i) {
      kept.value.push_back(run.in_unit(p.unknown, p.z[i]));
      kept.cost_above_best.push_back(p.cost[i] - run.best.optimum.cost);
    }
    run.result.profiles.push_back(std::move(kept));
    if (!f.targets.empty() && p.identifiable != Identifiable::yes &&
        p.identifiable != Identifiable::unknown) {
      run.result.warnings.push_back(
          fmt::format("{}: {}. Hold it, give it a prior from elsewhere, or measure what tells it.",
                      f.unknown.name, f.identifiable));
    }
  }
}

Eigen::VectorXd walker_spread(const Run& run) {
  const TrialPosterior& posterior = run.posterior();
  Eigen::VectorXd spread = (posterior.upper() - posterior.lower()) / 20.0;
  if (!run.best.covariance.ok) return spread;
  for (Eigen::Index i = 0; i < spread.size(); ++i) {
    if (!run.best.covariance.held[static_cast<std::size_t>(i)]) {
      spread[i] = std::min(2.0 * run.best.covariance.se[i], 4.0 * spread[i]);
    }
  }
  return spread;
}

void draw(Run& run) {
  const std::shared_ptr<const TrialPosterior> posterior = run.problem.posterior;
  SamplerOptions options;
  options.draws = run.plan.draws;
  options.seed = run.plan.seed;
  options.progress = [&](const SamplerProgress& p) { return run.tell("draws", p.fraction); };
  options.checkpoint = [&](const SamplerState& s) {
    run.state.sampler = s;
    run.keep();
  };
  const std::optional<SamplerState> earlier = run.state.sampler;
  if (earlier) options.resume = &*earlier;
  const Chains chains =
      sample([posterior](const Eigen::MatrixXd& z, Eigen::VectorXd& v) { posterior->log_densities(z, v); },
             run.best.optimum.x, walker_spread(run), posterior->lower(), posterior->upper(), options);
  FitStage stage;
  stage.name = "draws";
  stage.evaluations = static_cast<int>(chains.evaluations);
  run.sampled = run.plan.draws;
  const ChainReport report = judge(chains, names_of(*posterior));
  for (std::size_t u = 0; u < run.unknowns(); ++u) {
    const Eigen::Index i = static_cast<Eigen::Index>(u);
    run.result.unknowns[u].rhat = report.rhat[i];
    run.result.unknowns[u].ess = std::min(report.ess_bulk[i], report.ess_tail[i]);
  }
  if (report.converged) {
    run.draws = chains.draws;
    run.result.draws_are = "posterior";
    stage.stop = fmt::format("{} draws kept, acceptance {:.0f} %, least effective number {:.0f}",
                             chains.draws.cols(), 100.0 * chains.acceptance,
                             std::min(report.ess_bulk.minCoeff(), report.ess_tail.minCoeff()));
  } else {
    run.result.draws_refused = report.why;
    stage.stop = "not a posterior: " + report.why;
    run.result.warnings.push_back(fmt::format(
        "The draws are not a posterior ({}): raise `draws`, or hold what the data cannot tell.", report.why));
  }
  run.result.stages.push_back(std::move(stage));
}

void resample(Run& run) {
  const TrialPosterior& posterior = run.posterior();
  std::vector<int> bags, strata;
  for (const ObservationOrigin& o : run.problem.origins) {
    bags.push_back(o.bag);
    strata.push_back(o.stratum);
  }
  BootstrapOptions options;
  options.resamples = run.plan.resamples;
  options.seed = run.plan.seed;
  options.level = run.plan.level;
  options.progress = [&](double fraction) { return run.tell("resamples", fraction); };
  const Bootstrap b = bootstrap(
      bags, strata, run.best.optimum.x,
      [&](const std::vector<double>& weights) {
        const Optimum o = refit(posterior, weights, run.best.optimum.x);
        return o.stop == Stop::converged ? o.x : Eigen::VectorXd();
      },
      options);
  const std::vector<Interval>& intervals = b.bca.empty() ? b.percentile : b.bca;
  for (std::size_t u = 0; u < intervals.size(); ++u) {
    run.result.unknowns[u].bootstrap = run.in_unit(u, intervals[u]);
  }
  if (run.draws.cols() == 0 && b.estimates.cols() >= 100) {
    run.draws = b.estimates;
    run.result.draws_are = "bootstrap";
  }
  run.resampled = static_cast<int>(b.estimates.cols());
  FitStage stage;
  stage.name = "resamples";
  stage.evaluations = static_cast<int>(b.estimates.cols()) + b.failed;
  stage.stop = fmt::format("{} refitted, {} failed; intervals {}", b.estimates.cols(), b.failed,
                           b.bca.empty() ? "by percentiles" : "bias-corrected and accelerated");
  run.result.stages.push_back(std::move(stage));
}

void posterior_intervals(Run& run) {
  for (std::size_t u = 0; u < run.unknowns(); ++u) {
    const Eigen::VectorXd z = run.draws.row(static_cast<Eigen::Index>(u)).transpose();
    const Central c = central({z.data(), z.data() + z.size()}, run.plan.level);
    run.result.unknowns[u].posterior = run.in_unit(u, Interval{c.lower, c.upper});
  }
}

/// Draws where no sampler gave any, from the curvature: bands then share its assumptions.
void draw_from_curvature(Run& run) {
  if (!run.best.covariance.ok) return;
  run.draws = normal_draws(run.best.optimum.x, run.best.covariance.matrix, run.posterior().lower(),
                           run.posterior().upper(), run.plan.seed, draws_from_curvature);
  if (run.draws.cols() > 0) run.result.draws_are = "normal approximation";
}

Eigen::MatrixXd thinned(const Eigen::MatrixXd& draws, Eigen::Index most) {
  if (draws.cols() <= most) return draws;
  Eigen::MatrixXd few(draws.rows(), most);
  for (Eigen::Index d = 0; d < most; ++d) few.col(d) = draws.col(d * draws.cols() / most);
  return few;
}

void tables(Run& run) {
  FitResult& r = run.result;
  const Eigen::VectorXd& z = run.best.optimum.x;
  run.tell("curves", 0.0);
  if (const std::optional<TrialPosterior::Predicted> predicted = run.posterior().predicted(z)) {
    r.log_likelihood = run.posterior().log_likelihood(*predicted);
    r.residuals = fit_residuals(run.problem, run.trials, *predicted);
    r.quality = fit_quality(run.problem, *predicted);
    const auto again = [&](const std::vector<double>& weights) {
      const Optimum o = refit(run.posterior(), weights, z);
      const auto values = run.posterior().predicted(o.x);
      return o.stop == Stop::bad_start || !values ? Eigen::VectorXd() : values->value;
    };
    r.models = compared_models(run.problem, predicted->value, again);
  }
  const DailyCurves curves = daily_curves(run.posterior(), z, thinned(run.draws, curve_draws));
  r.curves = fit_curves(run.problem, curves, r.level);
  r.derived = derived_quantities(run.problem, curves, r.level);
  r.draws.resize(run.draws.rows(), run.draws.cols());
  for (Eigen::Index d = 0; d < run.draws.cols(); ++d)
    r.draws.col(d) = run.posterior().in_units(run.draws.col(d));
  const auto odd = std::count_if(r.residuals.begin(), r.residuals.end(),
                                 [](const FitResidual& residual) { return residual.suspicious; });
  if (odd > 0) {
    r.warnings.push_back(
        fmt::format("{} measurement{} beyond {} standard deviations of the fit; the residuals "
                    "file marks them. Look at the bags, or fit with outliers = \"robust\".",
                    odd, odd == 1 ? " lies" : "s lie", doubtful_sd));
  }
}

void describe(Run& run) {
  FitResult& r = run.result;
  r.title = run.plan.title;
  r.program = program_name();
  r.units = run.plan.units;
  r.level = run.plan.level;
  r.treatments = run.problem.treatments;
  r.treatment_keys = run.problem.treatment_keys;
  r.observations = static_cast<int>(run.problem.origins.size());
  r.start = run.trials.front().scenario.treatments.front().first().date;
  r.warnings = run.problem.warnings;
}

std::string weather_of(const Scenario& scenario) {
  if (!scenario.weather) return "a log of conditions";
  if (scenario.weather->normals)
    return "daily weather generated from the monthly normals of " + scenario.weather->normals_name;
  return "the weather file " + scenario.weather->file;
}

void add_once(std::vector<std::string>& list, const std::string& item) {
  if (!item.empty() && std::find(list.begin(), list.end(), item) == list.end()) list.push_back(item);
}

/// What was done, beyond what was asked for.
MethodFacts facts_of(const Run& run) {
  MethodFacts facts = facts_of(run.plan);
  std::vector<std::string> weather;
  for (const LoadedTrial& trial : run.trials) {
    add_once(weather, weather_of(trial.scenario));
    facts.access_by_diffusion |= trial.scenario.model.access != AccessForm::colonisation;
  }
  for (const std::string& w : weather) facts.weather += (facts.weather.empty() ? "" : "; ") + w;
  facts.starts = static_cast<int>(run.best.starts.runs.size());
  facts.population = run.best.population.evaluations > 0;
  facts.resamples = run.resampled;
  facts.draws = run.sampled;
  return facts;
}

}  // namespace

FitResult run_fit(const FitPlan& plan, const std::vector<LoadedTrial>& trials, const FitRunOptions& options) {
  Run run{plan, trials, options, fit_problem(plan, trials, options.for_each), {}, {}, {}, {}};
  if (options.resume) run.state = *options.resume;
  describe(run);
  search(run);
  if (run.best.optimum.stop == Stop::bad_start) {
    run.result.warnings.push_back(
        "The model could not be run at any start: check the bounds and starts of what is estimated.");
    return run.result;
  }
  if (plan.profiles && !run.stopped) {
    profile_all(run);
    if (better_fit_met(run)) profile_all(run);
  }
  tell_of_search(run);
  estimates(run);
  tell_of_profiles(run);
  what_data_tell(run, run.best.optimum.x);
  if (plan.draws > 0 && !run.stopped) draw(run);
  if (plan.resamples > 0 && !run.stopped) resample(run);
  if (run.result.draws_are == "posterior") posterior_intervals(run);
  if (run.draws.cols() == 0) draw_from_curvature(run);
  if (run.stopped) {
    run.result.warnings.insert(run.result.warnings.begin(),
                               "Stopped before the end: what is missing was not reached; --resume goes on.");
  }
  tables(run);
  run.result.methods = methods_paragraph(run.result, facts_of(run));
  return run.result;
}

}  // namespace stoverturn
