#pragma once
#include <string>

#include "fitting/covariance.hpp"
#include "fitting/multi_start.hpp"
#include "fitting/trial_posterior.hpp"

namespace stoverturn {

struct BestFitOptions {
  int starts = 8;
  bool population = true;
  std::uint64_t seed = 1;
  int most_iterations = 200;       ///< of each local search
  int population_evaluations = 0;  ///< 0: forty for each unknown and forty more
  double converged_se = 1e-2;      ///< how near the optimum must be to be called converged
  KeepGoing progress;
  std::function<double()> clock;  ///< seconds, for SearchStage::seconds; none: these stay 0
  /// What an earlier call, stopped, had done: it is not repeated, and the end is the same to the bit.
  std::vector<Optimum> done;                                           ///< as MultiStartOptions::done
  std::vector<double> seen;                                            ///< as PopulationOptions::seen
  std::function<void(const std::vector<Optimum>&)> checkpoint_starts;  ///< after each start
  std::function<void(const std::vector<double>&)> checkpoint_population;
};

struct SearchStage {
  std::string name;   ///< "starts", "population", "finish", "curvature"
  std::string words;  ///< how it ended, for a reader
  Stop stop = Stop::bad_start;
  int evaluations = 0, derivatives = 0;
  double seconds = 0.0;
};

/// The most probable point of a trial's unknowns. All points are on the fit scale.
struct BestFit {
  Optimum optimum;  ///< cost: minus the log density; distance_se by second derivatives where there are some
  MultiStart starts;
  Optimum population;  ///< best.x empty where none was asked for
  Optimum finish;
  /// Of all unknowns, from second derivatives of the density: differences of its gradient over a twentieth of
  /// a standard error. Where a neighbour cannot be evaluated, from the information expected.
  Covariance covariance;
  bool from_second_derivatives = false;
  Eigen::MatrixXd hessian;  ///< of the cost at the optimum; empty where it could not be had
  std::vector<SearchStage> stages;
  bool finished = false;  ///< not stopped on request
};

/// Looks for the most probable point:
///   starts      `climb` from the start and from points spread over the box (the bounds, or the central 90 %
///   of
///               a normal prior), error sizes first fitted to what each start leaves; where it does not
///               converge, sequential quadratic programming goes on
///   population  controlled random search within the box from the best so far, short: it may find another
///               valley
///   finish      `climb` from the best to a hundredth of the usual distance; a second method where it stalls
///   curvature   second derivatives; where they are those of a saddle, down from there on both sides and
///   again
/// `weights` as in TrialPosterior::density. A point whose simulation fails is a bad point. Same seed, same
/// bits.
BestFit best_fit(const TrialPosterior& posterior, const std::vector<double>& weights,
                 const BestFitOptions& options = {});

/// The optimum near one that is known, for data that differ little (bootstrap, one case left out): one climb,
/// a second method where it stalls. From several threads at once where the model allows it.
Optimum refit(const TrialPosterior& posterior, const std::vector<double>& weights,
              const Eigen::VectorXd& z_start);

/// How a search ended, in words: what stopped it, and unknowns that lie on a bound.
std::string words(const Optimum& optimum, const std::vector<Unknown>& unknowns);

}  // namespace stoverturn
