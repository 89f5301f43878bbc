#include "scenarios/results/run_scenario.hpp"

#include <algorithm>
#include <cmath>
#include <memory>
#include <optional>

#include <fmt/format.h>

#include "scenarios/results/crop_stages.hpp"
#include "scenarios/results/money.hpp"
#include "scenarios/results/notes.hpp"
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

/// Events that the run does not reach.
void note_late_events(const Scenario& scenario, const std::vector<TreatmentJob>& jobs, const RunSpan& span,
                      Results& results) {
  for (std::size_t t = 0; t < jobs.size(); ++t) {
    for (const Event<double>& e : jobs[t].job.events) {
      if (e.day <= span.days) continue;
      results.notes.push_back(
          fmt::format("'{}': an event on {} lies after the end of the run and has no effect.",
                      scenario.treatments[t].label, format_date(span.start + std::chrono::days{e.day})));
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

/// A run laid out, recorded day by day, and finished.
class RunUnderWay {
 public:
  RunUnderWay(const Scenario& scenario, const Climates& climates, std::vector<KeptText> texts,
              bool of_cohorts, KnownDrivers* known = nullptr)
      : scenario_(scenario), climates_(climates) {
    const RunSpan span = run_span(scenario);
    results_.title = scenario.title;
    results_.program = program_name();
    results_.units = scenario.units;
    results_.currency = scenario.currency;
    results_.components = union_of_components(scenario);
    results_.placements = {"standing", "surface", "buried"};
    results_.elements = {"C", "N", "P", "K", "S"};
    results_.start = span.start;
    results_.days = span.days + 1;
    results_.notes = scenario.warnings;
    results_.texts = std::move(texts);
    std::size_t most = 0;
    for (const Treatment& t : scenario.treatments) {
      results_.treatments.push_back(t.label);
      jobs_.push_back(treatment_job(scenario, t, climates, known));
      most = std::max(most, t.harvests.size());
    }
    for (std::size_t h = 1; h <= most; ++h) results_.harvests.push_back(std::to_string(h));
    recorder_.emplace(scenario, jobs_, results_, of_cohorts);
  }
  RunUnderWay(const RunUnderWay&) = delete;
  RunUnderWay& operator=(const RunUnderWay&) = delete;

  const Job<double>& job(std::size_t t) const { return jobs_[t].job; }
  const JobPlan<double>& plan(std::size_t t) const { return jobs_[t].plan; }
  void record(std::size_t t, int day, const State<double>& x) { recorder_->record(t, day, x); }

  Results finish() {
    const RunSpan span = run_span(scenario_);
    if (!climates_.weather.days.empty()) keep_weather(climates_, results_);
    if (std::any_of(jobs_.begin(), jobs_.end(), [](const TreatmentJob& j) { return j.looped; })) {
      results_.notes.push_back(repetition_note(scenario_, climates_.weather, span));
    }
    note_late_events(scenario_, jobs_, span, results_);
    note_short_removals(scenario_, jobs_, results_);
    add_money_series(scenario_, results_);
    add_key_numbers(scenario_, results_);
    add_money_numbers(scenario_, results_);
    add_crop_stages(scenario_, jobs_, results_);
    for (std::string& note : standing_notes(scenario_)) results_.notes.push_back(std::move(note));
    return std::move(results_);
  }

 private:
  const Scenario& scenario_;
  const Climates& climates_;
  Results results_;
  std::vector<TreatmentJob> jobs_;
  std::optional<Recorder> recorder_;
};

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
                     const RunProgress& progress, KnownDrivers* known) {
  RunUnderWay run(scenario, climates, std::move(texts), true, known);
  const std::size_t treatments = scenario.treatments.size();
  for (std::size_t t = 0; t < treatments; ++t) {
    const Outcome outcome = simulate<double>(run.job(t), [&](int day, const State<double>& x) {
      run.record(t, day, x);
      if (progress && day % 64 == 0) {
        progress((static_cast<double>(t) + static_cast<double>(day) / run.job(t).days) /
                 static_cast<double>(treatments));
      }
    });
    if (!outcome.ok) {
      throw InputError({{{scenario.title, 0, 0},
                         fmt::format("treatment '{}': {}", scenario.treatments[t].label, outcome.message)}});
    }
  }
  return run.finish();
}

std::optional<std::vector<Results>> run_together(std::span<const Scenario> scenarios,
                                                 const Climates& climates) {
  std::vector<std::unique_ptr<RunUnderWay>> runs;
  for (const Scenario& s : scenarios) {
    runs.push_back(std::make_unique<RunUnderWay>(s, climates, std::vector<KeptText>{}, false));
  }
  State<double> alone;
  for (std::size_t t = 0; t < scenarios[0].treatments.size(); ++t) {
    std::vector<LaneRun> lanes;
    for (std::size_t i = 0; i < runs.size(); ++i) {
      const TreatmentParameters& p = scenarios[i].treatments[t].parameters;
      lanes.push_back({&runs[i]->plan(t), &p.field, &p.components});
    }
    const Outcome outcome = simulate<Lanes>(make_job(lanes), [&](int day, const State<Lanes>& x) {
      for (std::size_t i = 0; i < runs.size(); ++i) {
        take_lane(x, i, alone);
        runs[i]->record(t, day, alone);
      }
    });
    if (!outcome.ok) return std::nullopt;
  }
  std::vector<Results> results;
  for (const auto& run : runs) results.push_back(run->finish());
  return results;
}

}  // namespace stoverturn
