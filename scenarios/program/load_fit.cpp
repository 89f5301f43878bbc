#include <fmt/format.h>

#include "scenarios/files/atomic_file.hpp"
#include "scenarios/program/commands.hpp"

namespace stoverturn {
namespace {

void require_file(const std::filesystem::path& file, const Position& at, const char* key) {
  std::error_code error;
  if (std::filesystem::is_regular_file(file, error)) return;
  throw InputError({{at, fmt::format("{}: there is no file {}", key, file.lexically_normal().string())}});
}

}  // namespace

LoadedFit load_fit(const std::filesystem::path& path, const std::vector<std::string>& overrides) {
  LoadedFit loaded;
  const std::string text = read_text(path);
  loaded.plan = read_fit_plan(text, path.string(), overrides);
  loaded.texts.push_back({"fit", text});
  const std::filesystem::path folder = path.parent_path();
  Mistakes mistakes;
  for (const TrialSource& source : loaded.plan.trials) {
    const std::filesystem::path data = folder / source.data_file, scenario = folder / source.scenario_file;
    try {
      require_file(data, source.at, "data");
      require_file(scenario, source.scenario_at, "scenario");
      LoadedScenario with_files = load_scenario(scenario, {});
      LoadedTrial trial{source, std::move(with_files.scenario), std::move(with_files.climates), {}};
      const std::string rows = read_text(data);
      trial.data = read_trial_data(rows, source.data_file, treatment_names(trial.scenario),
                                   {source.bulk_density_g_cm3, source.soil_depth_mm});
      loaded.texts.push_back({"data " + source.data_file, rows});
      for (KeptText& kept : with_files.texts) {
        if (!source.site.empty()) kept.name = source.site + ": " + kept.name;
        loaded.texts.push_back(std::move(kept));
      }
      loaded.trials.push_back(std::move(trial));
    } catch (const InputError& error) {
      mistakes.add(error);
    }
  }
  mistakes.throw_if_any();
  return loaded;
}

}  // namespace stoverturn
