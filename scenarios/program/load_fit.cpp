#include "scenarios/program/load_fit.hpp"

#include <algorithm>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/files/atomic_file.hpp"
#include "scenarios/files/checksum.hpp"
#include "scenarios/results/run_scenario.hpp"

namespace stoverturn {
namespace {

namespace fs = std::filesystem;

/// A file's text, kept once and with its checksum.
std::string read_kept(const fs::path& path, const std::string& name, LoadedFit& loaded) {
  std::string text = read_text(path);
  const bool known = std::any_of(loaded.texts.begin(), loaded.texts.end(),
                                 [&](const KeptText& kept) { return kept.name == name; });
  if (!known) {
    loaded.texts.push_back({name, text});
    loaded.checksums.emplace_back(name, sha256(text));
  }
  return text;
}

std::vector<TrialTreatmentNames> names_of(const Scenario& scenario) {
  std::vector<TrialTreatmentNames> names;
  for (const Treatment& t : scenario.treatments) {
    TrialTreatmentNames n{t.name, t.label, t.first().date, {}};
    for (const ComponentPlan& component : t.components) n.components.push_back(component.name);
    names.push_back(std::move(n));
  }
  return names;
}

/// What another file is named by, relative to the fit file; there or a mistake at its key.
fs::path beside(const fs::path& folder, const std::string& file, const TrialSource& source) {
  const fs::path path = folder / file;
  if (!fs::exists(path)) {
    throw InputError({{source.at, fmt::format("there is no file {}", path.lexically_normal().string())}});
  }
  return path;
}

LoadedTrial load_trial(const fs::path& folder, const TrialSource& source, LoadedFit& loaded) {
  LoadedTrial trial;
  trial.source = source;
  const fs::path scenario = beside(folder, source.scenario_file, source);
  const fs::path data = beside(folder, source.data_file, source);
  read_kept(scenario, source.scenario_file, loaded);
  LoadedScenario read = load_scenario(scenario, {});
  trial.scenario = std::move(read.scenario);
  trial.climates = std::move(read.climates);
  if (trial.scenario.weather && !trial.scenario.weather->file.empty()) {
    const std::string& file = trial.scenario.weather->file;
    read_kept(scenario.parent_path() / file, file, loaded);
  }
  for (const KeptText& text : read.texts) {
    const bool file = text.name.starts_with("file: ") || text.name.starts_with("log: ");
    if (file) loaded.checksums.emplace_back(text.name, sha256(text.text));
    if (file) loaded.texts.push_back(text);
  }
  const std::string text = read_kept(data, source.data_file, loaded);
  trial.data = read_trial_data(text, data.string(), names_of(trial.scenario),
                               {source.bulk_density_g_cm3, source.soil_depth_mm});
  return trial;
}

}  // namespace

LoadedFit load_fit(const fs::path& path, const std::vector<std::string>& overrides) {
  LoadedFit loaded;
  const std::string text = read_kept(path, path.filename().string(), loaded);
  loaded.plan = read_fit_plan(text, path.string(), overrides);
  for (const TrialSource& source : loaded.plan.trials) {
    loaded.trials.push_back(load_trial(path.parent_path(), source, loaded));
  }
  loaded.texts.push_back({"command_line", fmt::format("{}", fmt::join(overrides, "\n"))});
  std::string all = program_name();
  for (const KeptText& kept : loaded.texts) all += kept.name + '\0' + kept.text + '\0';
  loaded.inputs = sha256(all);
  return loaded;
}

}  // namespace stoverturn
