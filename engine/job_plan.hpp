#pragma once
#include <array>
#include <span>

#include "engine/simulate.hpp"

namespace stoverturn {

/// All of a simulation that is not a parameter: shared by runs, derivatives and lanes. `D` is the driver
/// type.
template <class D>
struct JobPlan {
  std::shared_ptr<const Layout> layout;
  std::vector<Pieces> pieces;  ///< by piece class of the layout
  ResponseForms forms;
  double pH = 6.5;
  SoilStart<D> start;
  std::shared_ptr<const Drivers<D>> drivers;
  std::vector<Event<D>> events;  ///< sorted
  int days = 0;
  Tolerance tolerance;
};

/// A job from a plan and parameters of any scalar. `components` are by component of the layout.
template <class Real>
Job<Real> make_job(const JobPlan<Driver<Real>>& plan, const Parameters<Real>& field,
                   const std::vector<Parameters<Real>>& components);

/// Eight plans side by side. Cohorts, pieces, forms, pH, days, tolerance, and kinds and days of events must
/// be the same: throws JobError where they are not. Drivers, start and amounts of events may
/// differ, and fertiliser may be spread on other days.
JobPlan<Lanes> in_lanes(const std::array<const JobPlan<double>*, 8>& lanes);
/// The same plan in all eight lanes: for eight sets of parameters in one climate.
JobPlan<Lanes> in_lanes(const JobPlan<double>& plan);

/// Eight sets of parameters side by side.
Parameters<Lanes> in_lanes(const std::array<const Parameters<double>*, 8>& lanes);

/// Runs that one Lanes holds.
inline constexpr std::size_t lane_count = Lanes::SizeAtCompileTime;

/// What one run of several differs in.
struct LaneRun {
  const JobPlan<double>* plan;
  const Parameters<double>* field;
  const std::vector<Parameters<double>>* components;
};

/// One to eight runs as one job; the last fills the lanes that are left. Throws JobError where plans differ
/// in more than in_lanes() allows.
Job<Lanes> make_job(std::span<const LaneRun> runs);

/// The state of one lane.
void take_lane(const State<Lanes>& x, std::size_t lane, State<double>& into);

}  // namespace stoverturn
