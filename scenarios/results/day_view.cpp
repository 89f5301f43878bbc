#include "scenarios/results/day_view.hpp"

namespace stoverturn {
namespace {

double cover_m2_g(const Treatment& plan, const Cohort& cohort) {
  const std::size_t material = plan.components[static_cast<std::size_t>(cohort.component)].material;
  return plan.parameters.of_material[material].cover_m2_g;
}

}  // namespace

Harvested harvested_by(const Treatment& plan, const TreatmentJob& made, int day, const double* field) {
  Harvested sum{0.0, std::vector<double>(plan.components.size(), 0.0)};
  for (std::size_t h = 0; h < plan.harvests.size(); ++h) {
    if (made.layout.stays[h].from > day) break;
    const HarvestPlan& harvest = plan.harvests[h];
    sum.all += harvest.dry_matter_g_m2;
    for (std::size_t c = 0; c < plan.components.size(); ++c) {
      sum.of_component[c] += harvest.dry_matter_g_m2 * plan.share_of(harvest, c);
    }
  }
  if (!plan.cover_crop) return sum;
  const double of_cover_g_m2 = field[cover_returned_N] / plan.cover_nitrogen();  // what its N has made so far
  for (std::size_t c = 0; c < plan.components.size(); ++c) {
    if (plan.of_cover_crop(c)) sum.of_component[c] = of_cover_g_m2 * plan.parameters.components[c].mass_share;
  }
  return sum;
}

DayView day_view(const Scenario& scenario, const Treatment& plan, const TreatmentJob& made,
                 const Job<double>& job, int day, const State<double>& x, double harvested_g_m2) {
  DayView view{scenario, plan, made, job, day, x.data() + job.layout->field(), harvested_g_m2};
  for (std::size_t j = 0; j < job.cohorts.size(); ++j) {
    const CohortTraits<double>& traits = job.cohorts[j];
    const Cohort& cohort = job.layout->cohorts[j];
    const double* pool = x.data() + j * pools;
    const double mass = carbon_in(pool) / traits.carbon;
    view.dry_matter_g_m2 += mass;
    if (!plan.of_cover_crop(static_cast<std::size_t>(cohort.component))) view.of_harvests_g_m2 += mass;
    if (cohort.placement == Placement::surface) view.flat_cover += cover_m2_g(plan, cohort) * mass;
    view.C += carbon_in(pool);
    view.N += element_in(traits, nitrogen, pool);
    view.P += element_in(traits, phosphorus, pool);
    view.K += pool[potassium];
    view.S += element_in(traits, sulfur, pool);
  }
  return view;
}

}  // namespace stoverturn
