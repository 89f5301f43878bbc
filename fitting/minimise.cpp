#include "fitting/minimise.hpp"

#include <algorithm>
#include <cmath>
#include <exception>
#include <memory>
#include <stdexcept>

#include <nlopt.h>

namespace stoverturn {
namespace {

using Optimiser = std::unique_ptr<std::remove_pointer_t<nlopt_opt>, decltype(&nlopt_destroy)>;

void check(const Cost& cost, const Eigen::VectorXd& start) {
  if (start.size() == 0 || cost.lower.size() != start.size() || cost.upper.size() != start.size()) {
    throw std::invalid_argument("start and bounds must have one value for each parameter");
  }
  if ((cost.lower.array() > cost.upper.array()).any()) {
    throw std::invalid_argument("a lower bound is above its upper bound");
  }
}

/// Sizes that bring parameters onto one scale: the width between bounds, or the start's own size.
Eigen::VectorXd typical_sizes(const Cost& cost, const Eigen::VectorXd& start) {
  Eigen::VectorXd sizes(start.size());
  for (Eigen::Index j = 0; j < start.size(); ++j) {
    const double width = cost.upper[j] - cost.lower[j];
    sizes[j] = std::isfinite(width) && width > 0.0 ? width : std::max(std::abs(start[j]), 1e-3);
  }
  return sizes;
}

/// One search: NLopt's view of the cost, and what it has met.
struct Run {
  const Cost& cost;
  Eigen::VectorXd scale;  ///< x = scale u
  int most_evaluations;
  const KeepGoing& progress;
  std::vector<double>* record = nullptr;  ///< costs asked for so far, replayed first
  const std::function<void(const std::vector<double>&)>* checkpoint = nullptr;
  double unit = 1.0;  ///< NLopt sees cost/unit
  nlopt_opt optimiser = nullptr;
  Optimum best = {};
  double worst = -std::numeric_limits<double>::infinity();
  std::size_t asked = 0;
  std::exception_ptr thrown = {};

  double value(const Eigen::VectorXd& x, Eigen::VectorXd* gradient) {
    ++(gradient ? best.derivatives : best.evaluations);
    ++asked;
    if (record && asked <= record->size()) return (*record)[asked - 1];
    const double f = cost.evaluate(x, gradient);
    const bool good = std::isfinite(f) && (!gradient || gradient->allFinite());
    if (record) {
      record->push_back(good ? f : std::numeric_limits<double>::infinity());
      if (*checkpoint && record->size() % 100 == 0) (*checkpoint)(*record);
    }
    return good ? f : std::numeric_limits<double>::infinity();
  }

  double bad_value(const Eigen::VectorXd& x, Eigen::VectorXd* gradient) const {
    if (!best.x.size()) return 1e100;
    const double steep = 1.0 + std::abs(worst);
    const Eigen::VectorXd away = (x - best.x).cwiseQuotient(scale);
    if (gradient) *gradient = 2.0 * steep * away.cwiseQuotient(scale);
    return worst + steep * (1.0 + away.squaredNorm());
  }

  double operator()(const double* u, double* slope) {
    const Eigen::Index n = scale.size();
    const Eigen::VectorXd x =
        within(scale.cwiseProduct(Eigen::Map<const Eigen::VectorXd>(u, n)), cost.lower, cost.upper);
    Eigen::VectorXd gradient(n);
    Eigen::VectorXd* const wanted = slope ? &gradient : nullptr;
    double f = value(x, wanted);
    if (std::isfinite(f)) {
      worst = std::max(worst, f);
      if (f < best.cost) {
        best.cost = f;
        best.x = x;
      }
    } else {
      f = bad_value(x, wanted);
    }
    if (slope) Eigen::Map<Eigen::VectorXd>(slope, n) = gradient.cwiseProduct(scale) / unit;
    const int spent = best.evaluations + best.derivatives;
    if (progress && !progress({best.cost, best.x.size() ? &best.x : nullptr, spent,
                               std::min(1.0, static_cast<double>(asked) / most_evaluations)})) {
      nlopt_force_stop(optimiser);
    }
    return f / unit;
  }

  static double call(unsigned, const double* u, double* slope, void* self) {
    Run& run = *static_cast<Run*>(self);
    try {
      return run(u, slope);
    } catch (...) {  // not through C
      run.thrown = std::current_exception();
      nlopt_force_stop(run.optimiser);
      return 1e100;
    }
  }

