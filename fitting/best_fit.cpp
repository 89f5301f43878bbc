#include "fitting/best_fit.hpp"

#include <algorithm>
#include <cmath>

#include <Eigen/Eigenvalues>

namespace stoverturn {
namespace {

struct Box {
  Eigen::VectorXd from, to;
};

/// Where starts and population are drawn: the bounds, or the central 90 % of a normal prior.
Box box_of(const TrialPosterior& posterior) {
  Box box{posterior.lower(), posterior.upper()};
  for (Eigen::Index j = 0; j < box.from.size(); ++j) {
    const Prior& prior = posterior.unknowns()[static_cast<std::size_t>(j)].prior;
    if (prior.shape != Prior::Shape::normal) continue;
    const auto [from, to] = central_range(prior);
    if (from >= box.to[j] || to <= box.from[j]) continue;  // a prior beyond the bounds says nothing of a box
    box.from[j] = std::max(box.from[j], from);
    box.to[j] = std::min(box.to[j], to);
  }
  return box;
}

bool ended_badly(const Optimum& found) {
  return found.stop == Stop::stalled || found.stop == Stop::evaluations_spent;
}

/// Adds the effort of both, keeps the better.
Optimum better_of(Optimum first, Optimum second) {
  const int evaluations = first.evaluations + second.evaluations;
  const int derivatives = first.derivatives + second.derivatives;
  const int iterations = first.iterations + second.iterations;
  Optimum& best = second.x.size() && second.cost <= first.cost ? second : first;
  if (second.stop == Stop::cancelled) best.stop = Stop::cancelled;
  best.evaluations = evaluations;
  best.derivatives = derivatives;
  best.iterations = iterations;
  return std::move(best);
}

/// Climbs; where that does not end at an optimum, other methods go on from its end.
Optimum search(const InformedDensity& density, const Cost& cost, const Eigen::VectorXd& start,
               const ScoringOptions& options, const std::vector<Method>& others) {
  Optimum found = climb(density, start, options);
  for (const Method method : others) {
    if (!ended_badly(found)) break;
    MinimiseOptions other;
    other.method = method;
    other.most_evaluations = 5 * options.most_iterations;
    other.converged_se = options.converged_se;
    other.progress = options.progress;
    found = better_of(found, minimise(cost, found.x, other));
    if (ended_badly(found)) found = better_of(found, climb(density, found.x, options));
  }
  return found;
}

struct Fitting {
  const TrialPosterior& posterior;
  const std::vector<double>& weights;
  const BestFitOptions& options;
  InformedDensity density;
  Cost cost;
  BestFit fit = {};
  int spent = 0;
  bool stopped = false;
  double started_s = 0.0;

  double now() const { return options.clock ? options.clock() : 0.0; }

  /// The caller's progress over one stage, which is this share of the whole.
  KeepGoing between(double from, double to) {
    if (!options.progress) return {};
    return [this, from, to](const Progress& here) {
      Progress all = here;
      const Optimum& known = fit.optimum;
      if (known.x.size() && !(here.best_cost < known.cost)) {
        all.best = &known.x;
        all.best_cost = known.cost;
      }
      all.evaluations += spent;
      all.fraction = from + (to - from) * std::min(1.0, here.fraction);
      stopped = stopped || !options.progress(all);
      return !stopped;
    };
  }

  void note(const char* name, const Optimum& found, int evaluations, int derivatives, std::string said) {
    const double time = now();
    fit.stages.push_back({name, std::move(said), found.stop, evaluations, derivatives, time - started_s});
    started_s = time;
    spent += evaluations + derivatives;
    if (found.x.size() && found.cost <= fit.optimum.cost) fit.optimum = found;
  }

  ScoringOptions climbing(const KeepGoing& progress) const {
    ScoringOptions result;
    result.most_iterations = options.most_iterations;
    result.converged_se = options.converged_se;
    result.progress = progress;
    return result;
  }

