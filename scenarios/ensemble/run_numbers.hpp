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

  /// A value at a stage of the first season of the following crop, whose day each weather has of its own.
  struct AtStage {
    std::size_t stage;
    bool since_planting;  ///< less what it was at planting
    const TreatmentSeries* series;
    std::size_t column;  ///< several are added up in one
  };
  std::vector<AtStage> at_stages;
  std::vector<std::string> stages;  ///< "V6 1", ...; empty where no treatment names a crop
  std::size_t stage_day = 0;        ///< column of the first stage's day
  std::size_t found = 0;            ///< column of the first of found_numbers(); then `balance_error`
};

/// As [ensemble] of the scenario asks, which may name `own` series besides those of results; they must
/// outlive the numbers. Throws InputError for series that there are not.
RunNumbers run_numbers(const Scenario& scenario, std::span<const TreatmentSeries> own = {});

}  // namespace stoverturn
