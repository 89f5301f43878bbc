#include <cstdio>
#include <memory>

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include "fitting/on_threads.hpp"
#include "scenarios/files/atomic_file.hpp"
#include "scenarios/files/csv_write.hpp"
#include "scenarios/files/result_file.hpp"
#include "scenarios/program/commands.hpp"
#include "scenarios/results/forward_bands.hpp"
#include "scenarios/results/parameter_page.hpp"
#include "scenarios/results/table_print.hpp"

namespace stoverturn {
namespace {

struct RunOptions {
  std::string file, output;
  std::vector<std::string> set;
  std::string draws;
  int threads = 0;
  bool overwrite = false, daily = false, json = false, quiet = false;
};

struct OutputFiles {
  std::filesystem::path results, key_numbers, series;
  explicit OutputFiles(const RunOptions& o) {
    const std::string stem = output_stem(o.output, std::filesystem::path(o.file).stem().string());
    results = stem + ".h5";
    key_numbers = stem + "-key-numbers.csv";
    series = stem + (o.daily ? "-daily.csv" : "-monthly.csv");
  }
  std::vector<std::filesystem::path> all() const { return {results, key_numbers, series}; }
};

void run(const RunOptions& o) {
  const OutputFiles files(o);
  if (std::error_code error; std::filesystem::equivalent(files.results, o.file, error)) {
    throw FileError(files.results, "would replace the file that is run; choose another name with --output");
  }
  std::vector<std::string> set = o.set;
  if (!o.draws.empty()) set.push_back("draws=" + o.draws);
  LoadedScenario loaded = load_scenario(o.file, set);
  refuse_existing(files.all(), o.overwrite);
  for (std::string& note : parameter_notes(loaded.scenario))
    loaded.scenario.warnings.push_back(std::move(note));
  const RunProgress progress = progress_bar();
  const Results results =
      run_with_bands(loaded.scenario, loaded.climates, loaded.texts, progress, on_threads(o.threads));
  if (progress) progress(1.0);

  write_results(files.results, results);
  write_key_numbers_csv(files.key_numbers, results);
  write_series_csv(files.series, results, o.daily);
  fmt::print("{}", o.json ? json_key_numbers(results) : printed_table(results));
  if (!o.quiet) tell_written(files.all());
}

}  // namespace

void add_run_command(CLI::App& app) {
  const auto o = std::make_shared<RunOptions>();
  CLI::App* command =
      app.add_subcommand("run", "Simulate every treatment of a scenario and write its results");
  command->footer(
      "Prints one block a treatment and writes NAME.h5, NAME-key-numbers.csv and NAME-monthly.csv.\n"
      "Example:  stoverturn run farm.toml --set harvest.grain_yield=\"180 bu/acre\" --set k_hol@stalk=0.04 "
      "-o dry");
  command->add_option("FILE", o->file, "scenario (TOML), or a result file to run again exactly")->required();
  command->add_option("-o,--output", o->output,
                      "base name of the files written (default: FILE's, in this folder)");
  command
      ->add_option("--set", o->set, "key.path=value of the file, or parameter[@component][@treatment]=value")
      ->allow_extra_args(false)
      ->type_name("NAME=VALUE");
  command
      ->add_option("--draws", o->draws,
                   "give every number a range, from so many new places, or draws of the fit that FILE names; "
                   "short for --set draws=N")
      ->type_name("N");
  command->add_option("--threads", o->threads, "threads for draws (default: all)")
      ->check(CLI::Range(1, 4096));
  command->add_flag("--overwrite", o->overwrite, "replace files that exist");
  command->add_flag("--daily", o->daily, "write the series for every day instead of every month");
  command->add_flag("--json", o->json, "print the key numbers as JSON instead of the table");
  command->add_flag("--quiet", o->quiet, "do not name the files written");
  command->callback([o] { run(*o); });
}

}  // namespace stoverturn
