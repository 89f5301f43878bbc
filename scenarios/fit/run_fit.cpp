#include "scenarios/fit/run_fit.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "fitting/bootstrap.hpp"
#include "fitting/identifiability.hpp"
#include "fitting/normal_draws.hpp"
#include "scenarios/fit/fit_work.hpp"
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
constexpr double negligible = 0.01;   ///< of the error of a bag
constexpr double similar_cost = 5.0;  ///< in log units: optima that the sampler begins at
constexpr double doubtful_sd = 3.5;
constexpr const char* stopped_early =
    "Stopped before the end: what is missing was not reached; --resume goes on.";
constexpr const char* ends_elsewhere =
    "Different starts ended as good but elsewhere: the data do not tell some parameters apart; hold one, "
    "give "
    "it a prior, or measure something else.";

std::vector<std::string> names_of(const TrialPosterior& posterior) {
  std::vector<std::string> names;
  for (const Unknown& unknown : posterior.unknowns()) names.push_back(unknown.name);
  return names;
}

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
        "{} ended on its {} bound ({:.4g}{}): the other intervals hold only if that is its value; widen the "
        "bound or hold it.",
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

/// How the measured numbers answer to the unknowns at the best point, but for the sizes of errors.
struct Answers {
  std::vector<std::size_t> unknowns;  ///< by column
  Eigen::VectorXd unit;      ///< by column, on the fit scale: sd of the prior, or a sixth of the range
  Eigen::MatrixXd jacobian;  ///< observations, over their sd, x columns; empty where they cannot be had
};

Answers answers(const FitWork& run) {
  Answers a;
  const TrialPosterior& posterior = run.posterior();
  const Eigen::VectorXd& z = run.best.optimum.x;
  const LeastSquares squares = posterior.least_squares(z, &a.unknowns);
  Eigen::VectorXd x(static_cast<Eigen::Index>(a.unknowns.size())), residuals;
  a.unit = x;
  for (std::size_t c = 0; c < a.unknowns.size(); ++c) {
    const Eigen::Index i = static_cast<Eigen::Index>(a.unknowns[c]), at = static_cast<Eigen::Index>(c);
    const Prior& prior = posterior.unknowns()[a.unknowns[c]].prior;
    x[at] = z[i];
    a.unit[at] =
        prior.shape == Prior::Shape::normal ? prior.sd : (posterior.upper()[i] - posterior.lower()[i]) / 6.0;
  }
  Eigen::MatrixXd all;
  const Eigen::Index n = static_cast<Eigen::Index>(posterior.model().observations().size());
  if (squares.evaluate(x, residuals, &all)) a.jacobian = all.topRows(n);
  return a;
}

/// Of the model's parameters: spreads and effects are held together by their priors.
void what_data_tell(FitWork& run, const Answers& a) {
  if (a.jacobian.size() == 0) return;
  std::vector<std::string> names;
  std::vector<Eigen::Index> columns;
  for (std::size_t c = 0; c < a.unknowns.size(); ++c) {
    if (!run.is_of_model(a.unknowns[c])) continue;
    columns.push_back(static_cast<Eigen::Index>(c));
    names.push_back(run.posterior().unknowns()[a.unknowns[c]].name);
  }
  const Identifiability seen = identifiability(a.jacobian(Eigen::all, columns), a.unit(columns));
  std::vector<std::string>& warnings = run.result.warnings;
  if (!seen.confounded.empty())
    warnings.erase(std::remove(warnings.begin(), warnings.end(), ends_elsewhere), warnings.end());
  for (std::string& sentence : identifiability_sentences(seen, names)) {
    warnings.push_back(std::move(sentence));
  }
}

/// Unknowns that move a predicted mass: by a hundredth of the error of a bag at least, when they themselves
/// move by a standard error, or by their unit where that is less or none is known.
MassUnknowns mass_unknowns(const FitWork& run, const Answers& a) {
  MassUnknowns of_mass;
  const std::vector<Observation>& all = run.posterior().model().observations();
  for (std::size_t c = 0; c < a.unknowns.size(); ++c) {
    const Eigen::Index at = static_cast<Eigen::Index>(c);
    const double se = run.result.unknowns[a.unknowns[c]].se_on_scale;
    const double step = std::isfinite(se) ? std::min(se, a.unit[at]) : a.unit[at];
    double largest = a.jacobian.size() > 0 ? 0.0 : negligible;
    for (Eigen::Index i = 0; i < a.jacobian.rows(); ++i) {
      if (all[static_cast<std::size_t>(i)].measure != Measure::mass) continue;
      largest = std::max(largest, std::abs(a.jacobian(i, at)) * step);
    }
    if (largest >= negligible) {
      ++of_mass.count;
    } else {
      of_mass.without.push_back(run.posterior().unknowns()[a.unknowns[c]].name);
    }
  }
  return of_mass;
}

