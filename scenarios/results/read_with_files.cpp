#include "scenarios/results/read_with_files.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/weather/conditions_reading.hpp"

namespace stoverturn {

TextOf keeping(LoadedScenario& loaded, TextOf find) {
  return [&loaded, find = std::move(find)](const std::string& file) -> std::optional<std::string> {
    for (const KeptText& text : loaded.texts) {
      if (text.name == file_prefix + file) return text.text;
    }
    std::optional<std::string> found = find(file);
    if (found) loaded.texts.push_back({file_prefix + file, *found});
    return found;
  };
}

void keep_weather_notes(const std::vector<std::string>& notes, LoadedScenario& loaded) {
  if (notes.empty()) return;
  loaded.scenario.warnings.insert(loaded.scenario.warnings.end(), notes.begin(), notes.end());
  loaded.texts.push_back({weather_notes_name, fmt::format("{}", fmt::join(notes, "\n"))});
}

void read_weather_of(const FilesBeside& files, LoadedScenario& loaded) {
  if (!loaded.scenario.weather) return;
  const WeatherPlan& plan = *loaded.scenario.weather;
  if (plan.normals) {
    loaded.climates.weather = files.planned_weather(loaded.scenario);
    return;
  }
  const std::optional<std::string> text = files.text_of(plan.file);
  if (!text) {
    throw InputError({{plan.at, fmt::format("file: there is no weather file {}", files.called(plan.file))}});
  }
  const WeatherRecord record = files.read_weather(
      *text, plan.file,
      {plan.latitude_deg, plan.elevation_m, plan.longest_gap_d, plan.station, plan.columns_in});
  if (std::isnan(record.weather.latitude_deg)) {
    throw InputError(
        {{plan.at, fmt::format("{} does not say its latitude; write latitude = \"42.0 N\" under [weather]",
                               plan.file)}});
  }
  loaded.climates.weather = record.weather;
  keep_weather_notes(weather_notes(record, plan.file), loaded);
}

void read_logs_of(const FilesBeside& files, LoadedScenario& loaded) {
  for (const Treatment& t : loaded.scenario.treatments) {
    if (!t.conditions || t.conditions->log_file.empty()) continue;
    const std::string& file = t.conditions->log_file;
    const bool known = std::any_of(loaded.climates.logs.begin(), loaded.climates.logs.end(),
                                   [&](const auto& log) { return log.first == file; });
    if (known) continue;
    const std::optional<std::string> text = files.text_of(file);
    if (!text) {
      throw InputError({{t.conditions->at, fmt::format("log: there is no file {}", files.called(file))}});
    }
    loaded.climates.logs.emplace_back(file, read_conditions_log(*text, file));
    loaded.texts.push_back({log_prefix + file, *text});
  }
}

LoadedScenario read_with_files(const std::string& text, const std::string& name,
                               const std::vector<std::string>& overrides, const FilesBeside& files) {
  LoadedScenario loaded;
  loaded.scenario = read_scenario(text, name, overrides, keeping(loaded, files.text_of));
  read_weather_of(files, loaded);
  read_logs_of(files, loaded);
  return loaded;
}

}  // namespace stoverturn
