#pragma once
#include <algorithm>
#include <mutex>

#include "scenarios/fit/run_fit.hpp"
#include "scenarios/trial/model_comparison.hpp"

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
  double in_unit(std::size_t u, double z) const {
    const Unknown& unknown = posterior().unknowns()[u];
    return std::clamp(from_fit_scale(unknown.scale, z), unknown.lower, unknown.upper);
  }
  Between in_unit(std::size_t u, const Interval& i) const {
    return {in_unit(u, i.lower), in_unit(u, i.upper)};
  }
};

/// Profiles of what the plan asks for, each unknown on a thread of its own. A profile that meets a better fit
/// sends the search there, and the profiles are made anew, once.
void make_profiles(FitWork& work);

/// Writes profiles and their intervals into the result.
void tell_of_profiles(FitWork& work);

/// How the measured numbers answer to the unknowns at the best point, but for the sizes of errors.
struct Answers {
  std::vector<std::size_t> unknowns;  ///< by column
  Eigen::VectorXd unit;      ///< by column, on the fit scale: sd of the prior, or a sixth of the range
  Eigen::MatrixXd jacobian;  ///< observations, over their sd, x columns; empty where they cannot be had
};
Answers answers(const FitWork& work);

inline constexpr const char* ends_elsewhere =
    "Different starts ended as good but elsewhere: the data do not tell some parameters apart; hold one, "
    "give "
    "it a prior, or measure something else.";

/// Warnings of what cannot be told apart; they say more than `ends_elsewhere`.
void what_data_tell(FitWork& work, const Answers& answers);

/// Unknowns that move a predicted mass: by a hundredth of the error of a bag at least, when they themselves
/// move by a standard error, or by their unit where that is less or none is known.
MassUnknowns mass_unknowns(const FitWork& work, const Answers& answers);

/// Where walkers begin: about each of several optima in turn, which differ by `spread` at least and are of
/// similar cost; one column where there is but one.
Eigen::MatrixXd walker_start(const FitWork& work, const Eigen::VectorXd& spread);

void draw(FitWork& work);      ///< of the posterior, where its chains converge
void resample(FitWork& work);  ///< the bootstrap of bags
void posterior_intervals(FitWork& work);
/// Draws where no sampler gave any, from the curvature: bands then share its assumptions.
void draw_from_curvature(FitWork& work);

}  // namespace stoverturn
