#include "scenarios/plan/scenario_jobs.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <numeric>

#include <fmt/format.h>

#include "scenarios/plan/crop_seasons.hpp"
#include "scenarios/plan/later_harvests.hpp"
#include "scenarios/text/calendar.hpp"
#include "scenarios/weather/weather_generator.hpp"
#include "scenarios/weather/weather_years.hpp"

namespace stoverturn {
namespace {

YearsBeyond years_beyond(const std::optional<WeatherPlan>& plan) {
  return plan && plan->resample ? YearsBeyond{plan->seed} : YearsBeyond{};
}

Drivers<double> uniform_drivers(const ConditionsPlan& plan, const Climates& climates, const RunSpan& span) {
  if (plan.constant) {
    Drivers<double> drivers = constant_drivers(*plan.constant, span.days);
    drivers.start = span.start;
    return drivers;
  }
  for (const auto& [file, log] : climates.logs) {
    if (file != plan.log_file) continue;
    const long lead = log.start ? (span.start - *log.start).count() : 0;
    const long held = static_cast<long>(log.days.size());
    if (lead < 0 || lead + span.days > held) {
      const std::chrono::sys_days first = log.start.value_or(span.start);
      throw InputError(
          {{{file, 0, 0},
            fmt::format("the log holds {}; the run needs {} (shorten `duration`, or move the harvest)",
                        format_dates(first, first + std::chrono::days{held - 1}),
                        format_dates(span.start, span.start + std::chrono::days{span.days - 1}))}});
    }
    return logged_drivers(span.start, {log.days.begin() + lead, log.days.begin() + lead + span.days});
  }
  throw InputError({{{plan.log_file, 0, 0}, "this log was not read"}});
}

Drivers<double> condition_drivers(const Treatment& treatment, const Climates& climates, const RunSpan& span) {
  Drivers<double> drivers = uniform_drivers(*treatment.conditions, climates, span);
  for (DayDrivers<double>& day : drivers.days) {
    day.water_potential_MPa = treatment.soil.water_potential_MPa(day.pore_filling * treatment.soil.porosity);
  }
  return drivers;
}

const KnownDrivers::Entry& drivers_of(const WeatherDriversInput& input, KnownDrivers& known) {
  WeatherDriversInput key = input;
  key.weather = nullptr;
  for (const KnownDrivers::Entry& entry : known.entries) {
    if (entry.input == key) return entry;
  }
  WeatherDrivers climate = weather_drivers(input);
  auto drivers = std::make_shared<const Drivers<double>>(std::move(climate.drivers));
  climate.drivers = {};
  known.entries.push_back({std::move(key), std::move(drivers), std::move(climate)});
  return known.entries.back();
}

Weather weather_of_run(const Scenario& scenario, const Climates& climates, const RunSpan& span,
                       bool& looped) {
  return extended(climates.weather, span.start - std::chrono::days{spin_up_d},
                  span.start + std::chrono::days{span.days}, looped, years_beyond(scenario.weather));
}

/// Lays out the treatment and its crops on the way. `weather` must outlive what is given back.
WeatherDriversInput drivers_input(const Scenario& scenario, const Treatment& treatment, const RunSpan& span,
                                  const Weather& weather, TreatmentJob& made) {
  const std::vector<DayRange> days = day_ranges(weather, span);
  const std::vector<CoverSeason> covers = cover_seasons(treatment, span, days);
  made.layout = lay_out(treatment, span, scenario.model.merge_after_d, covers);
  made.crops = crop_seasons(treatment, span, days);
  WeatherDriversInput input;
  input.weather = &weather;
  input.start = span.start;
  input.days = span.days;
  input.soil = treatment.soil;
  input.burial_depth_mm = treatment.burial_depth_mm;
  input.mulch = made.layout.mulch;
  input.irrigations = made.layout.irrigations;
  input.irrigation_rule = treatment.irrigation;
  for (const GrownCrop& season : made.crops) {
    if (season.plan.grows) input.crops.push_back(season.course);
  }
  for (const CoverSeason& season : covers) input.covers.push_back(season.course);
  input.parameters = treatment.parameters.field;
  return input;
}

/// Fertiliser that waits for cold soil.
void add_when_cold(const Treatment& treatment, JobPlan<double>& plan, const RunSpan& span) {
  for (const EventPlan& event : treatment.events) {
    const auto* f = std::get_if<FertiliserPlan>(&event);
    if (!f || !f->soil_below_C) continue;
    const int earliest = static_cast<int>((f->date - span.start).count());
    if (const auto day = day_soil_stays_below(*plan.drivers, earliest, *f->soil_below_C)) {
      plan.events.push_back({*day, f->amounts});
    }
  }
  sort_events(plan.events);
}

}  // namespace

std::optional<int> day_soil_stays_below(const Drivers<double>& drivers, int earliest, double limit_C) {
  const int end = std::min(earliest + soil_cools_within_d, static_cast<int>(drivers.days.size()));
  int day = earliest;
  for (int d = std::max(earliest, 0); d < end; ++d) {
    if (drivers.days[static_cast<std::size_t>(d)].soil_temperature_C >= limit_C) day = d + 1;
  }
  return day < end ? std::optional(day) : std::nullopt;
}

CoveredAndBare covered_and_bare(const Scenario& scenario, const Treatment& treatment,
                                const Climates& climates, double depth_mm) {
  const RunSpan span = run_span(scenario);
  TreatmentJob made;
  Weather weather = weather_of_run(scenario, climates, span, made.looped);
  for (WeatherDay& day : weather.days) day.soil_temperature_C = day.soil_moisture_m3_m3 = not_measured;
  WeatherDriversInput input = drivers_input(scenario, treatment, span, weather, made);
  input.burial_depth_mm = depth_mm;
  WeatherDrivers covered = weather_drivers(input);
  input.mulch.clear();
  return {std::move(covered), weather_drivers(input)};
}

void KnownDrivers::keep_last(std::size_t most) {
  if (entries.size() > most)
    entries.erase(entries.begin(), entries.end() - static_cast<std::ptrdiff_t>(most));
}

RunSpan run_span(const Scenario& scenario) {
  RunSpan span;
  span.start = scenario.treatments.front().first().date;
  for (const Treatment& t : scenario.treatments) span.start = std::min(span.start, t.first().date);
  span.days = static_cast<int>((date_after(span.start, scenario.duration_d) - span.start).count());
  return span;
}

Weather planned_weather(const Scenario& scenario) {
  return planned_weather(scenario, scenario.weather ? scenario.weather->seed : 0);
}

Weather planned_weather(const Scenario& scenario, std::uint64_t seed) {
  if (!scenario.weather || !scenario.weather->normals) return {};
  const WeatherPlan& plan = *scenario.weather;
  const RunSpan span = run_span(scenario);
  return generated_weather(*plan.normals, plan.latitude_deg, plan.elevation_m,
                           year_of(span.start - std::chrono::days{spin_up_d}),
                           year_of(span.start + std::chrono::days{span.days}), seed);
}

TreatmentJob treatment_job(const Scenario& scenario, const Treatment& treatment, const Climates& climates,
                           KnownDrivers* known) {
  const RunSpan span = run_span(scenario);
  TreatmentJob made;
  JobPlan<double>& plan = made.plan;
  if (treatment.conditions) {
    made.layout = lay_out(treatment, span, scenario.model.merge_after_d);
    plan.drivers = std::make_shared<const Drivers<double>>(condition_drivers(treatment, climates, span));
    made.crops = crop_seasons(treatment, span, day_ranges(*plan.drivers));
  } else {
    const Weather weather = weather_of_run(scenario, climates, span, made.looped);
    const std::chrono::sys_days record_end =
        climates.weather.start + std::chrono::days{static_cast<int>(climates.weather.days.size())};
    made.looped =
        span.start < climates.weather.start || span.start + std::chrono::days{span.days} > record_end;
    const WeatherDriversInput input = drivers_input(scenario, treatment, span, weather, made);
    KnownDrivers none;
    const KnownDrivers::Entry& entry = drivers_of(input, known ? *known : none);
    plan.drivers = entry.drivers;
    made.climate = entry.climate;
    const std::vector<double>& given_mm = made.climate.irrigation_mm;
    std::partial_sum(given_mm.begin(), given_mm.end(), std::back_inserter(made.irrigation_given_mm));
  }

  plan.layout = made.layout.layout;
  for (const TreatmentLayout::PieceEntry& entry : made.layout.pieces) plan.pieces.push_back(entry.geometry);
  plan.forms = scenario.model.forms;
  plan.pH = treatment.soil.pH;
  plan.start = treatment.soil_start;
  plan.events = made.layout.events;
  add_when_cold(treatment, plan, span);
  plan.days = span.days;
  plan.tolerance = scenario.model.tolerance;
  made.job = stoverturn::make_job<double>(plan, treatment.parameters.field, treatment.parameters.components);
  return made;
}

}  // namespace stoverturn
