#include <memory>

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include "fitting/on_threads.hpp"
#include "scenarios/decide/timing.hpp"
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

void time_spreading(const ManyRuns& o) {
  if (is_hdf5(o.file)) throw FileError(o.file, "timing starts from a scenario file (TOML)");
  const std::string stem = output_stem(o.output, fs::path(o.file).stem().string() + "-timing");
  const fs::path results_file = stem + ".h5", numbers_file = stem + ".csv",
                 choices_file = stem + "-choices.csv";
  std::vector<std::string> set = o.settings();
  const std::string text = read_text(o.file);
  const Scenario as_written = load_scenario(o.file, set).scenario;
  set.insert(set.begin(), "duration=" + as_written.timing.duration);
  std::vector<ChosenTiming> chosen;
  LoadedScenario loaded = load_with_choices(o.file, text, as_written, set, chosen);
  refuse_existing({results_file, numbers_file, choices_file}, o.overwrite);
  ask_for_timing(loaded.scenario);
  const LoadSite load = [&](std::size_t) { return SiteScenario{loaded.scenario, loaded.climates}; };
  Ensemble ensemble({{"the field", not_measured, not_measured, {}, {}}}, load, on_threads(o.threads));
  const std::size_t runs = ensemble.shape().runs();
  if (!o.quiet) {
    fmt::print(stderr, "{} runs: {} treatments x {} weathers x {} draws\n", runs, ensemble.shape().treatments,
               ensemble.shape().futures, ensemble.shape().draws);
  }
  const RunProgress progress = o.quiet ? RunProgress{} : progress_bar();
  loaded.texts.push_back({"choices", choices_csv(loaded.scenario, chosen)});
  Results results = run_in_memory(ensemble, loaded.texts, [&](std::size_t done) {
    if (progress) progress(static_cast<double>(done) / static_cast<double>(runs));
  });
  if (progress) progress(1.0);
  add_timing_numbers(ensemble, chosen, results);
  add_soil_on_the_day(ensemble, loaded.climates, chosen, results);
  write_results(results_file, results);
  write_ensemble_csv(numbers_file, results);
  write_text(choices_file, choices_csv(loaded.scenario, chosen));
  fmt::print("{}", o.json ? json_key_numbers(results) : printed_timing(results, loaded.scenario, chosen));
  if (!o.quiet) tell_written({results_file, numbers_file, choices_file});
}

}  // namespace

void add_timing_command(CLI::App& app) {
  const auto o = std::make_shared<ManyRuns>();
  CLI::App* command = app.add_subcommand(
      "timing",
      "Whether, when and with what to spread nitrogen on residue, over every weather year of the file");
  command->footer(
      "FILE is a scenario with a section [timing]: dates, rates, products (docs/deciding.md). Every "
      "combination runs\n"
      "in every weather year and is held against the same treatment without it. Writes NAME-timing.h5, .csv "
      "and\n"
      "-choices.csv.\n"
      "Example:  stoverturn timing scenarios/examples/fall-or-spring.toml");
  add_options(*command, *o, "-timing");
  command->callback([o] { time_spreading(*o); });
}

}  // namespace stoverturn
