#pragma once
#include <limits>
#include <span>

#include "scenarios/charts/chart.hpp"
#include "scenarios/results/results.hpp"

/// Charts of single runs against time, a line a treatment, with bands where the results have draws. All in
/// `results.units`. Long runs are thinned to some 370 days a line.
namespace stoverturn {

/// A series of one run in charts that hold several.
struct RunCharted {
  const Results* results;
  std::string name;  ///< in front of treatments; "" where there is one run
};

/// A variable of dimensions {treatment, time}. Throws std::out_of_range where a run lacks it.
struct TimeChart {
  std::string_view chart, variable, title, axis;  ///< axis: words; its unit is added
};
Chart chart_against_time(std::span<const RunCharted> runs, const TimeChart& what,
                         double until_day = std::numeric_limits<double>::infinity());

/// A variable of dimensions {treatment, member, time}: a small chart a treatment, a line a member that ever
/// counts.
Chart chart_of_members(const Results& results, const TimeChart& what, std::string_view member_title);

/// What every run report draws; also the charts of the live page.
Chart mass_left_chart(std::span<const RunCharted> runs);
Chart nitrogen_back_chart(std::span<const RunCharted> runs);  ///< zero line; plantings, V6 and silking marked
Chart phosphorus_back_chart(std::span<const RunCharted> runs);
Chart potassium_back_chart(std::span<const RunCharted> runs);
Chart sulfur_back_chart(std::span<const RunCharted> runs);
Chart soil_cover_chart(std::span<const RunCharted> runs);  ///< with the 30 % line
/// The drivers that explain why, of the placement that holds most residue.
Chart residue_temperature_chart(const Results& results);
Chart residue_wetness_chart(const Results& results);
/// Day of the run on which the first crop after harvest is mature; NaN where none grows.
double first_season_end(const Results& results);
Chart first_season_chart(const Results& results);

/// Plantings before that day of the run, V6 and silking of the first season, each once.
std::vector<KeyDate> key_dates(const Results& results, double until_day);

}  // namespace stoverturn
