#include <memory>

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include "fitting/on_threads.hpp"
#include "scenarios/ensemble/ensemble_results.hpp"
#include "scenarios/files/atomic_file.hpp"
#include "scenarios/files/checksum.hpp"
#include "scenarios/files/ensemble_csv.hpp"
#include "scenarios/files/part_file.hpp"
#include "scenarios/files/result_file.hpp"
#include "scenarios/program/commands.hpp"
#include "scenarios/program/many_runs.hpp"
#include "scenarios/program/ranks.hpp"
#include "scenarios/results/table_print.hpp"

namespace stoverturn {
namespace {

namespace fs = std::filesystem;

struct EnsembleOptions {
  ManyRuns runs;
  bool resume = false, keep_parts = false;
};

struct EnsembleFiles {
  fs::path results, numbers, series, sites, parts;
  explicit EnsembleFiles(const EnsembleOptions& o) {
    const std::string stem = output_stem(o.runs.output, fs::path(o.runs.file).stem().string() + "-ensemble");
    results = stem + ".h5";
    numbers = stem + ".csv";
    series = stem + "-series.csv";
    sites = stem + "-sites.csv";
    parts = stem + "-parts";
  }
};

/// The scenario, its sites, and all that its numbers depend on.
struct EnsembleInput {
  LoadedScenario first;
  std::string text;
  std::vector<SiteRow> sites;
  std::vector<KeptText> texts;
  std::string digest;
};

EnsembleInput read_input(const EnsembleOptions& o, const std::vector<std::string>& set) {
  if (is_hdf5(o.runs.file)) {
    throw FileError(o.runs.file,
                    "an ensemble starts from a scenario file (TOML); a result file keeps its text, and "
                    "not the weather of all sites");
  }
  EnsembleInput in;
  in.text = read_text(o.runs.file);
  // the table may give what the scenario lacks (weather, say), so it is read first
  std::vector<KeptText> table;
  in.sites = load_sites(o.runs.file, in.text, set, &table);
  try {
    in.first = load_at_site(o.runs.file, in.text, set, in.sites[0]);
  } catch (const InputError& error) {
    tell_of_site(in.sites[0], error);
  }
  in.texts = in.first.texts;
  std::string all = program_name();
  in.texts.insert(in.texts.end(), table.begin(), table.end());
  for (const KeptText& t : in.texts) all += t.name + '\0' + t.text + '\0';
  in.digest = sha256(all);
  return in;
}

/// Runs done, on the first rank's terminal.
class EnsembleProgress {
 public:
  EnsembleProgress(std::size_t runs, std::size_t done, bool shown)
      : runs_(runs), done_(done), bar_(shown ? progress_bar() : RunProgress{}) {}
  void add(std::size_t runs) {
    done_ += runs;
    if (bar_) bar_(static_cast<double>(done_) / static_cast<double>(runs_));
  }
  void end() const {
    if (bar_) bar_(1.0);
  }