  nlopt_result search(nlopt_algorithm algorithm, const Eigen::VectorXd& start,
                      const std::function<void(nlopt_opt)>& set) {
    const unsigned n = static_cast<unsigned>(start.size());
    const Optimiser owner(nlopt_create(algorithm, n), &nlopt_destroy);
    if (!owner) throw std::bad_alloc();
    optimiser = owner.get();
    const Eigen::VectorXd low = cost.lower.cwiseQuotient(scale), high = cost.upper.cwiseQuotient(scale);
    nlopt_set_lower_bounds(optimiser, low.data());
    nlopt_set_upper_bounds(optimiser, high.data());
    nlopt_set_min_objective(optimiser, &Run::call, this);
    nlopt_set_maxeval(optimiser, std::max(1, most_evaluations - static_cast<int>(asked)));
    set(optimiser);
    Eigen::VectorXd u =
        within(start, cost.lower, cost.upper).cwiseQuotient(scale).cwiseMax(low).cwiseMin(high);
    double f = 0.0;
    const nlopt_result said = nlopt_optimize(optimiser, u.data(), &f);
    if (thrown) std::rethrow_exception(thrown);
    return said;
  }
};

std::string_view words_of(nlopt_result said) {
  switch (said) {
    case NLOPT_FTOL_REACHED:
      return "relative change of the cost below its tolerance";
    case NLOPT_XTOL_REACHED:
      return "relative change of the parameters below its tolerance";
    case NLOPT_MAXEVAL_REACHED:
      return "limit of evaluations";
    case NLOPT_FORCED_STOP:
      return "stopped on request";
    case NLOPT_ROUNDOFF_LIMITED:
      return "round-off";
    case NLOPT_SUCCESS:
      return "the method's own test";
    default:
      return "the method gave up";
  }
}

Optimum judged(const Run& run, nlopt_result said, double converged_se) {
  Optimum best = run.best;
  best.why = words_of(said);
  best.iterations = static_cast<int>(run.asked);
  if (!best.x.size()) {
    best.stop = said == NLOPT_FORCED_STOP ? Stop::cancelled : Stop::bad_start;
    return best;
  }
  best.on_bound = bounds_reached(best.x, run.cost.lower, run.cost.upper);
  if (said == NLOPT_FORCED_STOP) {
    best.stop = Stop::cancelled;
    return best;
  }
  best.distance_se = run.cost.distance_se(best.x);
  best.stop = best.distance_se <= converged_se ? Stop::converged
              : said == NLOPT_MAXEVAL_REACHED  ? Stop::evaluations_spent
                                               : Stop::stalled;
  return best;
}

nlopt_algorithm algorithm_of(Method method) {
  switch (method) {
    case Method::slsqp:
      return NLOPT_LD_SLSQP;
    case Method::lbfgs:
      return NLOPT_LD_LBFGS;
    case Method::ccsa:
      return NLOPT_LD_CCSAQ;
    case Method::bobyqa:
      return NLOPT_LN_BOBYQA;
    case Method::subplex:
      return NLOPT_LN_SBPLX;
  }
  return NLOPT_LD_SLSQP;
}

}  // namespace

Optimum minimise(const Cost& cost, const Eigen::VectorXd& start, const MinimiseOptions& options) {
  check(cost, start);
  Run run{cost, typical_sizes(cost, start), options.most_evaluations, options.progress};
  const bool gradients = options.method != Method::bobyqa && options.method != Method::subplex;
  Eigen::VectorXd x = within(start, cost.lower, cost.upper), gradient(x.size());
  if (!std::isfinite(run.value(x, gradients ? &gradient : nullptr))) {
    run.best.why = "the model cannot be evaluated at the start";
    return run.best;
  }
  while (true) {
    // steepest descent, the first step of these methods, goes a tenth of the way between bounds
    if (gradients) run.unit = std::max(10.0 * gradient.cwiseProduct(run.scale).cwiseAbs().maxCoeff(), 1e-300);
    const double before = run.best.cost;
    const nlopt_result said = run.search(algorithm_of(options.method), x, [&](nlopt_opt optimiser) {
      nlopt_set_ftol_rel(optimiser, options.cost_tolerance);
      nlopt_set_xtol_rel(optimiser, options.x_tolerance);
    });
    Optimum found = judged(run, said, options.converged_se);
    const bool gained = run.best.x.size() > 0 && run.best.cost < before;
    if (found.stop != Stop::stalled || !gained) return found;
    x = run.best.x;  // a fresh start forgets a bad picture of the curvature
    if (gradients && !std::isfinite(run.value(x, &gradient))) return found;
  }
}

Optimum minimise_by_population(const Cost& cost, const Eigen::VectorXd& start,
                               const PopulationOptions& options) {
  check(cost, start);
  if (!cost.lower.allFinite() || !cost.upper.allFinite()) {
    throw std::invalid_argument("a population needs finite bounds");
  }
  std::vector<double> record = options.seen;
  Run run{cost,    typical_sizes(cost, start), options.most_evaluations, options.progress,
          &record, &options.checkpoint};
  nlopt_srand(static_cast<unsigned long>(options.seed));
  const int members = options.population > 0 ? options.population : 10 * static_cast<int>(start.size() + 1);
  const nlopt_result said = run.search(NLOPT_GN_CRS2_LM, start, [&](nlopt_opt optimiser) {
    nlopt_set_population(optimiser, static_cast<unsigned>(members));
    nlopt_set_ftol_rel(optimiser, options.cost_tolerance);
  });
  if (options.checkpoint) options.checkpoint(record);
  return judged(run, said, options.converged_se);
}

}  // namespace stoverturn
