#pragma once
#include "scenarios/results/series.hpp"

namespace stoverturn {

/// Owns the series while treatments are simulated, and knows where each value goes.
class Recorder {
 public:
  /// Sets the cohorts of the results and declares their series, but for those over cohorts where they are not
  /// wanted. All three must outlive it.
  Recorder(const Scenario& scenario, const std::vector<TreatmentJob>& jobs, Results& results,
           bool of_cohorts = true);

  /// The state of treatment `t` at the start of a day.
  void record(std::size_t t, int day, const State<double>& x);

 private:
  struct CohortPlaces {
    std::size_t own, by_component, by_placement;
  };
  /// Where a cohort of a treatment stands along the axes of the results.
  struct CohortIndex {
    std::size_t cohort, component, placement;
  };

  std::size_t declare(std::string_view name, Kind kind, std::vector<Dimension> dimensions,
                      std::string_view meaning, std::string_view substance);
  void add(std::size_t series, std::size_t t, std::size_t middle, int day, double value);
  std::size_t component_of(std::size_t t, std::size_t j) const;
  void record_harvests(std::size_t t, int day, const State<double>& x);
  void record_cohort(std::size_t t, std::size_t j, int day, const CohortView& view,
                     const Harvested& harvested);

  const Scenario& scenario_;
  const std::vector<TreatmentJob>& jobs_;
  Results& results_;
  bool with_cohorts_;
  std::vector<std::vector<CohortIndex>> cohorts_;  ///< by treatment
  std::vector<std::size_t> middle_;                ///< extent between treatment and time, by series
  std::vector<std::size_t> of_treatment_, of_climate_;
  std::vector<CohortPlaces> of_cohort_;
  std::size_t balance_ = 0, left_by_component_ = 0, left_by_placement_ = 0, left_by_harvest_ = 0;
};

}  // namespace stoverturn