  void from_starts(const Box& box) {
    MultiStartOptions many;
    many.progress = between(0.0, options.population ? 0.6 : 0.8);
    many.done = options.done;
    many.checkpoint = options.checkpoint_starts;
    const auto starts = start_points(posterior.start(), box.from, box.to,
                                     static_cast<std::size_t>(std::max(1, options.starts)), options.seed);
    const LocalSearch local = [&](const Eigen::VectorXd& start, const KeepGoing& progress) {
      return search(density, cost, posterior.with_best_error_sizes(start, weights), climbing(progress),
                    {Method::slsqp});
    };
    fit.starts = search_from(starts, local, many);
    int evaluations = 0, derivatives = 0;
    for (const Optimum& run : fit.starts.runs) {
      evaluations += run.evaluations;
      derivatives += run.derivatives;
    }
    note("starts", fit.starts.best, evaluations, derivatives,
         std::to_string(fit.starts.converged) + " of " + std::to_string(fit.starts.runs.size()) +
             " converged, " + std::to_string(fit.starts.same_cost) + " at the best cost, " +
             std::to_string(fit.starts.same_place) + " of these at the same place" +
             (fit.starts.failed ? "; " + std::to_string(fit.starts.failed) + " could not be run" : ""));
  }

  void by_population(const Box& box) {
    PopulationOptions crowd;
    const int n = static_cast<int>(box.from.size());
    crowd.seed = options.seed;
    crowd.most_evaluations =
        options.population_evaluations > 0 ? options.population_evaluations : 40 * (n + 1);
    crowd.converged_se = options.converged_se;
    crowd.progress = between(0.6, 0.8);
    crowd.seen = options.seen;
    crowd.checkpoint = options.checkpoint_population;
    Cost within_box = cost;
    within_box.lower = box.from.cwiseMin(fit.optimum.x);
    within_box.upper = box.to.cwiseMax(fit.optimum.x);
    const double before = fit.optimum.cost;
    fit.population = minimise_by_population(within_box, fit.optimum.x, crowd);
    note("population", fit.population, fit.population.evaluations, fit.population.derivatives,
         fit.population.cost < before - 1e-3 ? "found a better valley" : "found nothing better");
  }

  void to_the_end() {
    ScoringOptions fine = climbing(between(0.8, 0.95));
    fine.distance_se *= 0.01;
    fit.finish = search(density, cost, fit.optimum.x, fine, {Method::slsqp, Method::ccsa});
    note("finish", fit.finish, fit.finish.evaluations, fit.finish.derivatives,
         words(fit.finish, posterior.unknowns()));
  }

  /// Second derivatives at the optimum, over steps of a twentieth of each unknown's conditional standard
  /// error.
  Eigen::MatrixXd hessian(Eigen::VectorXd& unit, Eigen::VectorXd& gradient, Eigen::MatrixXd& root) {
    const Eigen::VectorXd z = fit.optimum.x;
    Eigen::VectorXd score;
    density.evaluate(z, &score, &root);
    gradient = -root.transpose() * score;
    unit = root.colwise().norm().transpose().cwiseInverse().cwiseMin(0.1 * (cost.upper - cost.lower));
    Cost scaled;
    scaled.lower = (cost.lower - z).cwiseQuotient(unit);
    scaled.upper = (cost.upper - z).cwiseQuotient(unit);
    scaled.evaluate = [&](const Eigen::VectorXd& w, Eigen::VectorXd* slope) {
      const double value = cost.evaluate(within(z + unit.cwiseProduct(w), cost.lower, cost.upper), slope);
      if (slope && std::isfinite(value)) *slope = slope->cwiseProduct(unit);
      return value;
    };
    Eigen::MatrixXd H = second_derivatives(scaled, Eigen::VectorXd::Zero(z.size()), 50.0);
    if (H.size())
      H = Eigen::MatrixXd(unit.cwiseInverse().asDiagonal() * H * unit.cwiseInverse().asDiagonal());
    return H;
  }

  /// Steepest way down where the curvature is negative, about one standard error long; empty at a minimum.
  /// Curvature against the mean of it below `noise` is what differences leave of none.
  Eigen::VectorXd way_down(const Eigen::MatrixXd& H, const Eigen::VectorXd& unit) const {
    constexpr double noise = 1e-3;
    std::vector<Eigen::Index> free;
    for (Eigen::Index j = 0; j < unit.size(); ++j) {
      if (fit.optimum.on_bound[static_cast<std::size_t>(j)] == Bound::none) free.push_back(j);
    }
    if (!H.size() || free.empty()) return {};
    const Eigen::VectorXd u = unit(free);
    const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> eigen(u.asDiagonal() * H(free, free) *
                                                               u.asDiagonal());
    if (eigen.eigenvalues()[0] > -noise) return {};
    Eigen::VectorXd way = Eigen::VectorXd::Zero(unit.size());
    way(free) = u.cwiseProduct(eigen.eigenvectors().col(0));
    return way;
  }

