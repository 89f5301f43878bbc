#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <iostream>
#include <memory>

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <CLI/CLI.hpp>

#include "scenarios/files/atomic_file.hpp"
#include "scenarios/plan/new_texts.hpp"
#include "scenarios/program/commands.hpp"
#include "scenarios/stand/stand_data.hpp"
#include "scenarios/text/calendar.hpp"
#include "scenarios/text/csv_text.hpp"
#include "scenarios/trial/fit_plan.hpp"
#include "scenarios/trial/trial_data.hpp"
#include "scenarios/weather/climates.hpp"
#include "scenarios/weather/weather_reading.hpp"

namespace stoverturn {
namespace {

struct NewOptions {
  std::string file;
  bool overwrite = false, ask = false, single = false;
  NewScenario scenario;
  NewTrial trial;
  NewFit fit;
  NewStand stand;
  std::string start, pulls = "0, 45, 150, 200, 260, 360, 540";
};

/// One line from the terminal; an empty answer keeps what stands in brackets.
void ask(const std::string& question, std::string& answer) {
  fmt::print(stderr, "{} [{}]: ", question, answer);
  std::string line;
  if (std::getline(std::cin, line) && !trimmed(line).empty()) answer = trimmed(line);
}

/// A climate stands in for weather that is not there.
constexpr const char* usual_file = "weather.csv";
constexpr const char* usual_climate = "central Iowa";

bool is_beside(const std::string& scenario, const std::string& file) {
  return std::filesystem::exists(std::filesystem::path(scenario).parent_path() / file);
}

void choose_weather(NewScenario& s, const std::string& scenario) {
  if (!s.weather_file.empty() || !s.climate.empty()) return;
  (is_beside(scenario, usual_file) ? s.weather_file : s.climate) =
      is_beside(scenario, usual_file) ? usual_file : usual_climate;
}

/// A file has a dot in its name, or is there.
void ask_weather(NewScenario& s, const std::string& scenario) {
  std::string answer = s.weather_file.empty() ? s.climate : s.weather_file;
  fmt::print(stderr, "Built-in climates: {}\n", fmt::join(climate_names(), ", "));
  ask("File of daily weather, or one of these climates?", answer);
  const bool is_file = answer.find('.') != std::string::npos || is_beside(scenario, answer);
  s.weather_file = is_file ? answer : "";
  s.climate = is_file ? "" : answer;
}

void ask_scenario(NewScenario& s, const std::string& scenario) {
  ask("What is the field called?", s.title);
  ask("Units, us or si?", s.units);
  if (s.units == "si" && s.grain_yield == NewScenario{}.grain_yield) s.grain_yield = "12.5 t/ha";
  ask("Day of harvest?", s.harvest);
  ask("Grain yield?", s.grain_yield);
  ask_weather(s, scenario);
  ask("Texture of the topsoil?", s.texture);
  std::string length = s.units == "us" ? "20 in" : "50 cm";
  ask("How long are the pieces of stalk?", length);
  s.cut_length = length;
  ask("When is the next crop planted (month-day)?", s.planting);
}

void write_scenario(NewOptions& o) {
  refuse_existing({o.file}, o.overwrite);
  choose_weather(o.scenario, o.file);
  if (o.ask) ask_scenario(o.scenario, o.file);
  o.scenario.compare = !o.single;
  const std::string text = new_scenario_text(o.scenario);
  try {
    read_scenario(text, o.file, {});
  } catch (const InputError& error) {
    throw InputError({{{"nothing was written", 0, 0},
                       fmt::format("the answers make no valid scenario:\n{}", error.what())}});
  }
  write_text(o.file, text);
  fmt::print("wrote {0}. Read it through, then:  stoverturn run {0}\n", o.file);
  const std::string& weather = o.scenario.weather_file;
  if (weather.empty()) {
    fmt::print(
        "Its weather is made from the climate of {}, near enough for a first look; daily weather of your own "
        "is better.\n",
        o.scenario.climate);
  } else if (!is_beside(o.file, weather)) {
    fmt::print(
        "It wants daily weather in {0}, which is not there yet (`stoverturn new weather {0}` shows the form; "
        "--climate does without).\n",
        (std::filesystem::path(o.file).parent_path() / weather).string());
  }
}

void write_weather(const NewOptions& o) {
  refuse_existing({o.file}, o.overwrite);
  const std::string text = new_weather_text(o.scenario.units);
  read_weather(text, o.file);
  write_text(o.file, text);
  fmt::print("wrote {0}: three invented days to replace by yours. Then:  stoverturn weather {0}\n", o.file);
}

std::vector<std::chrono::sys_days> pull_dates(const NewOptions& o) {
  std::chrono::sys_days start;
  try {
    start = parse_date(o.start);
  } catch (const DateError& error) {
    throw InputError({{{"command line", 0, 0}, fmt::format("--start: {}", error.what())}});
  }
  std::vector<std::chrono::sys_days> dates;
  for (std::size_t begin = 0; begin <= o.pulls.size();) {
    const std::size_t end = std::min(o.pulls.find(',', begin), o.pulls.size());
    const std::string_view word = trimmed(std::string_view(o.pulls).substr(begin, end - begin));
    const auto day = number(word);
    if (!day || *day < 0.0 || *day > 36525.0 || *day != std::floor(*day)) {
      throw InputError(
          {{{"command line", 0, 0},
            fmt::format("--pulls: found '{}'; wanted whole days after the start, such as \"0, 45, 150\"",
                        word)}});
    }
    dates.push_back(start + std::chrono::days{static_cast<int>(*day)});
    begin = end + 1;
  }
  return dates;
}

void write_trial(NewOptions& o) {
  refuse_existing({o.file}, o.overwrite);
  o.trial.pulls = pull_dates(o);
  const std::string text = new_trial_text(o.trial);
  const TrialData sheet = read_trial_data(text, o.file);
  write_text(o.file, text);
  fmt::print("wrote {0}: {1} bags to weigh. When rows are filled in:  stoverturn check {0}\n", o.file,
             sheet.rows.size());
}

void write_fit_file(const NewOptions& o) {
  refuse_existing({o.file}, o.overwrite);
  const std::string text = new_fit_text(o.fit);
  read_fit_plan(text, o.file);
  write_text(o.file, text);
  fmt::print("wrote {0}: k_hol from {1} and {2} beside it. Then:  stoverturn check {0}\n", o.file, o.fit.data,
             o.fit.scenario);
}

void write_stand(const NewOptions& o) {
  refuse_existing({o.file}, o.overwrite);
  const std::string text = new_stand_text(o.stand);
  const StandData sheet = read_stand_data(text, o.file);
  write_text(o.file, text);
  fmt::print("wrote {0}: {1} lengths of row to count. When rows are filled in:  stoverturn stand {0}\n",
             o.file, sheet.rows.size());
}

CLI::App* add_kind(CLI::App& command, const std::shared_ptr<NewOptions>& o, const char* name,
                   const char* what) {
  CLI::App* kind = command.add_subcommand(name, what);
  kind->add_option("FILE", o->file, "file to write")->required();
  kind->add_flag("--overwrite", o->overwrite, "replace a file that exists");
  return kind;
}

}  // namespace

void add_new_command(CLI::App& app) {
  const auto o = std::make_shared<NewOptions>();
  CLI::App* command = app.add_subcommand(
      "new", "Write a commented scenario, weather file, trial sheet, fit file or stand sheet to start from");
  command->require_subcommand(1);
  command->footer(
      "Example:  stoverturn new scenario farm.toml --grain-yield \"215 bu/acre\" --weather station.csv\n"
      "          stoverturn new trial bags.csv --start 2026-11-01 --treatments closed,opened --replicates 4\n"
      "          stoverturn new fit trial.toml --data bags.csv --scenario farm.toml");

  CLI::App* scenario = add_kind(*command, o, "scenario", "A scenario file with comments");
  NewScenario& s = o->scenario;
  scenario->add_flag("--ask", o->ask, "ask a few questions on the terminal");
  scenario->add_option("--title", s.title, "heading of the results")->capture_default_str();
  const auto add_units = [&s](CLI::App* to) {
    to->add_option("--units", s.units, "us or si")->check(CLI::IsMember({"us", "si"}))->capture_default_str();
  };
  add_units(scenario);
  scenario->add_option("--harvest", s.harvest, "day of harvest")->capture_default_str();
  auto* yield = scenario->add_option("--grain-yield", s.grain_yield, "with its unit")->capture_default_str();
  scenario->add_option("--residue", s.residue, "dry matter left, in place of the grain yield")
      ->excludes(yield);
  scenario->add_option("--material", s.material, "whose residue it is")->capture_default_str();
  auto* file =
      scenario->add_option("--weather", s.weather_file, "file of daily weather, from the scenario's folder");
  scenario
      ->add_option("--climate", s.climate,
                   "a built-in climate in place of a file (`stoverturn weather --list` names them)")
      ->excludes(file);
  scenario->add_option("--latitude", s.latitude, "where the weather file does not say it");
  scenario->add_option("--texture", s.texture, "of the topsoil")->capture_default_str();
  scenario->add_option("--cut-length", s.cut_length, "length of the pieces of stalk, with its unit");
  scenario->add_option("--planting", s.planting, "of the next crop, month-day")->capture_default_str();
  scenario->add_option("--duration", s.duration, "how long to run")->capture_default_str();
  scenario->add_flag("--single", o->single, "one field, no treatments to compare");
  scenario->callback([o] { write_scenario(*o); });

  CLI::App* weather = add_kind(*command, o, "weather", "The form of a daily weather file");
  add_units(weather);
  weather->callback([o] { write_weather(*o); });

  CLI::App* trial = add_kind(*command, o, "trial", "A data sheet for litterbags, one row a bag");
  trial->add_option("--start", o->start, "day on which the bags are laid out")->required();
  trial->add_option("--pulls", o->pulls, "days after the start at which bags are pulled")
      ->capture_default_str();
  trial->add_option("--treatments", o->trial.treatments, "names, apart by commas")->delimiter(',');
  trial->add_option("--placements", o->trial.placements, "of standing, surface, buried")
      ->delimiter(',')
      ->check(CLI::IsMember({"standing", "surface", "buried"}));
  trial->add_option("--replicates", o->trial.replicates, "bags of a treatment, placement and pull")
      ->check(CLI::Range(1, 1000))
      ->capture_default_str();
  trial->callback([o] { write_trial(*o); });

  CLI::App* fit = add_kind(*command, o, "fit", "A fit file: what to estimate from the bags of a trial");
  fit->add_option("--title", o->fit.title, "heading of the results")->capture_default_str();
  fit->add_option("--data", o->fit.data, "file of the bags, from the fit file's folder")
      ->capture_default_str();
  fit->add_option("--scenario", o->fit.scenario, "file of the scenario, from the fit file's folder")
      ->capture_default_str();
  fit->callback([o] { write_fit_file(*o); });

  CLI::App* stand =
      add_kind(*command, o, "stand", "A data sheet for counts of plants and ears, one row a length of row");
  stand->add_option("--treatments", o->stand.treatments, "names, apart by commas")->delimiter(',');
  stand->add_option("--strips", o->stand.strips, "of each treatment")
      ->check(CLI::Range(1, 100))
      ->capture_default_str();
  stand->add_option("--rows", o->stand.rows, "counted in a strip")
      ->check(CLI::Range(1, 100))
      ->capture_default_str();
  stand->add_option("--length-ft", o->stand.length_ft, "of row to count, in feet")
      ->check(CLI::Range(1.0, 10000.0))
      ->capture_default_str();
  stand->add_option("--width-in", o->stand.width_in, "between rows, in inches")
      ->check(CLI::Range(5.0, 100.0))
      ->capture_default_str();
  stand->callback([o] { write_stand(*o); });
}

}  // namespace stoverturn
