#include "engine/job_plan.hpp"

#include <algorithm>
#include <array>
#include <map>
#include <tuple>

#include "engine/errors.hpp"

namespace stoverturn {
namespace {

bool alike(const JobPlan<double>& a, const JobPlan<double>& b) {
  return (a.layout == b.layout || a.layout->cohorts == b.layout->cohorts) && a.pieces == b.pieces &&
         a.forms == b.forms && a.pH == b.pH && a.days == b.days && a.tolerance == b.tolerance &&
         a.drivers->days.size() == b.drivers->days.size();
}

using EightPlans = std::array<const JobPlan<double>*, 8>;
using EightEvents = std::array<const Event<double>*, 8>;

const Fertiliser<double>* fertiliser(const Event<double>& event) {
  return std::get_if<Fertiliser<double>>(&event.what);
}

/// All but fertiliser: the same in all lanes but for amounts.
void add_common_events(const EightPlans& plans, std::vector<Event<Lanes>>& joined) {
  std::array<std::vector<const Event<double>*>, 8> of_lane;
  for (std::size_t lane = 0; lane < plans.size(); ++lane) {
    for (const Event<double>& e : plans[lane]->events) {
      if (!fertiliser(e)) of_lane[lane].push_back(&e);
    }
    if (of_lane[lane].size() != of_lane[0].size()) throw JobError("lanes differ in the number of events");
  }
  for (std::size_t e = 0; e < of_lane[0].size(); ++e) {
    EightEvents events{};
    for (std::size_t lane = 0; lane < plans.size(); ++lane) events[lane] = of_lane[lane][e];
    joined.push_back(in_lanes(events));
  }
}

/// Fertiliser, which may be spread on other days in some lanes: those get nothing that day.
void add_fertiliser(const EightPlans& plans, std::vector<Event<Lanes>>& joined) {
  using Key = std::tuple<int, bool, int>;  // day, on the surface, how manieth of such
  std::map<Key, EightEvents> spread;
  for (std::size_t lane = 0; lane < plans.size(); ++lane) {
    std::map<std::pair<int, bool>, int> seen;
    for (const Event<double>& e : plans[lane]->events) {
      const Fertiliser<double>* f = fertiliser(e);
      if (!f) continue;
      spread[{e.day, f->on_surface, seen[{e.day, f->on_surface}]++}][lane] = &e;
    }
  }
  for (auto& [key, events] : spread) {
    const Event<double> nothing{std::get<0>(key), Fertiliser<double>{0.0, 0.0, 0.0, 0.0, std::get<1>(key)}};
    for (const Event<double>*& e : events) e = e ? e : &nothing;
    joined.push_back(in_lanes(events));
  }
}

}  // namespace

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

JobPlan<Lanes> in_lanes(const EightPlans& plans) {
  const JobPlan<double>& first = *plans[0];
  JobPlan<Lanes> lanes;
  lanes.layout = first.layout;
  lanes.pieces = first.pieces;
  lanes.forms = first.forms;
  lanes.pH = first.pH;
  lanes.days = first.days;
  lanes.tolerance = first.tolerance;
  std::array<const Drivers<double>*, 8> drivers{};
  for (std::size_t lane = 0; lane < plans.size(); ++lane) {
    const JobPlan<double>& plan = *plans[lane];
    if (!alike(plan, first)) throw JobError("plans of lanes differ in more than numbers");
    drivers[lane] = plan.drivers.get();
    const auto i = static_cast<Eigen::Index>(lane);
    lanes.start.ammonium_N[i] = plan.start.ammonium_N;
    lanes.start.nitrate_N[i] = plan.start.nitrate_N;
    lanes.start.subsoil_nitrate_N[i] = plan.start.subsoil_nitrate_N;
  }
  lanes.drivers = std::make_shared<const Drivers<Lanes>>(in_lanes(drivers));
  add_common_events(plans, lanes.events);
  add_fertiliser(plans, lanes.events);
  sort_events(lanes.events);
  return lanes;
}

JobPlan<Lanes> in_lanes(const JobPlan<double>& plan) {
  std::array<const JobPlan<double>*, 8> same;
  same.fill(&plan);
  return in_lanes(same);
}

Parameters<Lanes> in_lanes(const std::array<const Parameters<double>*, 8>& lanes) {
  Parameters<Lanes> joined;
  for (const ParameterRow& row : parameter_table()) {
    for (std::size_t lane = 0; lane < lanes.size(); ++lane) {
      at(joined, row)[static_cast<Eigen::Index>(lane)] = at(*lanes[lane], row);
    }
  }
  return joined;
}

Job<Lanes> make_job(std::span<const LaneRun> runs) {
  const auto in_all = [&](auto part) {
    std::array<decltype(part(runs[0])), 8> lanes{};
    for (std::size_t i = 0; i < lanes.size(); ++i) lanes[i] = part(runs[std::min(i, runs.size() - 1)]);
    return in_lanes(lanes);
  };
  const JobPlan<Lanes> plan = in_all([](const LaneRun& r) { return r.plan; });
  const Parameters<Lanes> field = in_all([](const LaneRun& r) { return r.field; });
  std::vector<Parameters<Lanes>> components;
  for (std::size_t c = 0; c < runs[0].components->size(); ++c) {
    components.push_back(in_all([c](const LaneRun& r) { return &(*r.components)[c]; }));
  }
  return make_job<Lanes>(plan, field, components);
}

void take_lane(const State<Lanes>& x, std::size_t lane, State<double>& into) {
  into.resize(x.size());
  for (std::size_t s = 0; s < x.size(); ++s) into[s] = x[s][static_cast<Eigen::Index>(lane)];
}

template Job<double> make_job(const JobPlan<double>&, const Parameters<double>&,
                              const std::vector<Parameters<double>>&);
template Job<Dual> make_job(const JobPlan<double>&, const Parameters<Dual>&,
                            const std::vector<Parameters<Dual>>&);
template Job<Lanes> make_job(const JobPlan<Lanes>&, const Parameters<Lanes>&,
                             const std::vector<Parameters<Lanes>>&);

}  // namespace stoverturn
