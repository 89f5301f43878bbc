#pragma once
#include "engine/weather.hpp"
#include "scenarios/plan/scenario_jobs.hpp"

namespace stoverturn {

/// Seasons of the following crops that begin within the run; each ends with maturity, frost, its harvest or
/// the next planting. `days` are the temperatures of the run, from its first day.
std::vector<GrownCrop> crop_seasons(const Treatment& treatment, const RunSpan& span,
                                    std::span<const DayRange> days);

/// Seasons of a cover crop, from each planting after `harvest` to the termination after it.
std::vector<CropCourse> cover_seasons(const CoverCropPlan& cover, const RunSpan& span,
                                      std::chrono::sys_days harvest, std::span<const DayRange> days);

/// Days of the run on which a cover crop ends, in order; those after the run are left out.
std::vector<int> termination_days(const CoverCropPlan& cover, const RunSpan& span,
                                  std::chrono::sys_days harvest);

/// The mulch of a cover crop: by the N it would like until each termination, of which its plan knows only the
/// most.
void weigh_cover_mulch(const CoverCropPlan& cover, const RunSpan& span, std::chrono::sys_days harvest,
                       const std::vector<CropCourse>& seasons, std::vector<MulchEvent>& mulch);

/// Temperatures of the days of the run.
std::vector<DayRange> day_ranges(const Weather& weather, const RunSpan& span);
std::vector<DayRange> day_ranges(const Drivers<double>& conditions);

}  // namespace stoverturn
