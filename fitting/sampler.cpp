#include "fitting/sampler.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>

#include <boost/random/normal_distribution.hpp>
#include <boost/random/uniform_01.hpp>
#include <boost/random/uniform_int_distribution.hpp>

#include "engine/random_stream.hpp"
#include "fitting/moves.hpp"

namespace stoverturn {
namespace {

constexpr double nowhere = -std::numeric_limits<double>::infinity();
constexpr std::int64_t evaluations_between_checkpoints = 2000;

/// What does not change while a sampler runs.
struct Target {
  const LogDensities& densities;
  const Eigen::VectorXd &lower, &upper;

  Eigen::VectorXd at(const Eigen::MatrixXd& points) const;
};

/// Those within the bounds are evaluated close together: eight share a simulation.
Eigen::VectorXd Target::at(const Eigen::MatrixXd& points) const {
  std::vector<Eigen::Index> inside;
  for (Eigen::Index i = 0; i < points.cols(); ++i)
    if ((points.col(i).array() >= lower.array()).all() && (points.col(i).array() <= upper.array()).all())
      inside.push_back(i);
  Eigen::VectorXd result = Eigen::VectorXd::Constant(points.cols(), nowhere);
  if (inside.empty()) return result;
  Eigen::VectorXd values = Eigen::VectorXd::Constant(static_cast<Eigen::Index>(inside.size()), nowhere);
  densities(points(Eigen::all, inside), values);
  if (values.size() != static_cast<Eigen::Index>(inside.size()))
    throw std::invalid_argument("a sampler needs one density for each point");
  for (std::size_t k = 0; k < inside.size(); ++k) {
    const double value = values[static_cast<Eigen::Index>(k)];
    if (std::isfinite(value)) result[inside[k]] = value;
  }
  return result;
}

struct Plan {
  std::int64_t burn_in, steps, every;  ///< steps of every walker: thrown away, all, from one kept to the next
  std::int64_t kept_after(std::int64_t step) const {
    return std::min(std::max<std::int64_t>(step - burn_in, 0) / every, (steps - burn_in) / every);
  }
};

Plan plan_of(const SamplerOptions& options, std::int64_t walkers) {
  if (!(options.burn_in >= 0.0 && options.burn_in < 1.0) || options.draws < walkers ||
      options.most_kept < walkers) {
    throw std::invalid_argument("a sampler needs a burn-in from 0 to below 1, and a draw of each walker");
  }
  const std::int64_t after = (options.draws + walkers - 1) / walkers;
  const double burn_in = static_cast<double>(after) * options.burn_in / (1.0 - options.burn_in);
  Plan plan{static_cast<std::int64_t>(std::ceil(burn_in)), 0, 0};
  plan.steps = plan.burn_in + after;
  const std::int64_t most = options.most_kept / walkers;
  plan.every = (after + most - 1) / most;
  return plan;
}

Eigen::Index number_of_walkers(const Eigen::MatrixXd& start, const SamplerOptions& options) {
  if (start.cols() > 1) {
    if (options.walkers != 0 && options.walkers != start.cols())
      throw std::invalid_argument("a sampler needs one start for each walker");
    return start.cols();
  }
  if (options.walkers != 0) return options.walkers;
  return (std::max<Eigen::Index>(4 * start.rows(), 24) + 15) / 16 * 16;
}

Eigen::Index checked_walkers(const Eigen::MatrixXd& start, const Eigen::VectorXd& spread,
                             const Eigen::VectorXd& lower, const Eigen::VectorXd& upper,
                             const SamplerOptions& options) {
  const Eigen::Index n = start.rows();
  if (n == 0 || start.cols() == 0 || !start.allFinite() || lower.size() != n || upper.size() != n ||
      !(lower.array() < upper.array()).all())
    throw std::invalid_argument("a sampler needs a start and bounds with room between them");
  if (start.cols() == 1 && (spread.size() != n || !(spread.array() > 0.0).all() || !spread.allFinite()))
    throw std::invalid_argument("a sampler needs a deviation of the start for each unknown");
  const Eigen::Index walkers = number_of_walkers(start, options);
  if (walkers % 2 != 0 || walkers <= 2 * n || walkers < 8)
    throw std::invalid_argument("a sampler needs eight or more walkers, even, more than twice the unknowns");
  return walkers;
}

/// A normal number about x, within the bounds; between x and a bound where that is too rare.
double about(double x, double deviation, double lower, double upper, RandomStream& stream) {
  boost::random::normal_distribution<double> normal(0.0, deviation);
  x = std::clamp(x, lower, upper);
  double y = x;
  for (int tries = 0; tries < 100; ++tries) {
    y = x + normal(stream);
    if (y >= lower && y <= upper) return y;
  }
  return x + boost::random::uniform_01<double>()(stream) * (std::clamp(y, lower, upper) - x);
}

Eigen::MatrixXd places(const Eigen::MatrixXd& start, const Eigen::VectorXd& spread, const Target& target,
                       Eigen::Index walkers, std::uint64_t seed) {
  if (start.cols() > 1) return start;
  RandomStream stream = random_stream(seed, "walkers", 0);
  Eigen::MatrixXd result(start.rows(), walkers);
  for (Eigen::Index w = 0; w < walkers; ++w)
    for (Eigen::Index j = 0; j < start.rows(); ++j)
      result(j, w) = about(start(j, 0), spread[j], target.lower[j], target.upper[j], stream);
  return result;
}

SamplerState begin(const Eigen::MatrixXd& start, const Eigen::VectorXd& spread, const Target& target,
                   Eigen::Index walkers, std::uint64_t seed) {
  SamplerState state;
  state.walkers = places(start, spread, target, walkers, seed);
  state.density = target.at(state.walkers);
  std::vector<Eigen::Index> good;
  for (Eigen::Index w = 0; w < walkers; ++w)
    if (std::isfinite(state.density[w])) good.push_back(w);
  if (2 * good.size() < static_cast<std::size_t>(walkers))
    throw std::invalid_argument("fewer than half of the walkers can be evaluated at their start");
  std::size_t next = 0;
  for (Eigen::Index w = 0; w < walkers; ++w) {
    if (std::isfinite(state.density[w])) continue;
    const Eigen::Index other = good[next++];
    state.walkers.col(w) = state.walkers.col(other);
    state.density[w] = state.density[other];
  }
  return state;
}

SamplerState resumed(const SamplerState& state, Eigen::Index unknowns, Eigen::Index walkers,
                     const Plan& plan) {
  const std::int64_t kept = plan.kept_after(state.step) * walkers;
  if (state.walkers.rows() != unknowns || state.walkers.cols() != walkers ||
      state.density.size() != walkers || state.step < 0 || state.step > plan.steps ||
      state.kept.cols() != kept || state.kept_density.size() != kept ||
      (kept > 0 && state.kept.rows() != unknowns))
    throw std::invalid_argument("the sampler to resume had other unknowns, walkers or numbers of draws");
  return state;
}

/// Every walker of a half is offered one move.
void move_half(SamplerState& state, bool second, const Target& target, RandomStream& stream) {
  const Eigen::Index half = state.walkers.cols() / 2;
  const Eigen::Index first = second ? half : 0;
  const Offers offers =
      offers_to(state.walkers.middleCols(first, half), state.walkers.middleCols(half - first, half), stream);
  const Eigen::VectorXd density = target.at(offers.points);
  boost::random::uniform_01<double> uniform;
  for (Eigen::Index i = 0; i < half; ++i) {
    const double luck = std::log(uniform(stream));
    if (!(luck < offers.log_ratio[i] + density[i] - state.density[first + i])) continue;
    state.walkers.col(first + i) = offers.points.col(i);
    state.density[first + i] = density[i];
    ++state.accepted;
  }
  state.offered += half;
}

/// A step of every walker, its draws into `state.kept` where they are due.
void take_step(SamplerState& state, const Plan& plan, const Target& target, std::uint64_t seed) {
  if (state.step == plan.burn_in) state.offered = state.accepted = 0;
  RandomStream stream = random_stream(seed, "moves", static_cast<std::uint64_t>(state.step));
  for (const bool second : {false, true}) move_half(state, second, target, stream);
  const std::int64_t before = plan.kept_after(state.step);
  ++state.step;
  if (plan.kept_after(state.step) == before) return;
  const Eigen::Index walkers = state.walkers.cols();
  state.kept.middleCols(before * walkers, walkers) = state.walkers;
  state.kept_density.segment(before * walkers, walkers) = state.density;
}

double acceptance(const SamplerState& state) {
  return state.offered > 0 ? static_cast<double>(state.accepted) / static_cast<double>(state.offered) : 0.0;
}

/// While a sampler runs, `kept` has room for all draws; outside it has those that are there.
void resize_kept(SamplerState& state, std::int64_t steps) {
  const Eigen::Index draws = steps * state.walkers.cols();
  state.kept.conservativeResize(state.walkers.rows(), draws);
  state.kept_density.conservativeResize(draws);
}

}  // namespace

Chains sample(const LogDensities& densities, const Eigen::MatrixXd& start, const Eigen::VectorXd& spread,
              const Eigen::VectorXd& lower, const Eigen::VectorXd& upper, const SamplerOptions& options) {
  const Eigen::Index walkers = checked_walkers(start, spread, lower, upper, options);
  const Plan plan = plan_of(options, walkers);
  const Target target{densities, lower, upper};
  SamplerState state = options.resume ? resumed(*options.resume, start.rows(), walkers, plan)
                                      : begin(start, spread, target, walkers, options.seed);
  const auto checkpoint = [&] {
    if (!options.checkpoint) return;
    resize_kept(state, plan.kept_after(state.step));
    options.checkpoint(state);
  };
  const std::int64_t steps_between = (evaluations_between_checkpoints + walkers - 1) / walkers;
  double best = state.density.maxCoeff();
  bool go_on = true;
  while (go_on && state.step < plan.steps) {
    resize_kept(state, plan.kept_after(plan.steps));
    take_step(state, plan, target, options.seed);
    best = std::max(best, state.density.maxCoeff());
    const double fraction = static_cast<double>(state.step) / static_cast<double>(plan.steps);
    if (options.progress) go_on = options.progress({fraction, acceptance(state), best});
    if (go_on && state.step % steps_between == 0 && state.step < plan.steps) checkpoint();
  }
  resize_kept(state, plan.kept_after(state.step));
  checkpoint();
  Chains chains;
  chains.walkers = static_cast<int>(walkers);
  chains.steps = static_cast<int>(plan.kept_after(state.step));
  chains.acceptance = acceptance(state);
  chains.evaluations = walkers * (state.step + 1);
  chains.finished = state.step == plan.steps;
  chains.draws = std::move(state.kept);
  chains.density = std::move(state.kept_density);
  return chains;
}

}  // namespace stoverturn
