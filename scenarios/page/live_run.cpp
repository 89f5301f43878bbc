#include <algorithm>
#include <array>
#include <cmath>
#include <memory>
#include <optional>

#include <fmt/format.h>

#include "scenarios/page/live_engine.hpp"
#include "scenarios/page/live_numbers.hpp"
#include "scenarios/plan/forward_fit.hpp"
#include "scenarios/results/forward_bands.hpp"
#include "scenarios/results/parameter_page.hpp"
#include "scenarios/results/read_with_files.hpp"
#include "scenarios/results/run_scenario.hpp"

namespace stoverturn {
namespace {

constexpr std::size_t draws_a_step = 8;
constexpr std::size_t kept_readings = 4, kept_drivers = 24;

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

bool same_days(const Weather& a, const Weather& b) {
  const auto same = [](double x, double y) { return x == y || (std::isnan(x) && std::isnan(y)); };
  if (a.start != b.start || a.days.size() != b.days.size() || !same(a.latitude_deg, b.latitude_deg) ||
      !same(a.elevation_m, b.elevation_m)) {
    return false;
  }
  return std::equal(
      a.days.begin(), a.days.end(), b.days.begin(), [&](const WeatherDay& x, const WeatherDay& y) {
        return std::all_of(weather_fields.begin(), weather_fields.end(),
                           [&](const WeatherField& field) { return same(x.*field.member, y.*field.member); });
      });
}

/// Drivers of the weather that is in use.
KnownDrivers& drivers_in(const Weather& weather) {
  static Weather of;
  static KnownDrivers known;
  if (!same_days(weather, of)) {
    of = weather;
    known.entries.clear();
  }
  known.keep_last(kept_drivers);
  return known;
}

/// A run with draws, some of them done.
struct UnderWay {
  LoadedScenario loaded;
  LiveWanted wanted;
  std::optional<BandsUnderWay> run;
};
std::unique_ptr<UnderWay>& under_way() {
  static std::unique_ptr<UnderWay> kept;
  return kept;
}

LoadedScenario loaded_for(const Json& request) {
  std::vector<std::string> overrides;
  if (const auto set = request.find("set"); set != request.end() && set->is_array()) {
    for (const Json& text : *set) {
      if (text.is_string()) overrides.push_back(text.get<std::string>());
    }
  }
  if (const auto draws = request.find("draws"); draws != request.end() && draws->is_number() && *draws > 0)
    overrides.push_back(fmt::format("draws={}", draws->get<double>()));
  FilesBeside files;
  files.text_of = [&](const std::string& file) { return file_of(request, file); };
  files.read_weather = read_once;
  const std::string text = scenario_text(request);
  LoadedScenario loaded = read_with_files(text, optional_text(request, "name", "scenario"), overrides, files);
  loaded.texts.clear();
  for (std::string& note : parameter_notes(loaded.scenario))
    loaded.scenario.warnings.push_back(std::move(note));
  if (const auto draws = request.find("draws"); draws != request.end() && *draws == 0)
    loaded.scenario.draws.reset();
  return loaded;
}

Json step() {
  UnderWay& now = *under_way();
  if (!now.run->done()) now.run->step(draws_a_step);
  if (!now.run->done()) return {{"more", true}, {"done", now.run->share_done()}};
  const Json answer = live_answer(now.run->finish(), now.loaded.scenario, now.wanted);
  under_way().reset();
  return answer;
}

}  // namespace

Json live_run(const Json& request) {
  under_way().reset();
  auto now = std::make_unique<UnderWay>();
  now->loaded = loaded_for(request);
  now->wanted = live_wanted(request);
  now->run.emplace(now->loaded.scenario, now->loaded.climates, std::vector<KeptText>{}, RunProgress{},
                   &drivers_in(now->loaded.climates.weather));
  under_way() = std::move(now);
  if (request.value("stepwise", false) && !under_way()->run->done())
    return {{"more", true}, {"done", under_way()->run->share_done()}};
  Json answer = step();
  while (answer.contains("more")) answer = step();
  return answer;
}

Json live_more() {
  if (!under_way()) throw mistake_of_request("more: no run is under way");
  return step();
}

}  // namespace stoverturn
