#pragma once
#include <cstdint>

#include "fitting/optimum.hpp"
#include "fitting/problem.hpp"

namespace stoverturn {

/// What NLopt minimises. Both of the project's problems become one.
struct Cost {
  Eigen::VectorXd lower, upper;
  /// Value, and gradient where asked for; +infinity where it cannot be evaluated.
  std::function<double(const Eigen::VectorXd& x, Eigen::VectorXd* gradient)> evaluate;
  /// Optimum::distance_se at a point.
  std::function<double(const Eigen::VectorXd& x)> distance_se;
};
Cost cost_of(const LeastSquares& problem);  ///< half the sum of squares
Cost cost_of(const LogDensity& density);    ///< minus the log density

/// Second derivatives of a cost by central differences of its gradient, one-sided at bounds; an empty matrix
/// where a neighbour cannot be evaluated. `step` is relative to the parameter, or absolute near zero.
Eigen::MatrixXd second_derivatives(const Cost& cost, const Eigen::VectorXd& x, double step = 1e-5);

/// Optimum::distance_se of a cost: Newton's way to the optimum of its quadratic picture at x, within bounds,
/// measured by the curvature; +infinity where the curvature is not that of a minimum.
double newton_distance(const Eigen::VectorXd& x, const Eigen::VectorXd& gradient,
                       const Eigen::MatrixXd& hessian, const Eigen::VectorXd& lower,
                       const Eigen::VectorXd& upper);

/// Bounded local methods of NLopt 2.7 (https://nlopt.readthedocs.io, NLopt_Algorithms).
///   slsqp   sequential quadratic programming (Kraft 1994, ACM Trans. Math. Softw. 20, 262-281); derivatives
///   lbfgs   limited-memory quasi-Newton (Nocedal 1980, Math. Comp. 35, 773-782); derivatives
///   ccsa    conservative separable approximations (Svanberg 2002, SIAM J. Optim. 12, 555-573); derivatives
///   bobyqa  quadratic models without derivatives (Powell 2009, DAMTP 2009/NA06)
///   subplex a simplex in subspaces, without derivatives (Rowan 1990, thesis, University of Texas at Austin)
enum class Method { slsqp, lbfgs, ccsa, bobyqa, subplex };

struct MinimiseOptions {
  Method method = Method::slsqp;
  int most_evaluations = 5000;
  double cost_tolerance = 1e-12, x_tolerance = 1e-10;  ///< relative; where NLopt ends
  double converged_se = 1e-2;  ///< how near the optimum must be to be called converged
  KeepGoing progress;
};

/// Local search within bounds, begun anew from the best point while that gains something. Whatever NLopt says
/// at its end, `converged` is only what derivatives at the best point confirm; the rest is `stalled`. A point
/// that cannot be evaluated is given a cost above the worst, growing with its distance from the best, so that
/// a line search turns back. std::invalid_argument for wrong sizes or bounds.
Optimum minimise(const Cost& cost, const Eigen::VectorXd& start, const MinimiseOptions& options = {});

struct PopulationOptions {
  std::uint64_t seed = 1;
  int population = 0;  ///< 0: ten for each parameter and ten more
  int most_evaluations = 20000;
  double cost_tolerance = 1e-4;  ///< relative, at which the population has drawn together
  double converged_se = 1e-2;
  KeepGoing progress;
  /// Costs in the order they were asked for. The method asks for the same points again when it has the same
  /// seed and start, so a search that was stopped goes on, to the same bits, when given the costs it has
  /// seen.
  std::vector<double> seen;
  std::function<void(const std::vector<double>& costs)> checkpoint;  ///< every 100 evaluations and at the end
};

/// Global search by a population: controlled random search with local mutation (Kaelo and Ali 2006, J. Optim.
/// Theory Appl. 130, 253-264). Needs finite bounds (std::invalid_argument). It ends near an optimum: finish
/// with a local method. One search at a time in a thread: NLopt's random numbers belong to the thread.
Optimum minimise_by_population(const Cost& cost, const Eigen::VectorXd& start,
                               const PopulationOptions& options = {});

}  // namespace stoverturn
