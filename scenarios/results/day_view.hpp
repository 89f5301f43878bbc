#pragma once
#include "scenarios/plan/scenario_jobs.hpp"

namespace stoverturn {

/// Dry matter that came onto the field so far: of all harvests, and by component.
struct Harvested {
  double all = 0.0;
  std::vector<double> of_component;
};
Harvested harvested_by(const Treatment& treatment, const TreatmentJob& made, int day, const double* field);

/// What a series of a treatment is computed from on one day.
struct DayView {
  const Scenario& scenario;
  const Treatment& treatment;
  const TreatmentJob& made;
  const Job<double>& job;  ///< that is run: `made.job`, or the same with other parameters
  int day;
  const double* field;                                 ///< FieldPool
  double harvested_g_m2 = 0.0;                         ///< dry matter of all harvests so far
  double of_harvests_g_m2 = 0.0;                       ///< dry matter of residue less that of a cover crop
  double dry_matter_g_m2 = 0.0, flat_cover = 0.0;      ///< flat_cover is A m of Eq. 34
  double C = 0.0, N = 0.0, P = 0.0, K = 0.0, S = 0.0;  ///< in residue
};

/// The view of the state `x` at the start of a day.
DayView day_view(const Scenario& scenario, const Treatment& treatment, const TreatmentJob& made,
                 const Job<double>& job, int day, const State<double>& x, double harvested_g_m2);

}  // namespace stoverturn
