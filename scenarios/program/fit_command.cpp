#include <unistd.h>

#include <atomic>
#include <chrono>
#include <cmath>
#include <csignal>
#include <cstdio>
#include <memory>

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include "fitting/on_threads.hpp"
#include "scenarios/files/atomic_file.hpp"
#include "scenarios/files/checksum.hpp"
#include "scenarios/files/csv_write.hpp"
#include "scenarios/files/fit_file.hpp"
#include "scenarios/fit/run_fit.hpp"
#include "scenarios/program/commands.hpp"
#include "scenarios/trial/fit_json.hpp"
#include "scenarios/trial/fit_print.hpp"
#include "scenarios/trial/trial_look.hpp"

namespace stoverturn {
namespace {

namespace fs = std::filesystem;

struct FitOptions {
  std::string file, output;
  std::vector<std::string> set;
  int threads = 0;
  bool look = false, resume = false, overwrite = false, details = false, json = false, quiet = false;
};

struct FitFiles {
  fs::path fit, json, parameters, residuals, state;
  explicit FitFiles(const FitOptions& o) {
    const std::string stem = output_stem(o.output, fs::path(o.file).stem().string() + "-fit");
    fit = stem + ".h5";
    json = stem + ".json";
    parameters = stem + "-parameters.csv";
    residuals = stem + "-residuals.csv";
    state = stem + ".state";
  }
  std::vector<fs::path> all() const { return {fit, json, parameters, residuals}; }
};

std::atomic<bool> interrupted = false;
extern "C" void interrupt(int signal) {
  interrupted = true;
  std::signal(signal, SIG_DFL);
}

/// Ctrl-C asks the fit to end; a second one ends the program.
struct UntilInterrupted {
  void (*before)(int);
  UntilInterrupted() : before(std::signal(SIGINT, interrupt)) {}
  ~UntilInterrupted() { std::signal(SIGINT, before); }
};

/// A line on stderr, on a terminal only: stage, best cost, time left.
class FitLine {
 public:
  explicit FitLine(bool quiet) : shown_(!quiet && isatty(STDERR_FILENO)) {}
  void show(const FitProgress& p) {
    using clock = std::chrono::steady_clock;
    const auto now = clock::now();
    if (stage_ != p.stage) {
      stage_ = p.stage;
      began_ = now;
    }
    if (!shown_ || now - last_ < std::chrono::milliseconds(200)) return;
    last_ = now;
    const double spent = std::chrono::duration<double>(now - began_).count();
    const std::string left =
        p.fraction > 0.02 ? fmt::format("{:.0f} s left", spent / p.fraction - spent) : std::string();
    const std::string cost =
        std::isfinite(p.best_cost) ? fmt::format("best cost {:.3f}", p.best_cost) : std::string();
    fmt::print(stderr, "\r{:<10} {:3.0f} %  {:<22} {:<14}", p.stage, 100.0 * p.fraction, cost, left);
  }
  void end() const {
    if (shown_) fmt::print(stderr, "\r{:70}\r", "");
  }

