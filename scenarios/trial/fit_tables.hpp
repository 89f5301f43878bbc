#pragma once
#include "scenarios/trial/daily_curves.hpp"
#include "scenarios/trial/fit_problem.hpp"

namespace stoverturn {

/// Every measured number beside its prediction.
std::vector<FitResidual> fit_residuals(const FitProblem& problem, const std::vector<LoadedTrial>& trials,
                                       const TrialPosterior::Predicted& predicted);

/// n, rmse, bias (predicted less observed) and efficiency (Nash and Sutcliffe 1970) of every curve.
std::vector<FitQuality> fit_quality(const FitProblem& problem, const TrialPosterior::Predicted& predicted);

/// Daily curves with their bands at `level`.
std::vector<FitCurve> fit_curves(const FitProblem& problem, const DailyCurves& curves, double level);

}  // namespace stoverturn