Eigen::VectorXd walker_spread(const FitWork& run) {
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

/// The best place, and others of similar cost where starts ended, two standard errors apart at least.
std::vector<Eigen::VectorXd> optima(const FitWork& run, const Eigen::VectorXd& spread) {
  std::vector<Eigen::VectorXd> places = {run.best.optimum.x};
  for (const Optimum& o : run.best.starts.runs) {
    if (o.stop != Stop::converged || o.cost > run.best.optimum.cost + similar_cost) continue;
    const bool known = std::any_of(places.begin(), places.end(), [&](const Eigen::VectorXd& place) {
      return (o.x - place).cwiseQuotient(spread).cwiseAbs().maxCoeff() < 1.0;
    });
    if (!known) places.push_back(o.x);
  }
  return places;
}

/// Walkers about each of several optima in turn; one column where there is but one.
Eigen::MatrixXd walker_start(const FitWork& run, const Eigen::VectorXd& spread) {
  const std::vector<Eigen::VectorXd> places = optima(run, spread);
  if (places.size() == 1) return places.front();
  const Eigen::Index walkers = std::max<Eigen::Index>(32, (4 * spread.size() + 15) / 16 * 16);
  Eigen::MatrixXd start(spread.size(), walkers);
  for (std::size_t p = 0; p < places.size(); ++p) {
    const Eigen::MatrixXd about =
        normal_draws(places[p], spread.cwiseAbs2().asDiagonal(), run.posterior().lower(),
                     run.posterior().upper(), run.plan.seed + 1 + p, walkers);
    if (about.cols() < walkers) return places.front();
    for (Eigen::Index w = 0; w < walkers; ++w) {
      if (static_cast<std::size_t>(w) % places.size() == p) start.col(w) = about.col(w);
    }
  }
  return start;
}

void draw(FitWork& run) {
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
  const Eigen::VectorXd spread = walker_spread(run);
  const Chains chains =
      sample([posterior](const Eigen::MatrixXd& z, Eigen::VectorXd& v) { posterior->log_densities(z, v); },
             walker_start(run, spread), spread, posterior->lower(), posterior->upper(), options);
  FitStage stage;
  stage.name = "draws";
  stage.evaluations = static_cast<int>(chains.evaluations);
  run.sampled = run.plan.draws;
  if (!chains.finished) {
    run.result.draws_refused = "stopped before the end";
    stage.stop = run.result.draws_refused;
    run.result.stages.push_back(std::move(stage));
    return;
  }
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
    stage.stop = "not a posterior, see the warnings";
    run.result.warnings.push_back(
        fmt::format("The draws are not a posterior: {}. Raise `draws` under [methods], or hold what the data "
                    "cannot tell; "
                    "the bands are not from these draws.",
                    report.why));
  }
  run.result.stages.push_back(std::move(stage));
}

void resample(FitWork& run) {
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
  options.for_each = run.options.for_each;
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

void posterior_intervals(FitWork& run) {
  for (std::size_t u = 0; u < run.unknowns(); ++u) {
    const Eigen::VectorXd z = run.draws.row(static_cast<Eigen::Index>(u)).transpose();
    const Central c = central({z.data(), z.data() + z.size()}, run.plan.level);
    run.result.unknowns[u].posterior = run.in_unit(u, Interval{c.lower, c.upper});
  }
}

/// Draws where no sampler gave any, from the curvature: bands then share its assumptions.
void draw_from_curvature(FitWork& run) {
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

void tables(FitWork& run, const Answers& a) {
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
    // what is left out is fitted anew, and that takes time
    r.models = compared_models(run.problem, predicted->value, mass_unknowns(run, a),
                               run.stopped ? WeightedPredictions() : again);
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
