#pragma once
#include <cstdint>
#include <vector>

#include "fitting/problem.hpp"
#include "fitting/trial_model.hpp"

/// A trial before it is made: what its bags would tell, and when to pull them. All on the fit scale of the
/// unknowns (docs/statistics.md, Planning a trial).
namespace stoverturn {

struct DesignProblem {
  /// By draw of the truth, then by day on which bags may be pulled: the information (J'J, J over the sd of a
  /// bag) of one bag in every cell (treatment, placement, component); unknowns x unknowns.
  std::vector<std::vector<Eigen::MatrixXd>> information;
  Eigen::MatrixXd prior;  ///< precision before any bag; may leave directions open
};

/// Bags in every cell on each of these days.
struct Design {
  std::vector<std::size_t> days;  ///< indices into those of the problem, ascending
  int replicates = 1;
};

/// Expected covariance of the unknowns in one draw, (prior + information)^-1; empty where some direction
/// stays open.
Eigen::MatrixXd design_covariance(const DesignProblem& problem, const Design& design, std::size_t draw);

/// Mean over draws and unknowns of the logarithm of the expected standard deviation: exp(difference of two
/// scores) is how much wider intervals are, in the geometric mean. Infinite where a direction stays open.
double design_score(const DesignProblem& problem, const Design& design);

struct DesignSearch {
  Design design;
  double score = 0.0;
  int exchanges = 0;  ///< days that were exchanged for better ones
};

/// The best `count` of the first `candidates` days of the problem: from the design given, one day at a time
/// is exchanged for the one that lowers the score most, until none does (Fedorov 1972, Theory of Optimal
/// Experiments; Mitchell 1974, Technometrics 16, 203-210; from memory). Never worse than `start`. A local
/// search: no other exchange of one day helps.
DesignSearch best_days(const DesignProblem& problem, const Design& start, std::size_t candidates);

/// Invented trials, each fitted from its truth.
struct InventedFits {
  Eigen::MatrixXd truth, estimate;  ///< unknowns x trials
  std::vector<Eigen::MatrixXd>
      covariance;  ///< by trial; empty where the fit did not converge or some direction is open
};

/// `predicted` gives what is measured over its sd, and derivatives, from any thread. To each of its numbers a
/// standard normal error is added, drawn by (seed, trial); estimates also heed the prior, whose precision may
/// leave directions open. The same bits for any ForEach.
InventedFits fit_invented(const LeastSquares& predicted, const Eigen::VectorXd& prior_mean,
                          const Eigen::MatrixXd& prior, const Eigen::MatrixXd& truths, std::uint64_t seed,
                          const ForEach& for_each);

}  // namespace stoverturn
