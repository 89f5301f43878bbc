#pragma once
#include "scenarios/trial/daily_curves.hpp"
#include "scenarios/trial/fit_problem.hpp"

namespace stoverturn {

/// Every measured number beside its prediction.
std::vector<FitResidual> fit_residuals(const FitProblem& problem, const std::vector<LoadedTrial>& trials,
                                       const TrialPosterior::Predicted& predicted);

/// n, rmse, bias (predicted less observed) and efficiency (Nash and Sutcliffe 1970) of every curve.
std::vector<FitQuality> fit_quality(const FitProblem& problem, const TrialPosterior::Predicted& predicted);

/// Whether the model misses the means of bags pulled together by more than they scatter: the F test of lack
/// of fit (Fisher 1922, J. R. Stat. Soc. 85, 597-612, from memory) of single bags' masses, at 1 %.
struct LackOfFit {
  bool missed = false;
  double of_means = not_there;  ///< root mean square of means less predicted
  double of_bags = not_there;   ///< standard deviation of bags pulled together
  double F = not_there;         ///< NaN where no two bags were pulled together
};
LackOfFit lack_of_fit(const FitProblem& problem, const TrialPosterior::Predicted& predicted);

/// Daily curves with their bands at `level`.
std::vector<FitCurve> fit_curves(const FitProblem& problem, const DailyCurves& curves, double level);

}  // namespace stoverturn
