#include "engine/job_plan.hpp"

namespace stoverturn {

template <class Real>
Job<Real> make_job(const JobPlan<Driver<Real>>& plan, const Parameters<Real>& field,
                   const std::vector<Parameters<Real>>& components) {
  Job<Real> job;
  job.layout = plan.layout;
  for (const Cohort& cohort : plan.layout->cohorts) {
    job.cohorts.push_back(cohort_traits<Real>(cohort, plan.pieces[static_cast<std::size_t>(cohort.pieces)],
                                              plan.access,
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

template Job<double> make_job(const JobPlan<double>&, const Parameters<double>&,
                              const std::vector<Parameters<double>>&);
template Job<Dual> make_job(const JobPlan<double>&, const Parameters<Dual>&,
                            const std::vector<Parameters<Dual>>&);
template Job<Lanes> make_job(const JobPlan<Lanes>&, const Parameters<Lanes>&,
                             const std::vector<Parameters<Lanes>>&);

}  // namespace stoverturn
