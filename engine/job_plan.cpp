#include "engine/job_plan.hpp"

#include <array>

namespace stoverturn {

template <class Real>
Job<Real> make_job(const JobPlan<Driver<Real>>& plan, const Parameters<Real>& field,
                   const std::vector<Parameters<Real>>& components) {
  Job<Real> job;
  job.layout = plan.layout;
  for (const Cohort& cohort : plan.layout->cohorts) {
    job.cohorts.push_back(cohort_traits<Real>(cohort, plan.pieces[static_cast<std::size_t>(cohort.pieces)],
                                              components[static_cast<std::size_t>(cohort.component)], field));
  }
  job.field = field;
  job.forms = plan.forms;
  job.pH = plan.pH;
  job.start = plan.start;
  job.drivers = plan.drivers;
  job.events = plan.events;
  job.days = plan.days;
  job.tolerance = plan.tolerance;
  return job;
}

JobPlan<Lanes> in_lanes(const JobPlan<double>& plan) {
  JobPlan<Lanes> lanes;
  lanes.layout = plan.layout;
  lanes.pieces = plan.pieces;
  lanes.forms = plan.forms;
  lanes.pH = plan.pH;
  lanes.start = {Lanes::Constant(plan.start.ammonium_N), Lanes::Constant(plan.start.nitrate_N),
                 Lanes::Constant(plan.start.subsoil_nitrate_N)};
  std::array<const Drivers<double>*, 8> same;
  same.fill(plan.drivers.get());
  lanes.drivers = std::make_shared<const Drivers<Lanes>>(in_lanes(same));
  for (const Event<double>& event : plan.events) lanes.events.push_back(in_lanes(event));
  lanes.days = plan.days;
  lanes.tolerance = plan.tolerance;
  return lanes;
}

template Job<double> make_job(const JobPlan<double>&, const Parameters<double>&,
                              const std::vector<Parameters<double>>&);
template Job<Dual> make_job(const JobPlan<double>&, const Parameters<Dual>&,
                            const std::vector<Parameters<Dual>>&);
template Job<Lanes> make_job(const JobPlan<Lanes>&, const Parameters<Lanes>&,
                             const std::vector<Parameters<Lanes>>&);

}  // namespace stoverturn
