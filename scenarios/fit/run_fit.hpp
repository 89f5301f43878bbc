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
  std::vector<Profile> profiles;   ///< finished ones
  std::optional<SamplerState> sampler;
};

struct FitRunOptions {
  ForEach for_each = one_after_the_other;            ///< for simulations and profiles
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
