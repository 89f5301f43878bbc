#include <cmath>
#include <memory>
#include <string_view>
#include <utility>

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include "scenarios/decide/timing.hpp"
#include "scenarios/ensemble/ensemble.hpp"
#include "scenarios/program/commands.hpp"
#include "scenarios/stand/stand_data.hpp"
#include "scenarios/text/csv_text.hpp"
#include "scenarios/text/wrapped.hpp"
#include "scenarios/trial/measure_names.hpp"
#include "scenarios/weather/weather_reading.hpp"

namespace stoverturn {
namespace {

struct CheckOptions {
  std::string file, station, columns_in;
  std::vector<std::string> set;
};

/// What ensemble, timing and planting would refuse; all of it at once.
void check_many_runs(const std::string& file, const std::vector<std::string>& set,
                     const LoadedScenario& loaded) {
  Mistakes mistakes;
  const auto gather = [&](const auto& work) {
    try {
      work();
    } catch (const InputError& error) {
      mistakes.add(error);
    }
  };
  const Scenario& scenario = loaded.scenario;
  gather([&] { run_numbers(scenario); });
  if (scenario.ensemble.given) gather([&] { futures_of(scenario, loaded.climates); });
  if (scenario.timing.given && !is_hdf5(file)) {
    std::vector<ChosenTiming> chosen;
    gather([&] { load_with_choices(file, read_text(file), scenario, set, chosen); });
  }
  mistakes.throw_if_any();
}

/// Every site of a scenario's table, its weather too; the scenario at the first of them.
LoadedScenario load_at_sites(const std::string& file, const std::vector<std::string>& set) {
  const std::string text = is_hdf5(file) ? "" : read_text(file);
  if (text.empty() || is_fit_plan(text)) return load_scenario(file, set);
  LoadedScenario first;
  Mistakes mistakes;
  bool is_first = true;
  for (const SiteRow& site : load_sites(file, text, set)) {
    try {
      try {
        LoadedScenario there = load_at_site(file, text, set, site);
        if (std::exchange(is_first, false)) first = std::move(there);
      } catch (const InputError& error) {
        tell_of_site(site, error);
      }
    } catch (const InputError& error) {
      mistakes.add(error);
    }
  }
  mistakes.throw_if_any();
  return first;
}

void check_scenario(const std::string& file, const std::vector<std::string>& set) {
  const LoadedScenario loaded = load_at_sites(file, set);
  check_many_runs(file, set, loaded);
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

std::string numbers_text(const std::vector<Observation>& observations) {
  std::array<int, measures> count{};
  for (const Observation& o : observations) ++count[static_cast<std::size_t>(o.measure)];
  std::string text;
  for (std::size_t m = 0; m < measures; ++m) {
    if (count[m] > 0)
      text += fmt::format("{}{} of {}", text.empty() ? "" : ", ", count[m], measure_names[m].name);
  }
  return text;
}

void check_design(const std::string& file, const std::vector<std::string>& set) {
  std::vector<std::string> quick = set;
  quick.emplace_back("trial.draws=1");
  const LoadedDesign loaded = load_design(file, quick, one_after_the_other);
  fmt::print("{} is in order: {} kinds of bags, {} days to choose from, {} unknowns.\n", file,
             loaded.model.cells.size(), loaded.model.candidates, loaded.model.unknowns.size());
}

void check_fit(const std::string& file, const std::vector<std::string>& set) {
  const LoadedFit loaded = load_fit(file, set);
  const FitProblem problem = fit_problem(loaded.plan, loaded.trials);
  const std::vector<Unknown>& unknowns = problem.posterior->unknowns();
  const std::vector<Observation>& observations = problem.posterior->model().observations();
  fmt::print("{} is in order: {} unknowns from {} numbers ({}) of {} treatments.\n", file, unknowns.size(),
             observations.size(), numbers_text(observations), problem.treatments.size());
  for (const Unknown& u : unknowns) {
    const std::string unit = u.unit == "1" ? "" : " " + u.unit;
    std::string prior;
    if (u.prior.shape == Prior::Shape::normal) {
      const auto [low, high] = central_range(u.prior);
      prior = fmt::format("; nine of ten between {:.3g} and {:.3g}", from_fit_scale(u.scale, low),
                          from_fit_scale(u.scale, high));
    }
    fmt::print("  {:<32} from {:.3g}{}, within {:.3g} to {:.3g}{}\n", u.name, u.start, unit, u.lower, u.upper,
               prior);
  }
  for (const LoadedTrial& trial : loaded.trials) {
    for (const std::string& warning : trial.scenario.warnings) fmt::print("{}", wrapped("Note: ", warning));
  }
  for (const std::string& warning : problem.warnings) fmt::print("{}", wrapped("Note: ", warning));
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

void check_stand(const std::string& file, const std::string& text) {
  const StandData data = read_stand_data(text, file);
  std::string counted;
  for (std::size_t count = 0; count < stand_counts.size(); ++count) {
    if (data.has(count))
      counted += fmt::format("{}{}", counted.empty() ? "" : ", ", stand_counts[count].name);
  }
  const std::size_t rows = data.rows.size(), treatments = data.treatments.size();
  fmt::print("{} is in order: {} row{}, {} treatment{}, {}.\n", file, rows, rows == 1 ? "" : "s", treatments,
             treatments == 1 ? "" : "s", counted.empty() ? "nothing counted yet" : "counted are " + counted);
}

void check_weather(const CheckOptions& o, const std::string& text) {
  const std::string& file = o.file;
  WeatherOptions options;
  options.station = o.station;
  options.columns_in = columns_in_of(o.columns_in);
  const WeatherRecord record = read_weather(text, file, options);
  fmt::print("{} is in order: {}, {} days (`stoverturn weather {}` says more).\n", file, record.format,
             record.weather.days.size(), file);
  for (const std::string& doubt : doubts_of(record.weather)) fmt::print("{}", wrapped("Note: ", doubt));
}

/// Options that belong to daily weather say nothing of any other file.
void refuse_weather_options(const CheckOptions& o, std::string_view instead) {
  Mistakes mistakes;
  const std::pair<std::string_view, const std::string&> given[] = {{"station", o.station},
                                                                   {"columns-in", o.columns_in}};
  for (const auto& [option, value] : given) {
    if (value.empty()) continue;
    mistakes.add({"command line"}, fmt::format("--{}: belongs to daily weather; {}", option, instead));
  }
  mistakes.throw_if_any();
}

void check(const CheckOptions& o) {
  const std::string& file = o.file;
  const std::string text = read_text(file);
  if (!file.ends_with(".csv")) {
    refuse_weather_options(o, "a scenario says it under [weather]");
    if (is_design_plan(text)) return check_design(file, o.set);
    return is_fit_plan(text) ? check_fit(file, o.set) : check_scenario(file, o.set);
  }
  if (trimmed(text).empty()) {
    throw InputError(
        {{{file, 0, 0}, "the file is empty; wanted is trial data, stand counts or daily weather"}});
  }
  if (is_stand_data(text)) {
    refuse_weather_options(o, "these are stand counts");
    return check_stand(file, text);
  }
  if (!is_trial_data(text)) return check_weather(o, text);
  refuse_weather_options(o, "this is trial data");
  check_trial(file, text);
}

}  // namespace

void add_check_command(CLI::App& app) {
  const auto o = std::make_shared<CheckOptions>();
  CLI::App* command = app.add_subcommand("check",
                                         "Read a scenario or a fit and their files, trial data, stand counts "
                                         "or weather; list every mistake, run nothing");
  command->add_option("FILE", o->file, "scenario or fit (TOML), trial data, stand counts or weather (CSV)")
      ->required();
  command->add_option("--set", o->set, "as in run")->allow_extra_args(false)->type_name("NAME=VALUE");
  command->add_option("--station", o->station, "of daily weather: which of several stations");
  command
      ->add_option("--columns-in", o->columns_in,
                   "of daily weather: units where the header states none: us, metric or tenths")
      ->check(CLI::IsMember(columns_in_words));
  command->callback([o] { check(*o); });
}

}  // namespace stoverturn
