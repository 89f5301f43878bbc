#pragma once
#include <memory>

#include "engine/job_plan.hpp"
#include "engine/weather_drivers.hpp"
#include "scenarios/plan/scenario.hpp"
#include "scenarios/weather/conditions_reading.hpp"

namespace stoverturn {

/// The climates a scenario meets: its weather record, or logs by file name.
struct Climates {
  Weather weather;  ///< as read; empty when the scenario has none
  std::vector<std::pair<std::string, ConditionsLog>> logs;
};

/// Days that a scenario runs over: from the first harvest, to the anniversary when it lasts whole years.
struct RunSpan {
  std::chrono::sys_days start{};
  int days = 0;
};
RunSpan run_span(const Scenario& scenario);

/// Days before a run that its weather should hold: soil water and temperature forget their start in them.
inline constexpr int spin_up_d = 365;

/// The generated weather of a scenario with normals: the whole calendar years that its run needs. Empty
/// without normals.
Weather planned_weather(const Scenario& scenario);
Weather planned_weather(const Scenario& scenario, std::uint64_t seed);

/// A treatment laid out: its cohorts, the geometry behind each piece class, and its events by day of the run.
struct TreatmentLayout {
  std::shared_ptr<Layout> layout;
  struct PieceEntry {
    int component;
    Pieces geometry;
    std::string name;
  };
  std::vector<PieceEntry> pieces;
  std::vector<Event<double>> events;
  std::vector<MulchEvent> mulch;
  std::vector<Irrigation> irrigations;
  /// Where a harvest's residue is, by harvest of the treatment: under a number of its cohorts until it is
  /// merged.
  struct Stay {
    int number;    ///< Cohort::harvest
    int from, to;  ///< days of the run; never merged: the last day that an int holds
  };
  std::vector<Stay> stays;
};

/// A season of a cover crop, and the day of the run on which it ends.
struct CoverSeason {
  CropCourse course;
  int termination;
};

/// A cover crop ends at every termination within the run; its mulch is by the N it would have liked until
/// then.
TreatmentLayout lay_out(const Treatment& treatment, const RunSpan& span, double merge_after_d,
                        std::span<const CoverSeason> covers = {});

/// A season of a following crop.
struct GrownCrop {
  CropPlan plan;
  CropCourse course;
};

/// The first day of a run, from `earliest` on, since which the mean temperature of the soil at 100 mm stays
/// below a limit until `soil_cools_within_d` after `earliest`; nothing where the soil is not that cold by
/// then.
std::optional<int> day_soil_stays_below(const Drivers<double>& drivers, int earliest, double limit_C);

/// A treatment ready to simulate, with what its climate was made of.
struct TreatmentJob {
  JobPlan<double> plan;
  Job<double> job;  ///< the plan with the treatment's parameters
  TreatmentLayout layout;
  WeatherDrivers climate;  ///< `drivers` is moved into the job; empty lists without weather
  std::vector<double> irrigation_given_mm = {0.0};  ///< until the start of each day
  bool looped = false;                              ///< the record was repeated
  std::vector<GrownCrop> crops;                     ///< seasons of following crops, whether they grow or not
};

/// The climate of a treatment, and of the same soil without its residue. "Buried" is the depth asked for, mm.
struct CoveredAndBare {
  WeatherDrivers covered, bare;
};
/// What the weather holds of soil temperature and moisture is left out: it is of one soil. Throws InputError
/// when weather does not reach.
CoveredAndBare covered_and_bare(const Scenario& scenario, const Treatment& treatment,
                                const Climates& climates, double depth_mm);

/// Drivers computed in one climate: treatments that differ in nothing that drivers see share them.
struct KnownDrivers {
  struct Entry {
    WeatherDriversInput input;  ///< its weather is nullptr: all entries have the same
    std::shared_ptr<const Drivers<double>> drivers;
    WeatherDrivers climate;  ///< without its drivers
  };
  std::vector<Entry> entries;
  void keep_last(std::size_t most);
};

/// Throws InputError when weather or a log does not reach. `known` must have come from the same climates.
TreatmentJob treatment_job(const Scenario& scenario, const Treatment& treatment, const Climates& climates,
                           KnownDrivers* known = nullptr);

}  // namespace stoverturn
