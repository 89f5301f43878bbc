#pragma once
#include <functional>
#include <limits>
#include <string_view>
#include <vector>

#include <Eigen/Core>

namespace stoverturn {

/// Why a search for a best fit ended. Only `converged` is an optimum; all others carry the best point found.
enum class Stop {
  converged,  ///< derivatives say that no more than `distance_se` is left to go
  stalled,    ///< the method makes no more progress although derivatives say that there is more to gain
  evaluations_spent,  ///< the limit of evaluations or iterations came first
  cancelled,          ///< the progress callback asked for an end
  bad_start,          ///< the model cannot be evaluated at the starting point; there is no best point
};

enum class Bound { none, lower, upper };

/// Best point of one search.
struct Optimum {
  Eigen::VectorXd x;
  double cost =
      std::numeric_limits<double>::infinity();  ///< half the sum of squares, or minus the log density
  Stop stop = Stop::bad_start;
  std::string_view why;  ///< what ended the method, in words
  /// How far the optimum still is by first and second derivatives at x, in standard errors along the way that
  /// is left, with bounds respected: the relative offset of Bates and Watts (1981, Technometrics 23,
  /// 179-183).
  double distance_se = std::numeric_limits<double>::infinity();
  std::vector<Bound> on_bound;  ///< by parameter: which bound x lies on
  int evaluations = 0;          ///< of the cost
  int derivatives = 0;          ///< of its gradient or Jacobian
  int iterations = 0;
};

/// What a search tells while it runs. `best` lives as long as the call.
struct Progress {
  double best_cost = std::numeric_limits<double>::infinity();
  const Eigen::VectorXd* best = nullptr;  ///< nullptr: none yet
  int evaluations = 0;
  double fraction = 0.0;  ///< of the work that was allowed or planned, 0 to 1
};
/// Called after each iteration or evaluation, from the thread that searches. false: stop, keep the best so
/// far.
using KeepGoing = std::function<bool(const Progress&)>;

/// Which parameters of x lie on a bound.
std::vector<Bound> bounds_reached(const Eigen::VectorXd& x, const Eigen::VectorXd& lower,
                                  const Eigen::VectorXd& upper);

/// The nearest point within bounds.
Eigen::VectorXd within(const Eigen::VectorXd& x, const Eigen::VectorXd& lower, const Eigen::VectorXd& upper);

/// In words, for a table: "converged", "stalled: ..." .
std::string_view words(Stop stop);

}  // namespace stoverturn
