#include "scenarios/fit/run_fit.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/fit/fit_work.hpp"
#include "scenarios/results/run_scenario.hpp"
#include "scenarios/trial/derived_quantities.hpp"
#include "scenarios/trial/fit_json.hpp"
#include "scenarios/trial/fit_methods.hpp"
#include "scenarios/trial/fit_tables.hpp"
#include "scenarios/trial/model_comparison.hpp"

namespace stoverturn {
namespace {

constexpr std::size_t curve_draws = 400;  ///< bands need no more
constexpr double doubtful_sd = 3.5;
constexpr const char* stopped_early =
    "Stopped before the end: what is missing was not reached; --resume goes on.";

void search(FitWork& run) {
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

void tell_of_search(FitWork& run) {
  FitResult& r = run.result;
  const MultiStart& starts = run.best.starts;
  for (const SearchStage& stage : run.best.stages) {
    r.stages.push_back({stage.name, stage.words, stage.evaluations + stage.derivatives, 0.0, not_there});
  }
  if (!r.stages.empty()) r.stages.back().best_cost = run.best.optimum.cost;
  r.converged = run.best.optimum.stop == Stop::converged;
  if (!run.best.finished) {
    r.warnings.emplace_back(
        "The search itself was stopped: the estimates are the best so far, do not use them.");
  } else if (!r.converged) {
    r.warnings.push_back(fmt::format(
        "The search did not converge ({}): do not use the estimates; try more starts or hold a parameter.",
        words(run.best.optimum, run.posterior().unknowns())));
  } else if (starts.runs.size() > 1 && starts.same_cost > starts.same_place) {
    r.warnings.emplace_back(ends_elsewhere);
  } else if (starts.runs.size() > 3 && starts.same_cost * 3 < static_cast<int>(starts.runs.size())) {
    r.warnings.emplace_back(
        "Few starts reached the best fit: raise `starts` to be sure that there is no better.");
  }
}

std::string bound_warning(const FitWork& run, const FittedUnknown& f, std::size_t unknown) {
  if (run.is_of_model(unknown)) {
    return fmt::format(
        "{} ended on its {} bound ({:.4g}{}): the other intervals hold only if that is its value; hold it "
        "there, give it a prior, or ask what process is missing.",
        f.unknown.name, f.on_bound, f.estimate, f.unknown.unit == "1" ? "" : " " + f.unknown.unit);
  }
  if (f.on_bound == "lower")
    return fmt::format("{} is as good as nothing: leave it out of the fit file.", f.unknown.name);
  return fmt::format(
      "{} ended on its upper bound ({:.4g}): the model is far from these data; look at the residuals.",
      f.unknown.name, f.estimate);
}

void estimates(FitWork& run) {
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
      r.warnings.push_back(bound_warning(run, f, u));
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
  if (!covariance.ok && run.best.finished) {
    r.warnings.emplace_back(
        "No standard errors from the curvature: the data do not see every direction of the parameters. Go by "
        "the profiles, and hold what cannot be told.");
  }
}

/// A simple curve that does better, and means that are missed by more than bags scatter, are told first.
void tell_of_misfit(FitWork& run, const TrialPosterior::Predicted& predicted) {
  FitResult& r = run.result;
  const LackOfFit lack = lack_of_fit(run.problem, predicted);
  if (lack.missed) {
    r.warnings.insert(
        r.warnings.begin(),
        fmt::format(
            "The model misses the mean masses by {:.1f} points where bags pulled together scatter by "
            "{:.1f} (F = {:.1f}, p < 0.01): something is missing, and intervals and derived numbers look "
            "surer than they are. Look at the residuals; let a parameter vary by treatment, or estimate "
            "another.",
            100.0 * lack.of_means, 100.0 * lack.of_bags, lack.F));
  }
  const auto best = std::max_element(r.models.begin(), r.models.end(),
                                     [](const auto& a, const auto& b) { return a.weight < b.weight; });
  if (!r.models.empty() && r.models.front().weight < 0.05) {
    r.warnings.push_back(
        fmt::format("A simple curve describes these masses better by AICc ({}): use this fit for "
                    "what the curve cannot say, not for mass left.",
                    best->name));
  }
}

void tables(FitWork& run, const Answers& a) {
  FitResult& r = run.result;
  const Eigen::VectorXd& z = run.best.optimum.x;
  run.tell("curves", 0.0);
  if (const std::optional<TrialPosterior::Predicted> predicted = run.posterior().predicted(z)) {
    r.log_likelihood = run.posterior().log_likelihood(*predicted);
    r.residuals = fit_residuals(run.problem, run.trials, *predicted);
    r.quality = fit_quality(run.problem, *predicted);
    const auto again = [&](const std::vector<double>& weights) {
      if (!run.tell("curves", 0.5)) return Eigen::VectorXd();
      const Optimum o = refit(run.posterior(), weights, z);
      const auto values = run.posterior().predicted(o.x);
      return o.stop == Stop::bad_start || !values ? Eigen::VectorXd() : values->value;
    };
    // what is left out is fitted anew, and that takes time
    r.models = compared_models(run.problem, predicted->value, mass_unknowns(run, a),
                               run.stopped ? WeightedPredictions() : again);
    tell_of_misfit(run, *predicted);
  }
  const auto few = thinned(static_cast<std::size_t>(run.draws.cols()), curve_draws);
  const DailyCurves curves = daily_curves(run.posterior(), z, run.draws(Eigen::all, few));
  r.curves = fit_curves(run.problem, curves, r.level);
  r.derived = derived_quantities(run.problem, curves, r.level);
  r.draws.resize(run.draws.rows(), run.draws.cols());
  for (Eigen::Index d = 0; d < run.draws.cols(); ++d)
    r.draws.col(d) = run.posterior().in_units(run.draws.col(d));
  const auto odd = std::count_if(r.residuals.begin(), r.residuals.end(),
                                 [](const FitResidual& residual) { return residual.suspicious; });
  if (odd > 0) {
    r.warnings.push_back(
        fmt::format("{} measurement{} beyond {} standard deviations of the fit; the residuals file marks "
                    "{}. Look at {}{}.",
                    odd, odd == 1 ? " lies" : "s lie", doubtful_sd, odd == 1 ? "it" : "them",
                    odd == 1 ? "the bag" : "the bags",
                    run.plan.tail == Tail::student ? "" : ", or fit with outliers = \"robust\""));
  }
}

void describe(FitWork& run) {
  FitResult& r = run.result;
  r.title = run.plan.title;
  r.program = program_name();
  r.units = run.plan.units;
  r.level = run.plan.level;
  r.treatments = run.problem.treatments;
  r.treatment_keys = run.problem.treatment_keys;
  r.observations = static_cast<int>(run.problem.origins.size());
  r.start = run.trials.front().scenario.treatments.front().first().date;
}

std::string weather_of(const Scenario& scenario) {
  if (!scenario.weather) return "a log of conditions";
  if (scenario.weather->normals)
    return "daily weather generated from the monthly normals of " + scenario.weather->normals_name;
  return "the weather file " + scenario.weather->file.substr(scenario.weather->file.rfind('/') + 1);
}

void add_once(std::vector<std::string>& list, const std::string& item) {
  if (!item.empty() && std::find(list.begin(), list.end(), item) == list.end()) list.push_back(item);
}

/// What was done, beyond what was asked for.
MethodFacts facts_of(const FitWork& run) {
  MethodFacts facts = facts_of(run.plan);
  std::vector<std::string> weather;
  for (const LoadedTrial& trial : run.trials) {
    add_once(weather, weather_of(trial.scenario));
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
  FitWork run{plan, trials, options, fit_problem(plan, trials, options.for_each)};
  if (options.resume) run.state = *options.resume;
  describe(run);
  std::vector<std::string> notes = std::move(run.problem.warnings);
  search(run);
  if (run.best.optimum.x.size() == 0) {
    if (!run.stopped) {
      throw InputError({{plan.estimates.front().at,
                         "the model could not be run at any start: check the bounds and starts of what is "
                         "estimated, and the scenario"}});
    }
    run.result.warnings = {std::string(stopped_early)};
    return run.result;
  }
  if (plan.profiles != ProfilesOf::none && !run.stopped) make_profiles(run);
  tell_of_search(run);
  estimates(run);
  tell_of_profiles(run);
  const Answers a = answers(run);
  what_data_tell(run, a);
  if (plan.draws > 0 && !run.stopped) draw(run);
  if (plan.resamples > 0 && !run.stopped) resample(run);
  if (run.result.draws_are == "posterior") posterior_intervals(run);
  if (run.draws.cols() == 0) draw_from_curvature(run);
  tables(run, a);
  std::vector<std::string>& warnings = run.result.warnings;
  if (run.stopped) warnings.insert(warnings.begin(), stopped_early);
  warnings.insert(warnings.end(), notes.begin(), notes.end());
  run.result.methods = methods_paragraph(run.result, facts_of(run));
  return run.result;
}

}  // namespace stoverturn
