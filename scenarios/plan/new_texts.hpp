#pragma once
#include <chrono>
#include <string>
#include <vector>

namespace stoverturn {

/// Answers from which a scenario is written. Quantities are texts with units, taken over as they are; an
/// empty one leaves its line out, with an example behind a comment sign.
struct NewScenario {
  std::string title = "My field";
  std::string units = "us";
  std::string harvest = "2026-10-20";
  std::string grain_yield = "200 bu/acre", residue;  ///< one of the two
  std::string material = "corn";
  std::string weather_file, climate;  ///< one of the two
  std::string latitude;               ///< where the weather file has none
  std::string texture = "silt loam";
  std::string cut_length;
  std::string planting = "05-05";
  std::string duration = "5 years";
  bool compare = true;  ///< two treatments to compare: as left, and cut short and opened
};

/// A commented scenario file (TOML), valid as it stands.
std::string new_scenario_text(const NewScenario& answers);

/// The plain weather format with three days of invented numbers, to be replaced.
std::string new_weather_text(const std::string& units);

struct NewTrial {
  std::vector<std::string> treatments = {"closed", "opened"};
  std::vector<std::string> placements = {"surface", "buried"};
  int replicates = 4;
  std::vector<std::chrono::sys_days> pulls;
};

/// A data sheet for litterbags: one row a bag with its date, masses left empty to be filled in.
std::string new_trial_text(const NewTrial& plan);

/// A fit file; valid once its data and scenario are there.
struct NewFit {
  std::string title = "My trial", data = "bags.csv", scenario = "field.toml";
};
std::string new_fit_text(const NewFit& fit);

}  // namespace stoverturn
