#pragma once
#include "scenarios/trial/fit_problem.hpp"

namespace stoverturn {

/// Of the fitted model among those compared.
inline constexpr const char* this_model_name = "this model";

/// Predictions of every observation by a fit that gave each the weight; empty where that failed.
using WeightedPredictions = std::function<Eigen::VectorXd(const std::vector<double>& weights)>;

/// What of the unknowns, error sizes aside, counts when masses alone are judged.
struct MassUnknowns {
  int count = 0;
  std::vector<std::string> without;  ///< those that move no predicted mass: told by other measures
};

/// The fitted model beside the simple curves of decay_curves.hpp on the same masses, in calendar days and in
/// days at 25 C with water in plenty, one curve for each treatment and one for all. All are judged as least
/// squares of one error size, so that AICc and BIC compare. Prediction errors leave one treatment, or one
/// site, out at a time; a model with parameters of its own for what is left out has none, and says so.
/// `predicted`: by observation, of the fit to all. No `refit`: the model's own prediction errors are not
/// there. Empty where there are fewer than three masses.
std::vector<ComparedModel> compared_models(const FitProblem& problem, const Eigen::VectorXd& predicted,
                                           const MassUnknowns& unknowns, const WeightedPredictions& refit);

}  // namespace stoverturn
