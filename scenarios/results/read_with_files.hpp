#pragma once
#include <functional>
#include <string>
#include <vector>

#include "scenarios/plan/scenario_jobs.hpp"
#include "scenarios/results/results.hpp"
#include "scenarios/text/text_of.hpp"
#include "scenarios/weather/weather_reading.hpp"

namespace stoverturn {

/// A scenario read with all the files it names.
struct LoadedScenario {
  Scenario scenario;
  Climates climates;
  std::vector<KeptText> texts;
};

/// Where files that a scenario names come from.
struct FilesBeside {
  TextOf text_of;
  /// How a file is called in the message that it is missing.
  std::function<std::string(const std::string& file)> called = [](const std::string& file) { return file; };
  /// Readings, and generated weather, may be kept between calls.
  std::function<WeatherRecord(std::string_view text, const std::string& name, const WeatherOptions& options)>
      read_weather = stoverturn::read_weather;
  std::function<Weather(const Scenario& scenario)> planned_weather = [](const Scenario& scenario) {
    return stoverturn::planned_weather(scenario);
  };
};

/// What a text of LoadedScenario::texts is, before its name.
inline constexpr const char* log_prefix = "log: ";
inline constexpr const char* file_prefix = "file: ";
/// Name of the text that tells which days of the weather were filled.
inline constexpr const char* weather_notes_name = "weather_notes";

/// Reads a scenario with its weather and logs; its texts are those of files. Throws InputError.
LoadedScenario read_with_files(const std::string& text, const std::string& name,
                               const std::vector<std::string>& overrides, const FilesBeside& files);

/// The steps of it, for scenarios whose weather is elsewhere.
TextOf keeping(LoadedScenario& loaded, TextOf find);  ///< texts as `find` finds them, each kept once
void read_weather_of(const FilesBeside& files, LoadedScenario& loaded);
void read_logs_of(const FilesBeside& files, LoadedScenario& loaded);  ///< those that are not there yet
/// Days that were filled are told in the results, and again when these are run again.
void keep_weather_notes(const std::vector<std::string>& notes, LoadedScenario& loaded);

}  // namespace stoverturn
