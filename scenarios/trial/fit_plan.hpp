#pragma once
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fitting/trial_posterior.hpp"
#include "scenarios/text/document.hpp"
#include "scenarios/trial/fit_result.hpp"

/// A fit file as read: which data, which scenario, what to estimate. docs/file-formats.md lists its keys.
namespace stoverturn {

/// What an estimated parameter may differ between.
enum class VaryBy { nothing, treatment, component, site };

struct EstimatePlan {
  FitTarget target;  ///< its parameter; whose it is stands in `whose` until the scenario is known
  std::vector<std::string> whose;  ///< words after an @: components and treatments
  Unknown unknown;  ///< scale, bounds, start and prior from the parameter table where the file says nothing
  bool start_given = false;  ///< else the scenario's value is the start
  VaryBy vary_by = VaryBy::nothing;
  bool pooled = false;  ///< vary_by site: sites are drawn together by an estimated spread
  Position at;
};

/// How the errors of one measure are modelled.
struct ErrorPlan {
  Position at;
  bool absolute = true, proportional = false;  ///< estimated sizes; neither: the sd of the data
};

/// One trial: a file of data and the scenario whose treatments it names.
struct TrialSource {
  std::string site;  ///< "" when there is one only
  std::string data_file, scenario_file;
  Position at, scenario_at;  ///< of the names of the files
  double bulk_density_g_cm3 = not_there, soil_depth_mm = not_there;
  bool ash_free = false;           ///< masses are corrected to ash-free dry matter with the ash column
  double initial_ash = not_there;  ///< of the dry matter put in; NaN: as in the bags of day 0
  /// Bags of day 0 set what was there at the start, of their treatment, component and placement.
  bool start_from_handling = false;
  std::vector<Measure> measures;  ///< that count; empty: all, but no carbon beside mass
};

/// Which unknowns are profiled.
enum class ProfilesOf {
  none,
  model,  ///< parameters of the model
  all,    ///< sizes of errors, spreads and effects as well
};

struct FitPlan {
  std::string title, units = "si";
  std::vector<TrialSource> trials;
  std::vector<EstimatePlan> estimates;
  std::map<Measure, ErrorPlan> errors;
  Tail tail = Tail::normal;
  bool block_effects = false;
  double level = 0.9;
  std::uint64_t seed = 1;
  int starts = 8;
  bool population = true;  ///< a population search beside the several starts
  ProfilesOf profiles = ProfilesOf::model;
  std::int64_t draws = 50000;  ///< evaluations of the sampler; 0: none
  int resamples = 0;           ///< of the case bootstrap; 0: none
  std::vector<std::string> warnings;
};

/// True for a TOML text with what only fit files have: `estimate`, or `data` and `scenario`.
bool is_fit_plan(std::string_view text);

/// `overrides` are "path=value" texts of the command line, each the dotted path of a key ("methods.seed=7").
/// Throws InputError with all mistakes.
FitPlan read_fit_plan(std::string_view text, const std::string& name,
                      const std::vector<std::string>& overrides = {});

}  // namespace stoverturn
