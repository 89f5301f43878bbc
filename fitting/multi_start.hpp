#pragma once
#include <cstdint>

#include "fitting/optimum.hpp"

namespace stoverturn {

/// `count` starting points: `first` (a default or a guess), then points spread evenly over the box from
/// `from` to `to` by Sobol's sequence (1967, USSR Comp. Math. 7, 86-112), turned by a random shift so that
/// each seed gives others. std::invalid_argument where the box is not finite.
std::vector<Eigen::VectorXd> start_points(const Eigen::VectorXd& first, const Eigen::VectorXd& from,
                                          const Eigen::VectorXd& to, std::size_t count, std::uint64_t seed);

/// One local search from a start. The callback tells of evaluations since that start.
using LocalSearch = std::function<Optimum(const Eigen::VectorXd& start, const KeepGoing& progress)>;

struct MultiStartOptions {
  /// Costs that differ by less are the same optimum: in units of log likelihood, or relative, whichever is
  /// more.
  double same_cost = 1e-3, same_relative = 1e-7;
  /// Parameters that differ by less are at the same place: share of the spread of the starts.
  double same_place = 1e-3;
  KeepGoing progress;
  std::function<void(const std::vector<Optimum>& runs)> checkpoint;  ///< after each start
  std::vector<Optimum> done;  ///< runs of an earlier search with the same starts: not repeated
};

/// Outcome of searches from several starts.
struct MultiStart {
  Optimum best;               ///< of the runs that ended, converged ones first among equals
  std::vector<Optimum> runs;  ///< by start; fewer than starts where the search was stopped
  int converged = 0;          ///< runs that converged, anywhere
  int same_cost = 0;          ///< runs as good as the best
  int same_place = 0;         ///< of these, runs that ended where the best is; fewer: a ridge of equal fits
  int failed = 0;             ///< runs whose start could not be evaluated
  bool finished = false;      ///< all starts were tried
};

/// Searches from each start in turn, so that results do not depend on threads. A failed start is counted, no
/// more.
MultiStart search_from(const std::vector<Eigen::VectorXd>& starts, const LocalSearch& search,
                       const MultiStartOptions& options = {});

}  // namespace stoverturn