 private:
  std::size_t runs_, done_;
  RunProgress bar_;
};

void refuse_parts(const EnsembleFiles& files, const EnsembleOptions& o) {
  if (!fs::exists(files.parts)) return;
  if (!fs::is_directory(files.parts)) throw FileError(files.parts, "is in the way of a folder of that name");
  if (o.resume || fs::is_empty(files.parts)) return;
  if (!o.runs.overwrite) {
    throw FileError(files.parts,
                    "holds parts of an ensemble that was interrupted or kept; go on with it by --resume, or "
                    "begin anew with --overwrite");
  }
  for (const fs::directory_entry& entry : fs::directory_iterator(files.parts)) {
    if (entry.path().extension() == ".h5" && entry.path().stem().string().starts_with("part-")) {
      fs::remove(entry.path());
    }
  }
}

void write_and_print(const Results& results, const EnsembleFiles& files, const EnsembleOptions& o) {
  std::vector<fs::path> written = {files.results, files.numbers};
  write_results(files.results, results);
  write_ensemble_csv(files.numbers, results);
  if (!results.series.empty()) {
    write_ensemble_series_csv(files.series, results);
    written.push_back(files.series);
  }
  if (results.sites.size() > 1) {
    write_sites_csv(files.sites, results);
    written.push_back(files.sites);
  }
  fmt::print("{}", o.runs.json ? json_key_numbers(results) : printed_ensemble(results));
  if (!o.runs.quiet) tell_written(written);
}

void run_ensemble(const EnsembleOptions& o, Ranks& ranks) {
  const EnsembleFiles files(o);
  const std::vector<std::string> set = o.runs.settings();
  const EnsembleInput in = read_input(o, set);
  const LoadSite load = [&](std::size_t site) {
    if (site == 0) return SiteScenario{in.first.scenario, in.first.climates};
    LoadedScenario loaded = load_at_site(o.runs.file, in.text, set, in.sites[site]);
    return SiteScenario{std::move(loaded.scenario), std::move(loaded.climates)};
  };
  Ensemble ensemble(in.sites, load, on_threads(o.runs.threads));
  const PartFiles parts(files.parts, in.digest);
  if (ranks.first()) {
    refuse_existing({files.results, files.numbers, files.series, files.sites}, o.runs.overwrite);
    refuse_parts(files, o);
    fs::create_directories(files.parts);
  }
  ranks.wait_for_all();

  std::vector<std::size_t> to_do;
  for (std::size_t p = 0; p < ensemble.parts(); ++p) {
    if (!parts.has(p, ensemble.runs_of_part(p).second, ensemble.numbers().columns)) to_do.push_back(p);
  }
  const EnsembleShape& shape = ensemble.shape();
  if (ranks.first() && !o.runs.quiet) {
    fmt::print(stderr, "{} runs: {} site{} x {} treatment{} x {} weather{} x {} draw{}{}\n", shape.runs(),
               shape.sites, shape.sites == 1 ? "" : "s", shape.treatments, shape.treatments == 1 ? "" : "s",
               shape.futures, shape.futures == 1 ? "" : "s", shape.draws, shape.draws == 1 ? "" : "s",
               to_do.size() < ensemble.parts()
                   ? fmt::format("; {} of {} parts are there already", ensemble.parts() - to_do.size(),
                                 ensemble.parts())
                   : "");
  }
  ranks.wait_for_all();  // all have seen the same parts
  std::size_t done = shape.runs();
  for (const std::size_t p : to_do) done -= ensemble.runs_of_part(p).second;
  EnsembleProgress progress(shape.runs(), done, ranks.first() && ranks.size() == 1 && !o.runs.quiet);
  ranks.share_out(to_do.size(), [&](std::size_t i) {
    std::size_t before = 0;
    parts.write(to_do[i], ensemble.run_part(to_do[i], [&](std::size_t runs) {
      progress.add(runs - before);
      before = runs;
    }));
  });
  ranks.wait_for_all();
  if (!ranks.first()) return;
  progress.end();

  std::vector<RunFailure> failures;
  for (std::size_t p = 0; p < ensemble.parts(); ++p) {
    for (RunFailure& f : parts.failures(p)) {
      failures.push_back({f.run + ensemble.runs_of_part(p).first, std::move(f.message)});
    }
  }
  refuse_no_runs(ensemble, failures);
  const PartColumns columns = [&](std::size_t part, std::size_t first, std::size_t last) {
    return parts.columns(part, first, last);
  };
  const bool single = in.first.scenario.ensemble.keep_runs.value_or(keeps_single_runs(ensemble));
  const Results results = ensemble_results(ensemble, columns, single, failures, in.texts);
  write_and_print(results, files, o);
  if (o.keep_parts) return;
  for (std::size_t p = 0; p < ensemble.parts(); ++p) fs::remove(parts.path(p));
  std::error_code not_empty;
  fs::remove(files.parts, not_empty);
}

}  // namespace

void add_ensemble_command(CLI::App& app) {
  const auto o = std::make_shared<EnsembleOptions>();
  CLI::App* command = app.add_subcommand(
      "ensemble", "Run a scenario over weather years, sites and draws, and give every number its spread");
  command->footer(
      "FILE is a scenario; its section [ensemble] says over what it is run and what is kept "
      "(docs/ensembles.md).\n"
      "Writes NAME-ensemble.h5 and .csv, with series and sites where there are any. While it runs, parts "
      "stand in\n"
      "NAME-ensemble-parts: a run that was interrupted goes on with --resume.\n"
      "Examples: stoverturn ensemble farm.toml --draws 200\n"
      "          mpirun -np 16 stoverturn ensemble county.toml --threads 4");
  add_options(*command, o->runs, "-ensemble");
  command->add_flag("--resume", o->resume, "go on with the parts that an interrupted run has left");
  command->add_flag("--keep-parts", o->keep_parts,
                    "leave the parts, each run's numbers in HDF5, where they are");
  command->callback([o] {
    Ranks ranks;
    if (ranks.size() == 1) return run_ensemble(*o, ranks);
    try {
      run_ensemble(*o, ranks);
    } catch (const std::exception& error) {
      fmt::print(stderr, "{}\n", error.what());
      ranks.abort(input_mistake);
    }
  });
}

}  // namespace stoverturn
