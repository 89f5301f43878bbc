#pragma once
#include <functional>
#include <memory>
#include <string>

#include "engine/day_factors.hpp"
#include "engine/events.hpp"
#include "engine/integrate.hpp"

namespace stoverturn {

/// Mineral N at the start, g m-2.
template <class D>
struct SoilStart {
  D ammonium_N{}, nitrate_N{}, subsoil_nitrate_N{};
};

/// One simulation, complete: nothing outside it changes the answer. Layout and drivers are shared between
/// jobs and never changed.
template <class Real>
struct Job {
  std::shared_ptr<const Layout> layout;
  std::vector<CohortTraits<Real>> cohorts;  ///< one for each cohort of the layout
  Parameters<Real> field;
  ResponseForms forms;
  double pH = 6.5;
  SoilStart<Driver<Real>> start;
  std::shared_ptr<const Drivers<Driver<Real>>> drivers;
  std::vector<Event<Driver<Real>>> events;  ///< sorted (sort_events)
  int days = 0;                             ///< at most the days of the drivers
  Tolerance tolerance;
};

/// Receives the state at the start of each day, 0 to `days`, just after that day's events.
template <class Real>
using Sink = std::function<void(int day, const State<Real>& x)>;

/// How a simulation ended. A failed one says when and why; what the sink received until then stands.
struct Outcome {
  bool ok = true;
  double failed_at_d = 0.0;
  std::string message = "finished";
  StepCounts steps;
  long right_hand_sides = 0;
};

/// THE way to simulate: everything that runs the model makes jobs and sinks. Throws JobError for a job that
/// does not fit together; an integration that fails is an Outcome.
template <class Real>
Outcome simulate(const Job<Real>& job, const Sink<Real>& sink);

}  // namespace stoverturn
