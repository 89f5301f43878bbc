#pragma once
#include "engine/balance.hpp"
#include "scenarios/results/day_view.hpp"
#include "scenarios/results/results.hpp"

namespace stoverturn {

struct TreatmentSeries {
  std::string_view name;
  Kind kind;
  std::string_view substance, meaning;
  double (*value)(const DayView&);
};
std::span<const TreatmentSeries> treatment_series();

/// What a series of a cohort is computed from; also summed by component and by placement where it says so.
struct CohortView {
  const CohortTraits<double>& traits;
  const double* x;  ///< Pool
};
struct CohortSeries {
  std::string_view name;
  Kind kind;
  std::string_view substance, meaning;
  double (*value)(const CohortView&);
  bool summed;  ///< also "<name>_by_component" and "<name>_by_placement"
};
std::span<const CohortSeries> cohort_series();

/// The residue's climate, by placement.
struct ClimateSeries {
  std::string_view name;
  Kind kind;
  std::string_view meaning, cf_name;
  double (*value)(const DayDrivers<double>&, std::size_t placement);
};
std::span<const ClimateSeries> climate_series();

}  // namespace stoverturn
