#include <cmath>
#include <memory>

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include "scenarios/program/commands.hpp"
#include "scenarios/text/csv_text.hpp"
#include "scenarios/text/wrapped.hpp"
#include "scenarios/trial/trial_data.hpp"
#include "scenarios/weather/weather_reading.hpp"

namespace stoverturn {
namespace {

void check_scenario(const std::string& file, const std::vector<std::string>& set) {
  const LoadedScenario loaded = load_scenario(file, set);
  const RunSpan span = run_span(loaded.scenario);
  std::size_t cohorts = 0;
  for (const Treatment& t : loaded.scenario.treatments) {
    cohorts += treatment_job(loaded.scenario, t, loaded.climates).job.cohorts.size();
  }
  fmt::print("{} is in order: {} treatment{}, {} cohorts, {} days.\n", file,
             loaded.scenario.treatments.size(), loaded.scenario.treatments.size() == 1 ? "" : "s", cohorts,
             span.days);
  for (const std::string& warning : loaded.scenario.warnings) fmt::print("{}", wrapped("Note: ", warning));
}

void check_trial(const std::string& file, const std::string& text) {
  const TrialData data = read_trial_data(text, file);
  std::size_t weighed = 0;
  for (const TrialRow& row : data.rows) {
    weighed += !std::isnan(row.values[trial_mass]) || !std::isnan(row.values[trial_mass_left]);
  }
  fmt::print("{} is in order: {} rows, {} of them with a mass.\n", file, data.rows.size(), weighed);
  fmt::print("Treatments and dates are checked against a scenario when the trial is fitted.\n");
}

void check_weather(const std::string& file, const std::string& text) {
  const WeatherRecord record = read_weather(text, file);
  fmt::print("{} is in order: {}, {} days (`stoverturn weather {}` says more).\n", file, record.format,
             record.weather.days.size(), file);
}

void check(const std::string& file, const std::vector<std::string>& set) {
  if (!file.ends_with(".csv")) return check_scenario(file, set);
  const std::string text = read_text(file);
  if (trimmed(text).empty()) {
    throw InputError({{{file, 0, 0}, "the file is empty; wanted is trial data or daily weather"}});
  }
  is_trial_data(text) ? check_trial(file, text) : check_weather(file, text);
}

}  // namespace

void add_check_command(CLI::App& app) {
  struct CheckOptions {
    std::string file;
    std::vector<std::string> set;
  };
  const auto o = std::make_shared<CheckOptions>();
  CLI::App* command = app.add_subcommand(
      "check", "Read a scenario and its files, trial data or weather; list every mistake, run nothing");
  command->add_option("FILE", o->file, "scenario (TOML), trial data or weather (CSV)")->required();
  command->add_option("--set", o->set, "as in run")->allow_extra_args(false)->type_name("NAME=VALUE");
  command->callback([o] { check(o->file, o->set); });
}

}  // namespace stoverturn
