#pragma once
#include "engine/weather.hpp"
#include "scenarios/plan/scenario_jobs.hpp"

namespace stoverturn {

/// Seasons of the following crops that begin within the run; each ends with maturity, frost, its harvest or
/// the next planting. `days` are the temperatures of the run, from its first day.
std::vector<GrownCrop> crop_seasons(const Treatment& treatment, const RunSpan& span,
                                    std::span<const DayRange> days);

/// Seasons of the cover crop, from each planting on or after the first harvest to the termination after it;
/// none without a cover crop.
std::vector<CoverSeason> cover_seasons(const Treatment& treatment, const RunSpan& span,
                                       std::span<const DayRange> days);

/// Temperatures of the days of the run.
std::vector<DayRange> day_ranges(const Weather& weather, const RunSpan& span);
std::vector<DayRange> day_ranges(const Drivers<double>& conditions);

/// The first season after a treatment's first harvest whose crop the file names; nullptr: none.
const PlantedCrop* named_next_crop(const Treatment& treatment);

}  // namespace stoverturn
