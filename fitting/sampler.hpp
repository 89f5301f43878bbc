#pragma once
#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include <Eigen/Core>

namespace stoverturn {

/// Log densities of many points (columns); -infinity where one is not defined.
using LogDensities = std::function<void(const Eigen::MatrixXd& points, Eigen::VectorXd& values)>;

/// All that a sampler needs to go on where it was, to the same bits; seed and options must be the same.
struct SamplerState {
  Eigen::MatrixXd walkers;                 ///< unknowns x walkers
  Eigen::VectorXd density;                 ///< by walker
  std::int64_t step = 0;                   ///< steps of every walker so far, burn-in included
  std::int64_t offered = 0, accepted = 0;  ///< moves; once burn-in has ended, those since
  Eigen::MatrixXd kept;                    ///< as Chains::draws
  Eigen::VectorXd kept_density;
};

struct SamplerProgress {
  double fraction = 0.0;  ///< of the steps planned
  double acceptance = 0.0, best_density = 0.0;
};

struct SamplerOptions {
  std::int64_t draws = 50000;  ///< evaluations after burn-in: walkers x steps
  double burn_in = 0.25;       ///< share of all steps that is thrown away
  /// 0: as many as `start` has columns, or four for each unknown, at least 24, rounded up to a multiple of 16
  /// so that halves fill lanes. Even, and more than twice as many as unknowns.
  int walkers = 0;
  std::int64_t most_kept = 20000;  ///< thinned evenly to no more draws than this
  std::uint64_t seed = 1;
  std::function<bool(const SamplerProgress&)> progress;  ///< false: stop, keep what there is
  std::function<void(const SamplerState&)> checkpoint;   ///< every 2000 evaluations or so, and at the end
  const SamplerState* resume = nullptr;
};

/// Draws of the walkers, step by step: column s * walkers + w is walker w at kept step s.
struct Chains {
  int walkers = 0, steps = 0;    ///< steps kept of each walker
  Eigen::MatrixXd draws;         ///< unknowns x (walkers * steps)
  Eigen::VectorXd density;       ///< log density by draw
  double acceptance = 0.0;       ///< share of moves after burn-in that were taken
  std::int64_t evaluations = 0;  ///< points offered, burn-in and those outside the bounds included
  bool finished = false;
};

/// Draws from a density of correlated unknowns by an ensemble of walkers that move along each other's
/// differences: the differential evolution sampler of ter Braak (2006, Statistics and Computing 16, 239-249)
/// with snooker moves (ter Braak and Vrugt 2008, same journal 18, 435-446), in two halves that move in turn
/// (Foreman-Mackey et al. 2013, PASP 125, 306-312), so that each half is one call of `densities`. Walkers
/// begin at `start` (unknowns x walkers) or, where it has one column, about it with the deviations `spread`,
/// within the bounds. Points outside the bounds have no density and are not evaluated. Walkers that cannot be
/// evaluated at their start begin where another does. Same seed and start: the same bits, whatever the
/// threads. std::invalid_argument where sizes differ, bounds leave no room, `resume` does not belong to the
/// options, or fewer than half the walkers can be evaluated at their start.
Chains sample(const LogDensities& densities, const Eigen::MatrixXd& start, const Eigen::VectorXd& spread,
              const Eigen::VectorXd& lower, const Eigen::VectorXd& upper, const SamplerOptions& options = {});

/// What chains are worth, by unknown. NaN where an unknown never moved.
struct ChainReport {
  /// Rank-normalised split R-hat (Vehtari et al. 2021, Bayesian Analysis 16, 667-718), the larger of bulk and
  /// folded, between four groups of walkers and the two halves of the run.
  Eigen::VectorXd rhat;
  Eigen::VectorXd ess_bulk, ess_tail;  ///< effective numbers of draws (same), each walker a sequence
  bool converged = false;
  /// Why not, in words with the numbers; "" when converged.
  std::string why;
};
/// Converged: every R-hat below 1.01 + 12 / (effective draws), at most 1.05; every effective number above 400
/// and above ten for each walker; acceptance between 5 and 95 %; no walker that stood still for half of the
/// draws; every density finite (docs/statistics.md, Draws, says why). Unconverged chains are no posterior.
/// `names` are those of the unknowns in `why`; empty: numbered from 1. std::invalid_argument where sizes
/// differ.
ChainReport judge(const Chains& chains, const std::vector<std::string>& names = {});

}  // namespace stoverturn
