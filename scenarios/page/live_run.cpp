#include <algorithm>
#include <cmath>
#include <list>
#include <memory>
#include <optional>

#include <fmt/format.h>

#include "scenarios/page/live_engine.hpp"
#include "scenarios/page/live_numbers.hpp"
#include "scenarios/results/forward_bands.hpp"
#include "scenarios/results/parameter_page.hpp"
#include "scenarios/results/read_with_files.hpp"
#include "scenarios/results/run_scenario.hpp"
#include "scenarios/text/index_of.hpp"
#include "scenarios/weather/weather_raw.hpp"

namespace stoverturn {
namespace {

constexpr std::size_t draws_a_step = 8;
constexpr std::size_t kept_readings = 4, kept_drivers = 24, kept_runs = 12, most_runs = 8;

/// Weather files read before; a page asks for the same ones again and again.
WeatherRecord read_once(std::string_view text, const std::string& name, const WeatherOptions& options) {
  struct Reading {
    std::string text, name, options;
    WeatherRecord record;
  };
  static std::vector<Reading> readings;
  const std::string said =
      fmt::format("{} {} {} {} {}", options.latitude_deg, options.elevation_m, options.longest_gap_d,
                  options.station, static_cast<int>(options.columns_in));
  for (const Reading& r : readings) {
    if (r.name == name && r.options == said && r.text == text) return r.record;
  }
  WeatherRecord record = read_weather(text, name, options);
  if (readings.size() == kept_readings) readings.erase(readings.begin());
  readings.push_back({std::string(text), name, said, record});
  return record;
}

bool same_number(double x, double y) { return x == y || (std::isnan(x) && std::isnan(y)); }

bool same_months(const MonthlyNormals& a, const MonthlyNormals& b) {
  constexpr Months MonthlyNormals::*all[] = {
      &MonthlyNormals::tmax_C,   &MonthlyNormals::tmin_C,           &MonthlyNormals::rain_mm,
      &MonthlyNormals::wet_days, &MonthlyNormals::temperature_sd_C, &MonthlyNormals::radiation_MJ_m2,
      &MonthlyNormals::wind_m_s, &MonthlyNormals::humidity_percent};
  return a.wet_day_mm == b.wet_day_mm && std::all_of(std::begin(all), std::end(all), [&](auto member) {
           return std::equal((a.*member).begin(), (a.*member).end(), (b.*member).begin(), same_number);
         });
}

/// Generated weather of before: years depend on these alone (weather_generator.hpp).
Weather planned_once(const Scenario& scenario) {
  struct Generated {
    MonthlyNormals normals;
    double latitude_deg, elevation_m;
    std::uint64_t seed;
    RunSpan span;
    Weather weather;
  };
  static std::vector<Generated> all;
  const WeatherPlan& plan = *scenario.weather;
  const RunSpan span = run_span(scenario);
  for (const Generated& g : all) {
    if (g.latitude_deg == plan.latitude_deg && g.elevation_m == plan.elevation_m && g.seed == plan.seed &&
        g.span.start == span.start && g.span.days == span.days && same_months(g.normals, *plan.normals)) {
      return g.weather;
    }
  }
  if (all.size() == kept_readings) all.erase(all.begin());
  all.push_back(
      {*plan.normals, plan.latitude_deg, plan.elevation_m, plan.seed, span, planned_weather(scenario)});
  return all.back().weather;
}

bool same_days(const Weather& a, const Weather& b) {
  if (a.start != b.start || a.days.size() != b.days.size() || !same_number(a.latitude_deg, b.latitude_deg) ||
      !same_number(a.elevation_m, b.elevation_m)) {
    return false;
  }
  return std::equal(
      a.days.begin(), a.days.end(), b.days.begin(), [&](const WeatherDay& x, const WeatherDay& y) {
        return std::all_of(weather_fields.begin(), weather_fields.end(), [&](const WeatherField& field) {
          return same_number(x.*field.member, y.*field.member);
        });
      });
}

/// Drivers in a weather, for the last few weathers.
KnownDrivers& drivers_in(const Weather& weather) {
  struct Climate {
    Weather weather;
    KnownDrivers known;
  };
  static std::list<Climate> climates;
  auto found = std::find_if(climates.begin(), climates.end(),
                            [&](const Climate& c) { return same_days(c.weather, weather); });
  if (found == climates.end()) {
    climates.push_front({weather, {}});
    if (climates.size() > kept_readings) climates.pop_back();
  } else {
    climates.splice(climates.begin(), climates, found);
  }
  climates.front().known.keep_last(kept_drivers);
  return climates.front().known;
}

/// The runs of a request that are done, and those of requests before it.
std::list<std::pair<std::string, LiveRun>>& done_runs() {
  static std::list<std::pair<std::string, LiveRun>> runs;
  return runs;
}
LiveRun* done_run(const std::string& key) {
  auto& runs = done_runs();
  const auto found = std::find_if(runs.begin(), runs.end(), [&](const auto& r) { return r.first == key; });
  if (found == runs.end()) return nullptr;
  runs.splice(runs.begin(), runs, found);
  return &runs.front().second;
}

/// One run of a request, as asked for.
struct AskedRun {
  Json request;
  std::string key;  ///< all that it depends on
};

/// A request of which some runs or draws are still to be done.
struct UnderWay {
  std::vector<AskedRun> asked;
  LiveWanted wanted;
  std::size_t now = 0;  ///< which run is next or half done
  LoadedScenario loaded;
  std::optional<BandsUnderWay> bands;
};
std::unique_ptr<UnderWay>& under_way() {
  static std::unique_ptr<UnderWay> kept;
  return kept;
}

LoadedScenario loaded_for(const Json& run) {
  std::vector<std::string> overrides;
  const Json& set = run.value("set", Json::array());
  for (const Json& text : set) {
    if (text.is_string()) overrides.push_back(text.get<std::string>());
  }
  const double draws = run.contains("draws") && run["draws"].is_number() ? run["draws"].get<double>() : 0.0;
  if (draws > 0.0) overrides.push_back(fmt::format("draws={}", draws));
  if (run.contains("units")) overrides.push_back("units=" + wanted_text(run, "units"));
  FilesBeside files;
  files.text_of = [&](const std::string& file) { return file_of(run, file); };
  files.read_weather = read_once;
  files.planned_weather = planned_once;
  LoadedScenario loaded =
      read_with_files(wanted_text(run, "scenario"), optional_text(run, "file", "scenario"), overrides, files);
  loaded.texts.clear();
  for (std::string& note : parameter_notes(loaded.scenario))
    loaded.scenario.warnings.push_back(std::move(note));
  if (draws <= 0.0) loaded.scenario.draws.reset();
  return loaded;
}

LiveRun finished(UnderWay& now, const Json& run) {
  LiveRun done{now.bands->finish(), now.loaded.scenario.units, now.loaded.scenario.warnings,
               cut_components(now.loaded.scenario),
               now.loaded.scenario.draws ? now.loaded.scenario.draws->count : 0};
  if (const std::string only = optional_text(run, "treatment"); !only.empty()) {
    const std::size_t t = index_of(done.results.treatments, only);
    if (t == done.results.treatments.size()) throw mistake_of_request("treatment: there is no " + only);
    keep_treatment(done, t);
  }
  const std::string name = optional_text(run, "name");
  if (!name.empty() && done.results.treatments.size() == 1) {
    done.results.treatments = {name};
  } else if (!name.empty()) {
    for (std::string& treatment : done.results.treatments) {
      treatment = fmt::format("{}: {}", name, treatment);
    }
  }
  return done;
}

/// A run or some draws further; false once all are done.
bool step(UnderWay& all) {
  while (!all.bands && all.now < all.asked.size() && done_run(all.asked[all.now].key)) ++all.now;
  if (all.now == all.asked.size()) return false;
  const AskedRun& run = all.asked[all.now];
  if (!all.bands) {
    all.loaded = loaded_for(run.request);
    all.bands.emplace(all.loaded.scenario, all.loaded.climates, std::vector<KeptText>{}, RunProgress{},
                      &drivers_in(all.loaded.climates.weather));
  } else if (!all.bands->done()) {
    all.bands->step(draws_a_step);
  }
  if (!all.bands->done()) return true;
  done_runs().emplace_front(run.key, finished(all, run.request));
  if (done_runs().size() > kept_runs) done_runs().pop_back();
  all.bands.reset();
  return ++all.now < all.asked.size();
}

double share_done(const UnderWay& all) {
  const double part = all.bands ? all.bands->share_done() : 0.0;
  return (static_cast<double>(all.now) + part) / static_cast<double>(all.asked.size());
}

Json composed(const UnderWay& all) {
  std::vector<LiveRun*> runs;
  for (const AskedRun& run : all.asked) runs.push_back(done_run(run.key));
  return live_answer(runs, all.wanted);
}

/// The next piece of work, or all of it.
Json worked_on(bool one_step) {
  UnderWay& all = *under_way();
  try {
    while (step(all)) {
      if (one_step) return {{"more", true}, {"done", share_done(all)}};
    }
    Json answer = composed(all);
    under_way().reset();
    return answer;
  } catch (const InputError& error) {
    Json answer = refusal(error);
    answer["run"] = all.now;
    under_way().reset();
    return answer;
  }
}

}  // namespace

Json live_run(const Json& request) {
  under_way() = std::make_unique<UnderWay>();
  under_way()->wanted = live_wanted(request);
  Json runs = request.value("runs", Json::array());
  if (runs.empty()) runs.push_back(request);
  if (!runs.is_array() || runs.size() > most_runs)
    throw mistake_of_request(fmt::format("runs: wanted a list of at most {} runs", most_runs));
  for (Json& run : runs) {
    if (!run.is_object()) throw mistake_of_request("runs: wanted objects");
    for (const char* key : {"units", "draws", "files"}) {
      if (!run.contains(key) && request.contains(key)) run[key] = request[key];
    }
    for (const char* key : {"do", "stepwise", "charts", "numbers", "cohorts", "series", "runs"})
      run.erase(key);
    std::string text = run.dump(-1, ' ', false, Json::error_handler_t::replace);
    under_way()->asked.push_back({std::move(run), std::move(text)});
  }
  return worked_on(request.value("stepwise", false));
}

Json live_more() {
  if (!under_way()) throw mistake_of_request("more: no run is under way");
  return worked_on(true);
}

}  // namespace stoverturn
