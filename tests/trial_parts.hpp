#pragma once
/// A small invented trial for tests: jars at constant conditions, so that no weather is needed.
#include "scenarios/text/calendar.hpp"
#include "scenarios/trial/fit_problem.hpp"

namespace stoverturn {

/// Stalks and leaves, half on the surface and half buried; two treatments and one without data.
inline const std::string small_scenario =
    "duration = \"200 d\"\n"
    "[conditions]\ntemperature = \"20 C\"\n"
    "[harvest]\ndate = 2027-10-20\nresidue = \"4 t/ha\"\nmaterial = \"own\"\n"
    "placement = { surface = \"50 %\", buried = \"50 %\" }\n"
    "[component]\n"
    "stalk = { mass_share = 0.75, nitrogen = 0.006, cut_length = \"8 cm\" }\n"
    "leaf = { mass_share = 0.25, nitrogen = 0.010, shape = \"sheet\" }\n"
    "[treatment.closed]\nlabel = \"closed long\"\n"
    "[treatment.opened]\ncomponent.stalk.entry_spacing = \"2 cm\"\n"
    "[treatment.idle]\nlabel = \"without bags\"\n";

inline LoadedTrial small_trial(const std::string& data, const FitPlan& plan,
                               const std::string& scenario = small_scenario, std::size_t index = 0) {
  LoadedTrial trial{plan.trials[index], read_scenario(scenario, "trial.toml", {}), {}, {}};
  const TrialSource& source = trial.source;
  trial.data = read_trial_data(data, source.data_file, treatment_names(trial.scenario),
                               {source.bulk_density_g_cm3, source.soil_depth_mm});
  return trial;
}

inline FitPlan plan_of(const std::string& rest, const std::string& data_section = "") {
  return read_fit_plan(
      "scenario = \"trial.toml\"\n[data]\nfile = \"bags.csv\"\n" + data_section + "\n[estimate]\n" + rest,
      "fit.toml");
}

}  // namespace stoverturn
