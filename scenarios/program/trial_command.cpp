#include <memory>

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include "fitting/on_threads.hpp"
#include "scenarios/design/design_print.hpp"
#include "scenarios/design/design_tables.hpp"
#include "scenarios/files/atomic_file.hpp"
#include "scenarios/files/tidy_file.hpp"
#include "scenarios/program/commands.hpp"

namespace stoverturn {
namespace {

namespace fs = std::filesystem;

struct TrialOptions {
  std::string file, output;
  std::vector<std::string> set;
  int threads = 0;
  bool json = false, overwrite = false;
};

struct TrialFiles {
  fs::path tables, parameters, choices, power, labels;
  explicit TrialFiles(const TrialOptions& o) {
    const std::string stem = output_stem(o.output, fs::path(o.file).stem().string() + "-plan");
    tables = stem + ".h5";
    parameters = stem + "-parameters.csv";
    choices = stem + "-choices.csv";
    power = stem + "-power.csv";
    labels = stem + "-bags.csv";
  }
  std::vector<fs::path> all() const { return {tables, parameters, choices, power, labels}; }
};

void trial(const TrialOptions& o) {
  const TrialFiles files(o);
  refuse_existing(files.all(), o.overwrite);
  const ForEach for_each = on_threads(o.threads);
  const LoadedDesign loaded = load_design(o.file, o.set, for_each);
  const DesignReport report = design_report(loaded.plan, loaded.model, for_each);
  const std::vector<TidyTable> tables = design_tables(report);
  if (o.json) {
    fmt::print("{}", tidy_json({{"program", program_name()}, {"file", o.file}, {"title", report.title}},
                               tables, report.notes));
  } else {
    fmt::print("{}", print_design(report));
  }
  write_tidy(files.tables,
             {report.title, std::string(plan_file_kind), tables, report.notes, loaded.texts, {}});
  write_tidy_csv(files.parameters, tables[0]);
  write_tidy_csv(files.choices, tables[1]);
  write_tidy_csv(files.power, tables[2]);
  write_text(files.labels, label_sheet(report.labels));
  tell_written(files.all());
}

}  // namespace

LoadedDesign load_design(const fs::path& path, const std::vector<std::string>& overrides,
                         const ForEach& for_each) {
  const std::string text = read_text(path);
  want_input(text, path.string(), InputKind::plan);
  LoadedDesign loaded{read_design_plan(text, path.string(), overrides), {}, {}};
  const TrialSource& source = loaded.plan.fit.trials.front();
  const fs::path file = path.parent_path() / source.scenario_file;
  if (std::error_code error; !fs::is_regular_file(file, error)) {
    throw InputError({{source.scenario_at,
                       fmt::format("scenario: there is no file {}", file.lexically_normal().string())}});
  }
  LoadedScenario scenario = load_scenario(file, {});
  loaded.model =
      design_model(loaded.plan, std::move(scenario.scenario), std::move(scenario.climates), for_each);
  loaded.texts = std::move(scenario.texts);
  loaded.texts.push_back({"plan", text});
  return loaded;
}

void add_trial_command(CLI::App& app) {
  const auto o = std::make_shared<TrialOptions>();
  CLI::App* command = app.add_subcommand(
      "trial", "Plan a litterbag trial: when to pull how many bags, and what they will tell");
  command->footer(
      "Example:  stoverturn trial scenarios/examples/invented-plan.toml --set trial.bags=160\n"
      "How to run one: docs/running-a-trial.md. Keys: docs/file-formats.md, Plan of a trial.");
  command->add_option("FILE", o->file, "plan of the trial (TOML)")->required();
  command->add_option("--set", o->set, "a key of the plan, such as trial.bags=160; may be repeated");
  command->add_option("-o,--output", o->output, "names of the files written begin with this");
  command->add_option("--threads", o->threads, "how many; 0: all")->check(CLI::Range(0, 1024));
  command->add_flag("--overwrite", o->overwrite, "replace files that exist");
  command->add_flag("--json", o->json, "JSON instead of text");
  command->callback([o] { trial(*o); });
}

}  // namespace stoverturn
