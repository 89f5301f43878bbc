#include "scenarios/results/run_scenario.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/results/crop_stages.hpp"
#include "scenarios/results/money.hpp"
#include "scenarios/results/recorder.hpp"
#include "scenarios/text/calendar.hpp"
#include "scenarios/weather/weather_raw.hpp"
#include "scenarios/weather/weather_years.hpp"

namespace stoverturn {
namespace {

using enum Dimension;

std::vector<std::string> union_of_components(const Scenario& scenario) {
  std::vector<std::string> names;
  for (const Treatment& t : scenario.treatments) {
    for (const ComponentPlan& c : t.components) {
      if (std::find(names.begin(), names.end(), c.name) == names.end()) names.push_back(c.name);
    }
  }
  return names;
}

constexpr const char* how_sure =
    "How sure: without a fit, mass left of studies that were kept out of the calibration was off by 13 "
    "points (root mean square), nitrogen left by 21. Release and tie-up of P and S are not calibrated.";
constexpr const char* nitrogen_caution =
    "Nitrogen: state and local rules may forbid it in the fall or near water and wells; ask before "
    "spreading. "
    "Ammonium forms belong on soil below 50 degF (10 degC) that is cooling. Ammonia burns eyes, skin and "
    "lungs: goggles, "
    "gloves and clean water at hand. Agree rate and date with a licensed or certified adviser.";

constexpr const char* nitrate_caution =
    "Nitrate: what is leached and denitrified is an estimate to compare treatments by, not for a permit. "
    "Have "
    "wells near the field tested; state and local rules come first.";

/// Whether anybody is to decide on nitrogen by these numbers.
bool concerns_nitrate(const Scenario& scenario) {
  return std::any_of(scenario.treatments.begin(), scenario.treatments.end(), [](const Treatment& t) {
    return t.cover_crop || std::any_of(t.crop_seasons.begin(), t.crop_seasons.end(),
                                       [](const PlantedCrop& p) { return p.crop.grows; });
  });
}

bool spreads_nitrogen(const Scenario& scenario) {
  return std::any_of(scenario.treatments.begin(), scenario.treatments.end(), [](const Treatment& t) {
    return std::any_of(t.events.begin(), t.events.end(),
                       [](const EventPlan& e) { return std::holds_alternative<FertiliserPlan>(e); });
  });
}

std::string variable_name(const WeatherField& field) {
  std::string name(field.name);
  std::replace(name.begin(), name.end(), ' ', '_');
  return name;
}

void keep_weather(const Climates& climates, Results& results) {
  const Weather& weather = climates.weather;
  results.weather_start = weather.start;
  results.weather_days = static_cast<int>(weather.days.size());
  results.latitude_deg = weather.latitude_deg;
  results.elevation_m = weather.elevation_m;
  for (const WeatherField& field : weather_fields) {
    Variable v{variable_name(field), field.kind, {time}, fmt::format("daily {}", field.name), "", "", {}};
    for (const WeatherDay& day : weather.days) v.values.push_back(day.*field.member);
    const bool measured =
        std::any_of(v.values.begin(), v.values.end(), [](double x) { return std::isfinite(x); });
    if (measured) results.weather.push_back(std::move(v));
  }
}

/// Masses to be taken off of which less was there.
void note_short_removals(const Scenario& scenario, const std::vector<TreatmentJob>& jobs, Results& results) {
  const Variable& taken = results.find("residue_removed");
  for (std::size_t t = 0; t < jobs.size(); ++t) {
    double wanted = 0.0;
    bool all_by_mass = true;
    for (const Event<double>& e : jobs[t].job.events) {
      const auto* removal = std::get_if<Removal<double>>(&e.what);
      if (!removal || e.day >= results.days) continue;
      all_by_mass = all_by_mass && removal->by_mass;
      wanted += removal->amount;
    }
    const double had = taken.values[(t + 1) * results.extent(time) - 1];
    if (all_by_mass && had < 0.999 * wanted) {
      results.notes.push_back(fmt::format("'{}': of {:.2f} t/ha to be taken off only {:.2f} lay there.",
                                          scenario.treatments[t].label, wanted / 100.0, had / 100.0));
    }
  }
}

/// How a run goes on beyond its weather record.
std::string repetition_note(const Scenario& scenario, const Weather& weather, const RunSpan& span) {
  const std::string record = format_dates(
      weather.start, weather.start + std::chrono::days{static_cast<int>(weather.days.size()) - 1});
  if (!scenario.weather || !scenario.weather->resample) {
    return fmt::format(
        "The run goes beyond its weather record ({}); its years are used again in their order.", record);
  }
  const std::uint64_t seed = scenario.weather->seed;
  return fmt::format(
      "The run goes beyond its weather record ({}); the years before and after it are drawn from it at "
      "random, seed {}: {}.",
      record, seed, drawn_years(weather, span.start, span.start + std::chrono::days{span.days - 1}, seed));
}

}  // namespace

Weather kept_weather(const Results& results) {
  Weather weather;
  weather.start = results.weather_start;
  weather.latitude_deg = results.latitude_deg;
  weather.elevation_m = results.elevation_m;
  weather.days.resize(static_cast<std::size_t>(results.weather_days));
  for (const WeatherField& field : weather_fields) {
    for (const Variable& v : results.weather) {
      if (v.name != variable_name(field)) continue;
      for (std::size_t i = 0; i < weather.days.size(); ++i) weather.days[i].*field.member = v.values[i];
    }
  }
  return weather;
}

std::string program_name() { return "stoverturn " STOVERTURN_VERSION; }

Results run_scenario(const Scenario& scenario, const Climates& climates, std::vector<KeptText> texts,
                     const RunProgress& progress) {
  const RunSpan span = run_span(scenario);
  Results results;
  results.title = scenario.title;
  results.program = program_name();
  results.units = scenario.units;
  results.currency = scenario.currency;
  results.components = union_of_components(scenario);
  results.placements = {"standing", "surface", "buried"};
  results.elements = {"C", "N", "P", "K", "S"};
  results.start = span.start;
  results.days = span.days + 1;
  results.notes = scenario.warnings;
  results.texts = std::move(texts);

  std::vector<TreatmentJob> jobs;
  for (const Treatment& t : scenario.treatments) {
    results.treatments.push_back(t.label);
    jobs.push_back(treatment_job(scenario, t, climates));
  }
  std::size_t most = 0;
  for (const Treatment& t : scenario.treatments) most = std::max(most, t.harvests.size());
  for (std::size_t h = 1; h <= most; ++h) results.harvests.push_back(std::to_string(h));
  Recorder recorder(scenario, jobs, results);
  for (std::size_t t = 0; t < jobs.size(); ++t) {
    const Outcome outcome = simulate<double>(jobs[t].job, [&](int day, const State<double>& x) {
      recorder.record(t, day, x);
      if (progress && day % 64 == 0) {
        progress((static_cast<double>(t) + static_cast<double>(day) / span.days) /
                 static_cast<double>(jobs.size()));
      }
    });
    if (!outcome.ok) {
      throw InputError({{{scenario.title, 0, 0},
                         fmt::format("treatment '{}': {}", scenario.treatments[t].label, outcome.message)}});
    }
  }
  if (!climates.weather.days.empty()) keep_weather(climates, results);
  const bool looped = std::any_of(jobs.begin(), jobs.end(), [](const TreatmentJob& j) { return j.looped; });
  if (looped) {
    results.notes.push_back(repetition_note(scenario, climates.weather, span));
  }
  for (std::size_t t = 0; t < jobs.size(); ++t) {
    for (const Event<double>& e : jobs[t].job.events) {
      if (e.day > span.days) {
        results.notes.push_back(
            fmt::format("'{}': an event on {} lies after the end of the run and has no effect.",
                        scenario.treatments[t].label, format_date(span.start + std::chrono::days{e.day})));
      }
    }
  }
  note_short_removals(scenario, jobs, results);
  add_money_series(scenario, results);
  add_key_numbers(scenario, results);
  add_money_numbers(scenario, results);
  add_crop_stages(scenario, jobs, results);
  results.notes.insert(results.notes.end(), {how_sure});
  if (spreads_nitrogen(scenario)) results.notes.insert(results.notes.end(), {nitrogen_caution});
  if (spreads_nitrogen(scenario) || concerns_nitrate(scenario)) results.notes.emplace_back(nitrate_caution);
  return results;
}

}  // namespace stoverturn
