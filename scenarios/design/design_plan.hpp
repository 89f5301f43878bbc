#pragma once
#include "scenarios/trial/fit_plan.hpp"

/// The plan of a trial as read, before any bag is filled. docs/file-formats.md lists its keys.
namespace stoverturn {

/// A difference between two treatments that the trial is to show.
struct PlannedDifference {
  std::string one, other;        ///< keys of treatments
  double mass = not_there;       ///< in mass left, of what was put in; NaN: not asked
  int after_d = -1;              ///< on that day; -1: the last pull
  std::string parameter;         ///< "": not asked
  double parameter_share = 0.2;  ///< by which the parameter of `one` is larger
  Position at;
};

struct DesignPlan {
  std::string title, units = "si", name;
  FitPlan fit;  ///< estimates, and one trial that names the scenario; errors as stated
  std::vector<std::string> treatments, components,
      placements;  ///< empty: all treatments; residue taken together
  int bags = 0;
  int replicates = 0;  ///< 0: those that do best, at least `least_replicates`
  int handling = 0;    ///< bags a cell that are carried out and back on day 0
  double bag_mass_g = 20.0, weighing_g = 0.1, between_bags = 0.04;
  int every_d = 14, first_d = 14, last_d = 0;  ///< 0: at most 540 days, within the run
  std::vector<int> pulls;                      ///< own days to compare with; empty: none
  bool keep_pulls = false;                     ///< own days are checked and labelled, not the best
  int draws = 32, trials = 100;
  std::uint64_t seed = 1;
  double level = 0.9;
  std::optional<PlannedDifference> difference;
  Position at;  ///< of [trial]

  static constexpr int least_replicates = 3, most_replicates = 8, usual_last_d = 540, most_pulls = 20;
  /// Standard deviation of a bag, of what was put in.
  double sd() const;
};

/// True for a TOML text with a table [trial].
bool is_design_plan(std::string_view text);

/// Throws InputError with all mistakes. `overrides` are "path=value" texts ("trial.bags=120").
DesignPlan read_design_plan(std::string_view text, const std::string& name,
                            const std::vector<std::string>& overrides = {});

}  // namespace stoverturn
