#pragma once
#include "fitting/best_fit.hpp"
#include "fitting/profile.hpp"
#include "fitting/sampler.hpp"
#include "scenarios/trial/fit_problem.hpp"
#include "scenarios/trial/fit_result.hpp"

namespace stoverturn {

/// What a fit tells while it runs.
struct FitProgress {
  std::string_view stage;  ///< "searching", "profiles", "draws", "resamples", "curves"
  double fraction = 0.0;   ///< of the stage
  double best_cost = not_there;
};

/// All that a fit needs to go on where it was stopped, to the same bits.
struct FitState {
  std::string inputs;  ///< checksum of what was fitted: another fit is not gone on with
  std::vector<Optimum> starts;
  std::vector<double> population;  ///< costs seen by the population search
  std::vector<Profile> profiles;   ///< those that came to an end, by unknown
  Eigen::VectorXd better;          ///< where a profile met a better fit, and the search went; empty: nowhere
  std::optional<SamplerState> sampler;
};

struct FitRunOptions {
  /// For simulations, profiles and resamples; results do not depend on it.
  ForEach for_each = one_after_the_other;
  /// Both are called by any thread, one at a time.
  std::function<bool(const FitProgress&)> progress;  ///< false: stop, keep what there is
  std::function<void(const FitState&)> checkpoint;   ///< after each step that took long
  const FitState* resume = nullptr;
};

/// The whole fit: search, curvature, what the data can tell, profiles, draws, resamples, curves, derived
/// quantities, comparison, methods. Stopped early, the result holds what was reached and says so.
FitResult run_fit(const FitPlan& plan, const std::vector<LoadedTrial>& trials,
                  const FitRunOptions& options = {});

/// A state as bytes (CBOR, RFC 8949) and back; std::runtime_error for bytes that are no state.
std::string to_bytes(const FitState& state);
FitState state_from_bytes(const std::string& bytes);

}  // namespace stoverturn
