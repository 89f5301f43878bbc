#pragma once
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/parameters.hpp"
#include "fitting/prior.hpp"
#include "scenarios/text/mistakes.hpp"
#include "scenarios/trial/trial_data.hpp"

namespace stoverturn {

/// Where an estimated parameter has a value of its own.
enum class Varies { shared, component, treatment, trial };
std::string_view to_string(Varies varies);

struct EstimatePlan {
  const ParameterRow* row = nullptr;
  Position at;
  Varies varies = Varies::shared;
  bool pooled = false;  ///< values of treatments or trials scatter about a common mean (partial pooling)
  std::vector<std::string> components;  ///< empty: all
  std::optional<Prior> prior;           ///< absent: uniform on the fit scale within the bounds
  double lower = 0.0, upper = 0.0;      ///< in the row's unit
};

/// What a trial field's measurements scatter by: sd^2 = absolute^2 + (proportional x value)^2.
struct ErrorPlan {
  std::size_t field = 0;
  bool absolute = true, proportional = false;  ///< which parts are estimated, where not given
  std::optional<double> given_absolute, given_proportional;
};

enum class AshChoice {
  as_weighed,  ///< nothing is done
  ash_free,    ///< ash of the bag and of what was put in are taken off
  soil         ///< soil that came along is taken off, by its ash content
};

struct BagsPlan {
  AshChoice ash = AshChoice::as_weighed;
  double initial_ash = not_weighed, soil_ash = not_weighed;
  bool start_at_day_0 = false;  ///< shares are of what day-0 bags held, not of what was put in
  TrialSoil soil;
};

struct FitTrial {
  std::string name;
  std::string data_file, scenario_file;
  Position data_at, scenario_at;
};

struct FitMethod {
  double level = 0.90;  ///< of intervals
  std::uint64_t seed = 1;
  int starts = 8;
  int draws = 1000;   ///< kept in the posterior
  int bootstrap = 0;  ///< resamples; 0: none
  bool profiles = true;
  bool posterior = true;
  bool robust = false;
};

struct FitPlan {
  std::string title;
  std::vector<FitTrial> trials;
  std::vector<EstimatePlan> estimates;
  std::vector<ErrorPlan> errors;
  BagsPlan bags;
  FitMethod method;
};

/// Reads a fit file. Throws InputError with all mistakes.
///
///     scenario = "trial.toml"
///     data = "bags.csv"
///     estimate = ["k_sol", "k_hol", "v_mm_d"]
FitPlan read_fit_plan(std::string_view text, const std::string& name,
                      const std::vector<std::string>& overrides = {});

}  // namespace stoverturn
