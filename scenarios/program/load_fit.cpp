#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/design/design_plan.hpp"
#include "scenarios/files/atomic_file.hpp"
#include "scenarios/files/fit_file.hpp"
#include "scenarios/program/commands.hpp"

namespace stoverturn {
namespace {

namespace fs = std::filesystem;

constexpr const char* name_of_fit = "fit_name";
constexpr const char* fit = "fit";
constexpr const char* command_line = "command_line";
constexpr const char* scenario = "scenario";
constexpr const char* versions = "versions";

std::string data_name(const std::string& file) { return "data " + file; }
std::string file_name(const std::string& file) { return "file: " + file; }
std::string at_site(const TrialSource& source, const std::string& name) {
  return source.site.empty() ? name : fmt::format("{}: {}", source.site, name);
}

using Texts = std::vector<KeptText>;

/// Where the texts of a fit come from: a folder, or what a result keeps.
struct Source {
  fs::path folder;
  std::optional<Texts> texts;

  std::optional<std::string> text(const std::string& kept_as, const std::string& file) const {
    if (texts) {
      const std::string* found = kept(*texts, kept_as);
      return found ? std::optional(*found) : std::nullopt;
    }
    std::error_code error;
    const fs::path path = folder / file;
    return fs::is_regular_file(path, error) ? text_of_file(path) : std::nullopt;
  }
  std::string required(const std::string& kept_as, const std::string& file, const Position& at,
                       const char* key) const {
    if (std::optional<std::string> found = text(kept_as, file)) return *found;
    const std::string path = (folder / file).lexically_normal().string();
    throw InputError({{at, fmt::format("{}: there is no file {}", key, path)}});
  }
};

/// Hands out a trial's files, and keeps each once.
TextOf keeping(const Source& source, const TrialSource& trial, Texts& texts) {
  return [&](const std::string& file) {
    const std::string name = at_site(trial, file_name(file));
    std::optional<std::string> found = source.text(name, file);
    if (found && !kept(texts, name)) texts.push_back({name, *found});
    return found;
  };
}

void load_trial(const TrialSource& source, const Source& from, LoadedFit& loaded) {
  const std::string rows = from.required(data_name(source.data_file), source.data_file, source.at, "data");
  const std::string text =
      from.required(at_site(source, scenario), source.scenario_file, source.scenario_at, "scenario");
  if (!kept(loaded.texts, data_name(source.data_file))) {
    loaded.texts.push_back({data_name(source.data_file), rows});
  }
  loaded.texts.push_back({at_site(source, scenario), text});
  const fs::path path = from.folder / source.scenario_file;
  const Source beside{path.parent_path(), from.texts};
  LoadedScenario read =
      load_scenario_text(text, path.string(), {}, keeping(beside, source, loaded.texts), beside.folder);
  LoadedTrial trial{source, std::move(read.scenario), std::move(read.climates), {}};
  trial.data = read_trial_data(rows, source.data_file, treatment_names(trial.scenario),
                               {source.bulk_density_g_cm3, source.soil_depth_mm});
  loaded.trials.push_back(std::move(trial));
  if (const std::string* made_by = kept(read.texts, versions); made_by && !kept(loaded.texts, versions)) {
    loaded.texts.push_back({versions, *made_by});
  }
}

}  // namespace

bool is_input_of_fit(const KeptText& text) {
  return text.name != name_of_fit && text.name != command_line && text.name != versions;
}

LoadedFit load_fit(const fs::path& path, const std::vector<std::string>& overrides) {
  LoadedFit loaded;
  Source source{path.parent_path(), std::nullopt};
  std::string text, name = path.string();
  std::vector<std::string> all = overrides;
  if (is_hdf5(path)) {
    source = {{}, read_fit(path).texts};
    const std::string* kept_fit = kept(*source.texts, fit);
    if (!kept_fit) throw FileError(path, "this fit keeps no fit file and cannot be made again");
    text = *kept_fit;
    if (const std::string* earlier = kept(*source.texts, name_of_fit)) name = *earlier;
    if (const std::string* earlier = kept(*source.texts, command_line)) {
      const std::vector<std::string> lines = lines_of(*earlier);
      all.insert(all.begin(), lines.begin(), lines.end());
    }
  } else {
    text = read_text(path);
  }
  if (is_design_plan(text)) {
    throw InputError({{{name, 1, 1}, "this is the plan of a trial, not a fit file; use `stoverturn trial`"}});
  }
  loaded.plan = read_fit_plan(text, name, all);
  loaded.texts = {{name_of_fit, name}, {fit, text}};
  if (!all.empty()) loaded.texts.push_back({command_line, fmt::format("{}", fmt::join(all, "\n"))});
  Mistakes mistakes;
  for (const TrialSource& trial : loaded.plan.trials) {
    try {
      load_trial(trial, source, loaded);
    } catch (const InputError& error) {
      mistakes.add(error);
    }
  }
  mistakes.throw_if_any();
  return loaded;
}

}  // namespace stoverturn
