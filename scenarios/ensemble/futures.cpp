#include "scenarios/ensemble/futures.hpp"

#include <algorithm>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/text/calendar.hpp"
#include "scenarios/weather/weather_generator.hpp"
#include "scenarios/weather/weather_years.hpp"

namespace stoverturn {
namespace {

using std::chrono::days;
using std::chrono::sys_days;

constexpr int usual_series = 30;

[[noreturn]] void fail(const Scenario& scenario, const std::string& message) {
  const Position& asked = scenario.ensemble.weather_years_at;
  throw InputError({{asked.source.empty() && scenario.weather ? scenario.weather->at : asked,
                     fmt::format("weather_years: {}", message)}});
}

/// Years of the record that a run can begin in: its first day and a whole year after it are there.
std::vector<int> years_to_begin_in(const Weather& record, sys_days start) {
  std::vector<int> years;
  const sys_days end = record.start + days(static_cast<int>(record.days.size()));
  for (int year = year_of(record.start); year <= year_of(end); ++year) {
    const sys_days first = same_day_in(year, start);
    if (first >= record.start && first + days(365) <= end) years.push_back(year);
  }
  return years;
}

std::vector<Future> of_record(const Scenario& scenario, const Weather& record) {
  const EnsemblePlan& plan = scenario.ensemble;
  const sys_days start = run_span(scenario).start;
  const std::string held =
      format_dates(record.start, record.start + days(static_cast<int>(record.days.size()) - 1));
  if (std::holds_alternative<int>(plan.weather_years)) {
    fail(scenario,
         "a number is for generated weather or `resample`; a record has years, write \"all\" or "
         "[2012, 2013]");
  }
  const std::vector<int> there = years_to_begin_in(record, start);
  if (there.empty()) {
    fail(scenario,
         fmt::format("the record ({}) holds no whole year from a {} on", held, format_date(start).substr(5)));
  }
  const auto* asked = std::get_if<std::vector<int>>(&plan.weather_years);
  std::vector<Future> futures;
  for (const int year : asked ? *asked : there) {
    if (std::find(there.begin(), there.end(), year) == there.end()) {
      fail(scenario, fmt::format("{} is no year in which a run can begin; the record ({}) has {}", year, held,
                                 fmt::join(there, ", ")));
    }
    const std::uint64_t seed = scenario.weather->seed;
    futures.push_back({std::to_string(year), year - year_of(start), seed});
  }
  return futures;
}

std::vector<Future> of_seeds(const Scenario& scenario, const Weather& record) {
  const EnsemblePlan& plan = scenario.ensemble;
  if (std::holds_alternative<std::vector<int>>(plan.weather_years)) {
    fail(scenario, "generated and drawn weather is of no year; write how many series");
  }
  const int* asked = std::get_if<int>(&plan.weather_years);
  const sys_days start = run_span(scenario).start;
  std::vector<Future> futures;
  for (int i = 0; i < (asked ? *asked : usual_series); ++i) {
    const std::uint64_t seed = scenario.weather->seed + static_cast<std::uint64_t>(i);
    int years_on = 0;
    if (!scenario.weather->normals) {
      const std::vector<int> there = years_to_begin_in(record, start);
      if (there.empty()) fail(scenario, "the record holds no whole year from the harvest on");
      years_on =
          there[static_cast<std::size_t>(year_for(i, static_cast<int>(there.size()), seed))] - year_of(start);
    }
    futures.push_back({fmt::format("seed {}", seed), years_on, seed});
  }
  return futures;
}

bool meets_weather(const Scenario& scenario) {
  return std::any_of(scenario.treatments.begin(), scenario.treatments.end(),
                     [](const Treatment& t) { return !t.conditions; });
}

}  // namespace

std::vector<Future> futures_of(const Scenario& scenario, const Climates& climates) {
  if (!scenario.weather || !meets_weather(scenario)) return {{"as given", 0, 0}};
  const bool seeds = scenario.weather->normals || scenario.weather->resample;
  return seeds ? of_seeds(scenario, climates.weather) : of_record(scenario, climates.weather);
}

Climates climates_in(const Scenario& scenario, const Climates& climates, const Future& future) {
  if (!scenario.weather || !meets_weather(scenario)) return climates;
  Climates found;
  found.logs = climates.logs;
  if (scenario.weather->normals) {
    found.weather = planned_weather(scenario, future.seed);
    return found;
  }
  const RunSpan span = run_span(scenario);
  const YearsBeyond beyond = scenario.weather->resample ? YearsBeyond{future.seed} : YearsBeyond{};
  found.weather = weather_of_years_on(climates.weather, span.start - days(spin_up_d),
                                      span.start + days(span.days), future.years_on, beyond);
  return found;
}

}  // namespace stoverturn