 private:
  bool shown_;
  std::string stage_;
  std::chrono::steady_clock::time_point began_{}, last_{};
};

/// Of every text and of the program: a fit is gone on with only where all are the same.
std::string checksum_of(const LoadedFit& loaded) {
  std::string all = program_name();
  for (const KeptText& text : loaded.texts) all += '\0' + text.name + '\0' + text.text;
  return sha256(all);
}

/// The state of an earlier run of the same fit, if asked for and there.
std::optional<FitState> earlier_state(const FitOptions& o, const FitFiles& files, const std::string& inputs) {
  if (!o.resume) return std::nullopt;
  if (!fs::exists(files.state)) {
    throw FileError(files.state, "there is no stopped fit to go on with; run without --resume");
  }
  FitState state;
  try {
    state = state_from_bytes(read_text(files.state));
  } catch (const std::runtime_error& error) {
    throw FileError(files.state, fmt::format("cannot be gone on with: {}", error.what()));
  }
  if (state.inputs != inputs) {
    throw FileError(files.state,
                    "is of a fit of other data, files or options; run without --resume to begin anew");
  }
  return state;
}

void write_all(const FitFiles& files, const FitResult& result) {
  write_fit(files.fit, result);
  write_text(files.json, fit_json(result));
  write_fit_parameters_csv(files.parameters, result);
  write_fit_residuals_csv(files.residuals, result);
}

void fit(const FitOptions& o) {
  const FitFiles files(o);
  if (std::error_code error; fs::equivalent(files.fit, o.file, error)) {
    throw FileError(files.fit, "would replace the file that is fitted; choose another name with --output");
  }
  const LoadedFit loaded = load_fit(o.file, o.set);
  if (o.look) {
    fmt::print("{}", print_look(trial_look(loaded.trials, loaded.plan.level), loaded.plan.units));
    return;
  }
  if (!o.resume) refuse_existing(files.all(), o.overwrite);
  const std::string inputs = checksum_of(loaded);
  const std::optional<FitState> earlier = earlier_state(o, files, inputs);
  if (!o.resume) fs::remove(files.state);  // of a fit that nobody went on with
  FitLine line(o.quiet);
  FitRunOptions options;
  options.for_each = on_threads(o.threads);
  options.progress = [&](const FitProgress& p) {
    line.show(p);
    return !interrupted;
  };
  options.checkpoint = [&](const FitState& state) {
    FitState named = state;
    named.inputs = inputs;
    write_text(files.state, to_bytes(named));
  };
  if (earlier) options.resume = &*earlier;
  FitResult result;
  {
    const UntilInterrupted watch;
    result = run_fit(loaded.plan, loaded.trials, options);
  }
  line.end();
  result.texts = loaded.texts;
  for (const KeptText& text : loaded.texts) {
    if (is_input_of_fit(text)) result.checksums.emplace_back(text.name, sha256(text.text));
  }
  write_all(files, result);
  fmt::print("{}", o.json ? fit_json(result) : printed_fit(result, o.details));
  if (interrupted) {
    if (!fs::exists(files.state)) options.checkpoint({});
    fmt::print(stderr, "stopped: what was reached is kept; the same command with --resume goes on\n");
  } else {
    fs::remove(files.state);
  }
  if (!o.quiet) tell_written(files.all());
}

}  // namespace

void add_fit_command(CLI::App& app) {
  const auto o = std::make_shared<FitOptions>();
  CLI::App* command = app.add_subcommand("fit", "Estimate parameters from the weighed bags of a trial");
  command->footer(
      "Prints the estimates and writes NAME-fit.h5, NAME-fit.json, NAME-fit-parameters.csv and\n"
      "NAME-fit-residuals.csv. A scenario with  parameters = \"NAME-fit.h5\"  runs forward with them.\n"
      "Look at the bags first:  stoverturn fit trial.toml --look");
  command
      ->add_option("FILE", o->file,
                   "fit file (TOML), or the HDF5 file of a fit to make again from what it keeps")
      ->required();
  command->add_option("-o,--output", o->output,
                      "base name of the files written (default: FILE's with -fit, in this folder)");
  command->add_option("--set", o->set, "key.path=value of the fit file")
      ->allow_extra_args(false)
      ->type_name("NAME=VALUE");
  command->add_flag("--look", o->look, "show means, differences and odd bags; fit nothing, write nothing");
  command->add_flag("--resume", o->resume, "go on with a fit that was stopped");
  command
      ->add_option("--threads", o->threads,
                   "threads (default: one for each core); results do not depend on it")
      ->check(CLI::NonNegativeNumber);
  command->add_flag("--overwrite", o->overwrite, "replace files that exist");
  command->add_flag("--details", o->details, "print the intervals of every method and how the search went");
  command->add_flag("--json", o->json, "print JSON instead of tables");
  command->add_flag("--quiet", o->quiet, "no progress, no names of files written");
  command->callback([o] { fit(*o); });
}

}  // namespace stoverturn
