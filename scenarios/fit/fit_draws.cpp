#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "fitting/bootstrap.hpp"
#include "fitting/normal_draws.hpp"
#include "scenarios/fit/fit_work.hpp"
#include "scenarios/trial/daily_curves.hpp"

namespace stoverturn {
namespace {

constexpr Eigen::Index draws_from_curvature = 1000;
constexpr double similar_cost = 5.0;  ///< in log units: optima that the sampler begins at

std::vector<std::string> names_of(const TrialPosterior& posterior) {
  std::vector<std::string> names;
  for (const Unknown& unknown : posterior.unknowns()) names.push_back(unknown.name);
  return names;
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

}  // namespace

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

void draw_from_curvature(FitWork& run) {
  if (!run.best.covariance.ok) return;
  run.draws = normal_draws(run.best.optimum.x, run.best.covariance.matrix, run.posterior().lower(),
                           run.posterior().upper(), run.plan.seed, draws_from_curvature);
  if (run.draws.cols() > 0) run.result.draws_are = "normal approximation";
}

}  // namespace stoverturn
