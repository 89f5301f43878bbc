#pragma once
#include <functional>

#include "scenarios/plan/scenario_jobs.hpp"
#include "scenarios/results/results.hpp"

namespace stoverturn {

/// Called now and then with the share of the work done, 0 to 1.
using RunProgress = std::function<void(double)>;

/// Simulates every treatment and gathers the results: series, key numbers, weather and notes. `texts` are
/// kept with them. Throws InputError when weather or a log does not reach, or an integration fails (naming
/// the treatment). `known` as treatment_job() has it.
Results run_scenario(const Scenario& scenario, const Climates& climates, std::vector<KeptText> texts,
                     const RunProgress& progress = {}, KnownDrivers* known = nullptr);

/// One to eight scenarios that differ in parameters alone, simulated in lanes: the results of each but for
/// series over cohorts. Nothing when one of them cannot be integrated: it stops the others.
std::optional<std::vector<Results>> run_together(std::span<const Scenario> scenarios,
                                                 const Climates& climates);

/// The daily weather that was kept with results, exactly.
Weather kept_weather(const Results& results);

/// "stoverturn 0.1.0"
std::string program_name();

/// Adds the key numbers: the series at each checkpoint, and what is found along them.
void add_key_numbers(const Scenario& scenario, Results& results);

/// A date at which people want numbers.
struct Checkpoint {
  std::string name;  ///< "planting 1", "year 1", ..., "end"
  std::chrono::sys_days date;
};

/// Planting and anniversary of the harvest in turn, as far as the run reaches; its end where that is neither.
std::vector<Checkpoint> checkpoints(const Treatment& treatment, std::chrono::sys_days end);

/// The checkpoints of all treatments on one axis, and the days on which each comes to them; -1: it does not.
struct CheckpointDays {
  std::vector<std::string> names;
  std::vector<std::vector<int>> days;  ///< by treatment and name
};
CheckpointDays checkpoint_days(const std::vector<std::vector<Checkpoint>>& lists, std::chrono::sys_days start,
                               std::chrono::sys_days end);

}  // namespace stoverturn
