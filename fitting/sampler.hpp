#pragma once
#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include <Eigen/Core>

namespace stoverturn {

/// Log densities of many points (columns); -infinity where one is not defined.
using LogDensities = std::function<void(const Eigen::MatrixXd& points, Eigen::VectorXd& values)>;

/// All that a sampler needs to go on where it was, to the same bits.
struct SamplerState {
  Eigen::MatrixXd walkers;  ///< unknowns x walkers
  Eigen::VectorXd density;  ///< by walker
  std::int64_t step = 0;    ///< steps of every walker so far, burn-in included
  std::int64_t offered = 0, accepted = 0;
  Eigen::MatrixXd kept;  ///< as Chains::draws
  Eigen::VectorXd kept_density;
};

struct SamplerProgress {
  double fraction = 0.0;  ///< of the steps planned
  double acceptance = 0.0, best_density = 0.0;
};

struct SamplerOptions {
  std::int64_t draws = 50000;  ///< evaluations after burn-in: walkers x steps
  double burn_in = 0.25;       ///< share of all steps that is thrown away
  int walkers = 0;  ///< 0: four for each unknown, at least 24; a multiple of 16, so that halves fill lanes
  std::int64_t most_kept = 20000;  ///< thinned evenly to no more draws than this
  std::uint64_t seed = 1;
  std::function<bool(const SamplerProgress&)> progress;  ///< false: stop, keep what there is
  std::function<void(const SamplerState&)> checkpoint;   ///< now and then, and at the end
  const SamplerState* resume = nullptr;
};

/// Draws of the walkers, step by step: column s * walkers + w is walker w at kept step s.
struct Chains {
  int walkers = 0, steps = 0;  ///< steps kept of each walker
  Eigen::MatrixXd draws;       ///< unknowns x (walkers * steps)
  Eigen::VectorXd density;     ///< log density by draw
  double acceptance = 0.0;
  std::int64_t evaluations = 0;
  bool finished = false;
};

/// Draws from a density of correlated unknowns by an ensemble of walkers that move along each other's
/// differences: the differential evolution sampler of ter Braak (2006, Statistics and Computing 16, 239-249)
/// with snooker moves (ter Braak and Vrugt 2008, same journal 18, 435-446), in two halves that move in turn
/// (Foreman-Mackey et al. 2013, PASP 125, 306-312), so that each half is one call of `densities`. Walkers
/// begin at `start` (unknowns x walkers) or, where it has one column, about it with the deviations `spread`,
/// within the bounds. Same seed and start: the same bits, whatever the threads. std::invalid_argument where
/// sizes differ or fewer than half the walkers can be evaluated at their start.
Chains sample(const LogDensities& densities, const Eigen::MatrixXd& start, const Eigen::VectorXd& spread,
              const Eigen::VectorXd& lower, const Eigen::VectorXd& upper, const SamplerOptions& options = {});

/// What chains are worth, by unknown.
struct ChainReport {
  Eigen::VectorXd rhat;  ///< rank-normalised split R-hat (Vehtari et al. 2021, Bayesian Analysis 16)
  Eigen::VectorXd ess_bulk, ess_tail;  ///< effective numbers of draws (same), autocorrelation of the walkers
  bool converged = false;
  /// Why not, in words with the numbers; "" when converged.
  std::string why;
};
/// Converged: every R-hat below 1.01 + slack for few draws (at most 1.05), every effective number above 400
/// (docs/statistics.md says why), acceptance between 5 and 95 %. Unconverged chains are no posterior.
ChainReport judge(const Chains& chains);

}  // namespace stoverturn
