#pragma once
#include "fitting/optimum.hpp"
#include "fitting/problem.hpp"

namespace stoverturn {

/// All that a search needs to go on where it was.
struct LeastSquaresState {
  Eigen::VectorXd x, scale;
  double damping = 0.0, damping_growth = 2.0;
  int evaluations = 0, derivatives = 0, iterations = 0;
};

struct LeastSquaresOptions {
  int most_iterations = 5000;  ///< steps tried, accepted or not
  double distance_se = 1e-7;   ///< aimed at; near what round-off allows
  /// Where round-off or an integrator's error ends the way earlier, this near still counts as converged.
  double converged_se = 1e-3;
  double first_damping = 1e-3;  ///< relative to the squared length of the Jacobian's columns
  KeepGoing progress;
  std::function<void(const LeastSquaresState&)> checkpoint;  ///< after each accepted step
  const LeastSquaresState* resume = nullptr;                 ///< go on from here; `start` is not used
};

struct LeastSquaresFit : Optimum {
  Eigen::VectorXd residuals;
  Eigen::MatrixXd jacobian;  ///< residuals x parameters, at x
};

/// Smallest sum of squares within bounds: Levenberg-Marquardt (Marquardt 1963, J. SIAM 11, 431-441) with the
/// scaling of Moré (1978, Lecture Notes in Mathematics 630, 105-116) and the damping of Nielsen (1999, IMM
/// report 1999-05, Technical University of Denmark), and the second-order correction of Transtrum and Sethna
/// (2012, arXiv:1201.5885), which follows the narrow curved valleys of correlated parameters. The first step
/// is no longer than the starting point is from zero. Every step solves the damped linear problem within the
/// bounds exactly, so that a parameter on a bound neither shortens the way of others nor fakes an end. A
/// trial point that cannot be evaluated, or gives a number that is not finite, is a bad step and damps.
/// `problem.evaluate` must give derivatives (`with_differences` adds them). std::invalid_argument where sizes
/// differ or a lower bound is above an upper one; a start outside the bounds is moved onto them.
LeastSquaresFit fit_least_squares(const LeastSquares& problem, const Eigen::VectorXd& start,
                                  const LeastSquaresOptions& options = {});

/// Distance of the optimum from x as Optimum::distance_se has it, from residuals and Jacobian at x.
double distance_in_se(const Eigen::VectorXd& x, const Eigen::VectorXd& residuals,
                      const Eigen::MatrixXd& jacobian, const Eigen::VectorXd& lower,
                      const Eigen::VectorXd& upper);

}  // namespace stoverturn
