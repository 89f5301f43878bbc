#pragma once
/// What tests of recovery share: data of a known truth, and draws with intervals of 90 %.
#include <algorithm>

#include <Eigen/LU>

#include "fitting/best_fit.hpp"
#include "fitting/normal_draws.hpp"
#include "fitting/sampler.hpp"
#include "tests/small_trials.hpp"

namespace stoverturn {

inline constexpr double level = 0.9;

/// Puts into the bags what `z` and chance say.
inline void fill(std::vector<Observation>& bags, const TrialPosterior& posterior, const Eigen::VectorXd& z,
                 std::uint64_t seed) {
  const auto predicted = posterior.predicted(z);
  if (!predicted) throw std::runtime_error("the truth cannot be run");
  RandomStream stream = random_stream(seed, "errors of a trial", 0);
  boost::random::normal_distribution<double> normal;
  for (std::size_t i = 0; i < bags.size(); ++i) {
    const Eigen::Index r = static_cast<Eigen::Index>(i);
    bags[i].value = predicted->value[r] + predicted->sd[r] * normal(stream);
  }
}

/// Draws that `judge` accepts. Where it refuses, twice as many, once; then none: the trial counts as lost.
struct Drawn {
  Eigen::MatrixXd draws;
  bool again = false;
};
inline Drawn judged_draws(const TrialPosterior& posterior, std::uint64_t seed, std::int64_t draws,
                          int walkers) {
  const Optimum best = refit(posterior, {}, posterior.start());
  Drawn result;
  if (best.stop == Stop::bad_start) return result;
  Eigen::VectorXd score;
  Eigen::MatrixXd root;
  posterior.informed().evaluate(best.x, &score, &root);
  const Eigen::MatrixXd information = root.transpose() * root;
  SamplerOptions options;
  options.seed = seed;
  options.burn_in = 0.1;  // walkers begin about where they belong
  const LogDensities densities = [&](const Eigen::MatrixXd& z, Eigen::VectorXd& v) {
    posterior.log_densities(z, v);
  };
  const Eigen::MatrixXd start =
      normal_draws(best.x, information.inverse(), posterior.lower(), posterior.upper(), seed, walkers);
  if (start.cols() < walkers) return result;
  for (const int times : {1, 2}) {
    result.again = times > 1;
    options.draws = times * draws;
    const Chains chains = sample(densities, start, {}, posterior.lower(), posterior.upper(), options);
    if (judge(chains).converged) {
      result.draws = chains.draws;
      return result;
    }
  }
  return result;
}

/// The middle of draws that holds `level` of them.
inline Interval central(const Eigen::RowVectorXd& draws) {
  std::vector<double> sorted(draws.begin(), draws.end());
  std::sort(sorted.begin(), sorted.end());
  const auto at = [&](double p) {
    return sorted[static_cast<std::size_t>(p * static_cast<double>(sorted.size() - 1) + 0.5)];
  };
  return {at(0.5 * (1.0 - level)), at(0.5 * (1.0 + level))};
}

inline bool holds(const Interval& interval, double z) { return interval.lower <= z && z <= interval.upper; }

}  // namespace stoverturn
