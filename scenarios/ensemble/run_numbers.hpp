#pragma once
#include "scenarios/results/run_scenario.hpp"
#include "scenarios/results/series.hpp"

namespace stoverturn {

/// The numbers that are kept of each run of an ensemble, in the order of its row: series at the checkpoints,
/// what is found along the run, the course of series.
struct RunNumbers {
  std::vector<Variable> variables;  ///< without values; run over nothing, checkpoints or time
  std::vector<std::size_t> first;   ///< column at which each begins
  std::size_t columns = 0;
  CheckpointDays checkpoints;
  std::chrono::sys_days start{};  ///< of time
  int every_d = 1, times = 0;     ///< of time

  /// A value that is taken on a day.
  struct Taken {
    int day;
    const TreatmentSeries* series;
    std::size_t column;
  };
  std::vector<std::vector<Taken>> taken;  ///< by treatment, in the order of days
  std::size_t found = 0;                  ///< column of the first of found_numbers(); then `balance_error`
};

/// As [ensemble] of the scenario asks. Throws InputError for series that there are not.
RunNumbers run_numbers(const Scenario& scenario);

}  // namespace stoverturn