  void curvature() {
    const KeepGoing progress = between(0.95, 1.0);
    int evaluations = 0, derivatives = 0;
    std::string said = "a minimum";
    for (int round = 0; round < 3; ++round) {
      Eigen::VectorXd unit, gradient;
      Eigen::MatrixXd root;
      const Eigen::MatrixXd H = hessian(unit, gradient, root);
      derivatives += 2 * static_cast<int>(unit.size()) + 1;
      fit.from_second_derivatives = H.size() > 0 && H.allFinite();
      fit.hessian = fit.from_second_derivatives ? H : Eigen::MatrixXd();
      fit.covariance = covariance_of(
          fit.from_second_derivatives ? H : Eigen::MatrixXd(root.transpose() * root), fit.optimum.on_bound);
      const double distance = newton_distance(fit.optimum.x, gradient, H, cost.lower, cost.upper);
      if (std::isfinite(distance)) fit.optimum.distance_se = distance;
      const Eigen::VectorXd way = fit.from_second_derivatives ? way_down(H, unit) : Eigen::VectorXd();
      if (!way.size()) {
        if (!fit.from_second_derivatives) said = "neighbours cannot be run; the information expected instead";
        if (fit.from_second_derivatives && !fit.covariance.ok) said = "flat in some direction";
        break;
      }
      said = "a saddle";
      fit.optimum.stop = Stop::stalled;
      fit.optimum.why = "a saddle";
      const double before = fit.optimum.cost;
      for (const double side : {1.0, -1.0}) {
        const Optimum found = climb(density, fit.optimum.x + side * way, climbing(progress));
        evaluations += found.evaluations;
        derivatives += found.derivatives;
        if (found.x.size() && found.cost < fit.optimum.cost) fit.optimum = found;
      }
      if (fit.optimum.cost < before) fit.hessian.resize(0, 0);
      if (!(fit.optimum.cost < before) || stopped) break;
    }
    if (fit.optimum.stop == Stop::converged || fit.optimum.stop == Stop::stalled) {
      const bool near = fit.optimum.distance_se <= options.converged_se && said != "a saddle";
      fit.optimum.stop = near ? Stop::converged : Stop::stalled;
    }
    note("curvature", fit.optimum, evaluations, derivatives, said);
  }
};

}  // namespace

BestFit best_fit(const TrialPosterior& posterior, const std::vector<double>& weights,
                 const BestFitOptions& options) {
  const InformedDensity density = posterior.informed(weights);
  Fitting work{posterior, weights, options, density, cost_of(density)};
  work.started_s = work.now();
  const Box box = box_of(posterior);
  work.from_starts(box);
  const bool none = work.fit.optimum.x.size() == 0;
  if (!none && !work.stopped && options.population) work.by_population(box);
  if (!none && !work.stopped) work.to_the_end();
  if (!none && !work.stopped) work.curvature();
  if (work.stopped && !none) work.fit.optimum.stop = Stop::cancelled;
  work.fit.finished = !work.stopped;
  return std::move(work.fit);
}

Optimum refit(const TrialPosterior& posterior, const std::vector<double>& weights,
              const Eigen::VectorXd& z_start) {
  const InformedDensity density = posterior.informed(weights);
  ScoringOptions options;
  options.distance_se = 5e-3;  // little against the spread of resampled fits
  return search(density, cost_of(density), z_start, options, {Method::slsqp});
}

std::string words(const Optimum& optimum, const std::vector<Unknown>& unknowns) {
  std::string said(words(optimum.stop));
  if (optimum.stop == Stop::stalled) said += " (" + std::string(optimum.why) + ")";
  for (const Bound bound : {Bound::lower, Bound::upper}) {
    std::string names;
    for (std::size_t j = 0; j < optimum.on_bound.size(); ++j) {
      if (optimum.on_bound[j] == bound) names += (names.empty() ? "" : ", ") + unknowns[j].name;
    }
    if (!names.empty())
      said += std::string("; on the ") + (bound == Bound::lower ? "lower" : "upper") + " bound: " + names;
  }
  return said;
}

}  // namespace stoverturn
