#pragma once
#include "fitting/minimise.hpp"

namespace stoverturn {

/// A cost that counts its evaluations, remembers the least and asks whether to go on.
struct MeteredCost {
  const Cost& cost;
  const KeepGoing& progress;
  double fraction = 0.0;  ///< told to `progress`
  int evaluations = 0;
  bool cancelled = false;
  double least = std::numeric_limits<double>::infinity();
  Eigen::VectorXd least_at = {};

  /// +infinity where the cost or its gradient is not finite.
  double operator()(const Eigen::VectorXd& x, Eigen::VectorXd* gradient);
};

struct Place {
  Eigen::VectorXd x;
  double cost = std::numeric_limits<double>::infinity();
  Eigen::VectorXd gradient;
};

/// The quadratic picture of a cost that a walk carries along.
struct Picture {
  Eigen::MatrixXd curvature;  ///< unknowns x unknowns; positive definite without the held one
  /// A direction along which the whole box changes the cost by less counts as bending so much.
  double least_change = 0.0;

  /// Corrects the curvature by what a step has shown: BFGS, damped so that it stays positive definite (Powell
  /// 1978, Lecture Notes in Mathematics 630, 144-157).
  void learn(const Place& from, const Place& to);
};

/// Second derivatives by central differences, steps a small share of a standard error, made positive
/// definite.
Picture picture_at(MeteredCost& cost, const Place& place, double least_change);
Picture picture_of(const Eigen::MatrixXd& second_derivatives, const Cost& cost, double least_change);

/// The step of all unknowns but `held` to the least of the quadratic with this gradient, within bounds.
struct HeldStep {
  Eigen::VectorXd step;  ///< 0 in `held`
  double gain = 0.0;     ///< of cost that the quadratic promises
};
HeldStep held_step(const Cost& cost, const Picture& picture, const Eigen::VectorXd& x,
                   const Eigen::VectorXd& gradient, std::size_t held);

struct HeldOptimum {
  Place place;  ///< cost is infinite where no start could be evaluated
  bool sure = false;
};

/// The least cost with one unknown held, from the first start that can be evaluated. Newton steps with
/// curvatures of the place, until they promise no more than `tolerance`; where they end early, two methods of
/// NLopt, and the value is called sure only when one of them has converged or both agree.
HeldOptimum search_held(MeteredCost& cost, Picture& picture, const std::vector<Eigen::VectorXd>& starts,
                        std::size_t held, double tolerance);

}  // namespace stoverturn
