#include <memory>

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include "fitting/on_threads.hpp"
#include "scenarios/decide/planting.hpp"
#include "scenarios/ensemble/ensemble_results.hpp"
#include "scenarios/files/atomic_file.hpp"
#include "scenarios/files/ensemble_csv.hpp"
#include "scenarios/files/result_file.hpp"
#include "scenarios/program/commands.hpp"
#include "scenarios/program/many_runs.hpp"
#include "scenarios/results/table_print.hpp"

namespace stoverturn {
namespace {

namespace fs = std::filesystem;

Ensemble ensemble_of(const LoadedScenario& loaded, const ForEach& for_each) {
  const LoadSite load = [&loaded](std::size_t) { return SiteScenario{loaded.scenario, loaded.climates}; };
  return Ensemble({{"the field", not_measured, not_measured, {}, {}}}, load, for_each, planting_series());
}

void look_at_planting(const ManyRuns& o) {
  if (is_hdf5(o.file)) throw FileError(o.file, "planting starts from a scenario file (TOML)");
  const std::string stem = output_stem(o.output, fs::path(o.file).stem().string() + "-planting");
  const fs::path results_file = stem + ".h5", numbers_file = stem + ".csv";
  const fs::path folder = fs::path(o.file).parent_path();
  const std::string text = read_text(o.file);
  const auto loaded_over = [&](const std::string& with, const std::string& duration) {
    std::vector<std::string> settings = o.settings();
    settings.insert(settings.begin(), "duration=" + duration);
    return load_scenario_text(with, o.file, settings, on_disk(folder), folder);
  };
  LoadedScenario day = loaded_over(text, "1 year");
  const std::string years = fmt::format("{} years", day.scenario.planting.build_up_years);
  LoadedScenario build_up = loaded_over(text, years);
  const bool own = has_own_harvests(build_up.scenario);
  if (own) {
    day = build_up;
  } else {
    build_up = loaded_over(with_same_harvests(text), years);
  }
  require_planting(day.scenario);
  refuse_existing({results_file, numbers_file}, o.overwrite);
  ask_for_planting_day(day.scenario);
  ask_for_build_up(build_up.scenario);

  const ForEach for_each = on_threads(o.threads);
  Ensemble of_day = ensemble_of(day, for_each), of_years = ensemble_of(build_up, for_each);
  const std::size_t all = 2 * of_day.shape().runs();
  if (!o.quiet) {
    fmt::print(stderr, "{} runs: {} treatments x {} weathers x {} draws, to the first planting and over {}\n",
               all, of_day.shape().treatments, of_day.shape().futures, of_day.shape().draws, years);
  }
  const RunProgress progress = o.quiet ? RunProgress{} : progress_bar();
  const auto after = [&](std::size_t before) {
    return [&progress, all, before](std::size_t runs) {
      if (progress) progress(static_cast<double>(before + runs) / static_cast<double>(all));
    };
  };
  Results results = run_in_memory(of_day, day.texts, after(0));
  const Results stocks = run_in_memory(of_years, {}, after(of_day.shape().runs()));
  add_planting_numbers(day.scenario, seedbeds(of_day, day.climates, for_each), stocks, results);
  if (progress) progress(1.0);
  const std::vector<std::string> notes = planting_notes(day.scenario, own ? nullptr : &build_up.scenario);
  results.notes.insert(results.notes.begin(), notes.begin(), notes.end());
  write_results(results_file, results);
  write_ensemble_csv(numbers_file, results);
  fmt::print("{}", o.json ? json_key_numbers(results) : printed_planting(results));
  if (!o.quiet) tell_written({results_file, numbers_file});
}

}  // namespace

void add_planting_command(CLI::App& app) {
  const auto o = std::make_shared<ManyRuns>();
  CLI::App* command = app.add_subcommand("planting",
                                         "What planting day will look like over every weather year: cover, "
                                         "pieces, seedbed, N tied up, build-up");
  command->footer(
      "FILE is a scenario with [next_crop]; a section [planting] may set the length of short pieces, the "
      "depth of\n"
      "the seed, and the years of build-up (docs/file-formats.md). Writes NAME-planting.h5 and .csv.\n"
      "Example:  stoverturn planting scenarios/examples/fall-or-spring.toml");
  add_options(*command, *o, "-planting");
  command->callback([o] { look_at_planting(*o); });
}

}  // namespace stoverturn
