#pragma once
#include <mutex>

#include "scenarios/fit/run_fit.hpp"

/// Parts of run_fit, for its own sources.
namespace stoverturn {

/// One fit under way.
struct FitWork {
  const FitPlan& plan;
  const std::vector<LoadedTrial>& trials;
  const FitRunOptions& options;
  FitProblem problem;
  FitState state = {};
  BestFit best = {};
  FitResult result = {};
  Eigen::MatrixXd draws = {};  ///< on the fit scale
  int resampled = 0;           ///< refits of the bootstrap
  std::int64_t sampled = 0;    ///< evaluations of the sampler after burn-in
  bool stopped = false;
  std::mutex one_at_a_time = {};  ///< for what several profiles do: tell, keep, add to the state

  const TrialPosterior& posterior() const { return *problem.posterior; }
  std::size_t unknowns() const { return posterior().unknowns().size(); }
  /// A parameter of the model, with its values of treatments, components and sites; not the size of an error,
  /// a spread or an effect.
  bool is_of_model(std::size_t unknown) const {
    return std::find(problem.model_unknowns.begin(), problem.model_unknowns.end(), unknown) !=
           problem.model_unknowns.end();
  }
  bool tell(std::string_view stage, double fraction) {
    if (!stopped && options.progress) stopped = !options.progress({stage, fraction, best.optimum.cost});
    return !stopped;
  }
  void keep() const {
    if (options.checkpoint) options.checkpoint(state);
  }
  double in_unit(std::size_t u, double z) const { return from_fit_scale(posterior().unknowns()[u].scale, z); }
  Between in_unit(std::size_t u, const Interval& i) const {
    return {in_unit(u, i.lower), in_unit(u, i.upper)};
  }
};

/// Profiles of what the plan asks for, each unknown on a thread of its own. A profile that meets a better fit
/// sends the search there, and the profiles are made anew, once.
void make_profiles(FitWork& work);

/// Writes profiles and their intervals into the result.
void tell_of_profiles(FitWork& work);

}  // namespace stoverturn
