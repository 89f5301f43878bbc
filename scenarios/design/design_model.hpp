#pragma once
#include "fitting/trial_design.hpp"
#include "scenarios/design/design_plan.hpp"
#include "scenarios/trial/fit_problem.hpp"

namespace stoverturn {

/// What bags of one kind lie where: pulled together on every pull.
struct DesignCell {
  std::size_t treatment = 0;         ///< of the scenario
  std::string component, placement;  ///< "": all of the treatment's residue together
};

/// A plan with its scenario read, and the numbers that its search needs.
struct DesignModel {
  Scenario scenario;
  Climates climates;
  std::vector<DesignCell> cells;
  std::vector<int> days;  ///< that bags may be pulled on, after they were laid out; grid first, then others
  std::size_t candidates = 0;  ///< days of the grid
  std::vector<Unknown> unknowns;
  std::vector<std::vector<FitTarget>> targets;  ///< by unknown
  Eigen::VectorXd mean, spread;                 ///< of the unknowns before the trial, on their fit scale
  std::vector<std::pair<std::size_t, std::size_t>>
      contrasts;           ///< unknowns of `one` and `other` of the difference
  Eigen::MatrixXd truths;  ///< unknowns x draws
  DesignProblem problem;
  /// By draw: what is left in a bag (cells x days), and its derivatives by unknown in rows cell by cell.
  std::vector<Eigen::MatrixXd> left;
  std::vector<Eigen::MatrixXd> slopes;
};

/// Runs the model at every draw. Throws InputError for names that are not there, estimates that no bag can
/// see, parameters without a spread, days beyond the run, and a budget that gives no pull.
DesignModel design_model(const DesignPlan& plan, Scenario scenario, Climates climates,
                         const ForEach& for_each);

/// What is measured over its sd, by `n` bags in every cell on these days; callable from any thread.
LeastSquares measured_by(const DesignPlan& plan, const DesignModel& model, const std::vector<int>& days,
                         int n);

/// Truths drawn from what is known before, unknowns x count; with a difference of a parameter laid on.
Eigen::MatrixXd drawn_truths(const DesignPlan& plan, const DesignModel& model, std::uint64_t seed, int count);

/// The difference of the parameter that is to be seen, on the fit scale; NaN where none is asked for.
double contrast_size(const DesignPlan& plan, const DesignModel& model);

}  // namespace stoverturn
