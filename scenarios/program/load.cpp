#include <algorithm>
#include <cmath>
#include <fstream>
#include <iterator>
#include <system_error>

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <Eigen/Core>
#include <boost/version.hpp>

#include "scenarios/decide/timing.hpp"
#include "scenarios/design/design_plan.hpp"
#include "scenarios/files/atomic_file.hpp"
#include "scenarios/files/fit_file.hpp"
#include "scenarios/files/result_file.hpp"
#include "scenarios/plan/forward_fit.hpp"
#include "scenarios/program/commands.hpp"
#include "scenarios/results/parameter_page.hpp"
#include "scenarios/trial/fit_json.hpp"
#include "scenarios/weather/conditions_reading.hpp"
#include "scenarios/weather/weather_reading.hpp"

namespace stoverturn {
namespace {

namespace fs = std::filesystem;

std::string versions() {
  return fmt::format("{}\nBoost {}\nEigen {}.{}.{}\nHDF5 {}\ncompiler {}\n", program_name(),
                     BOOST_LIB_VERSION, EIGEN_WORLD_VERSION, EIGEN_MAJOR_VERSION, EIGEN_MINOR_VERSION,
                     hdf5_version(), __VERSION__);
}

void keep(LoadedScenario& loaded, const std::string& scenario_name, const std::string& scenario_text,
          const std::vector<std::string>& overrides) {
  loaded.texts.insert(loaded.texts.begin(), {{"scenario_name", scenario_name},
                                             {"scenario", scenario_text},
                                             {"command_line", fmt::format("{}", fmt::join(overrides, "\n"))},
                                             {"parameters", parameters_in_force(loaded.scenario)},
                                             {"versions", versions()}});
}

/// Files as they lie in a folder, or as `text_of` has them.
FilesBeside beside(const fs::path& folder, const TextOf& text_of) {
  FilesBeside files;
  files.text_of = text_of;
  files.called = [folder](const std::string& file) { return (folder / file).lexically_normal().string(); };
  return files;
}

/// The weather that results keep, with the place that `--set` states now; or another file that it names.
void restore_weather(const Results& results, const std::vector<std::string>& set_now,
                     LoadedScenario& loaded) {
  const auto is_set = [&](const std::string& key) {
    return std::any_of(set_now.begin(), set_now.end(),
                       [&](const std::string& text) { return text.starts_with(key + "="); });
  };
  if (is_set("weather.file")) return read_weather_of(beside({}, on_disk({})), loaded);
  const bool generated = loaded.scenario.weather && loaded.scenario.weather->normals;
  if (generated && !set_now.empty())
    return read_weather_of(beside({}, on_disk({})), loaded);  // another seed or date: other days
  for (const std::string key : {"weather.longest_gap", "weather.station", "weather.columns_in"}) {
    if (!is_set(key)) continue;
    throw InputError({{{"command line", 0, 0},
                       fmt::format("{}: a result file keeps the days it was run with, not the file they were "
                                   "read from; set weather.file as well, or run the scenario file",
                                   key)}});
  }
  if (results.weather_days == 0) return;
  Weather& weather = loaded.climates.weather;
  weather = kept_weather(results);
  if (loaded.scenario.weather) {
    const WeatherPlan& plan = *loaded.scenario.weather;
    if (!std::isnan(plan.latitude_deg)) weather.latitude_deg = plan.latitude_deg;
    if (!std::isnan(plan.elevation_m)) weather.elevation_m = plan.elevation_m;
  }
  if (const std::string* notes = kept(results.texts, weather_notes_name)) {
    keep_weather_notes(lines_of(*notes), loaded);
  }
}

LoadedScenario load_from_result(const fs::path& path, std::vector<std::string> overrides) {
  const Results results = read_results(path);
  refuse_ensemble(path, results);
  const std::string* text = kept(results.texts, "scenario");
  const std::string* name = kept(results.texts, "scenario_name");
  if (!text || !name) throw FileError(path, "this result file keeps no scenario and cannot be run again");
  const std::vector<std::string> set_now = overrides;
  if (const std::string* earlier = kept(results.texts, "command_line")) {
    const std::vector<std::string> lines = lines_of(*earlier);
    overrides.insert(overrides.begin(), lines.begin(), lines.end());
  }
  LoadedScenario loaded;
  loaded.scenario = read_scenario(*text, *name, overrides, keeping(loaded, [&](const std::string& file) {
    const std::string* earlier = kept(results.texts, file_prefix + file);
    return earlier ? std::optional(*earlier) : std::nullopt;
  }));
  restore_weather(results, set_now, loaded);
  for (const KeptText& kept_text : results.texts) {
    if (!kept_text.name.starts_with(log_prefix)) continue;
    const std::string file = kept_text.name.substr(std::string(log_prefix).size());
    loaded.climates.logs.emplace_back(file, read_conditions_log(kept_text.text, file));
    loaded.texts.push_back(kept_text);
  }
  read_logs_of(beside({}, on_disk({})), loaded);
  keep(loaded, *name, *text, overrides);
  return loaded;
}

}  // namespace

void refuse_ensemble(const fs::path& path, const Results& results) {
  if (results.sites.empty()) return;
  throw FileError(
      path,
      "this file holds an ensemble, not one run; its tables are read as docs/ensembles.md tells, and "
      "it is run again from its scenario file");
}

const std::string* kept(const std::vector<KeptText>& texts, const std::string& name) {
  for (const KeptText& text : texts) {
    if (text.name == name) return &text.text;
  }
  return nullptr;
}

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  for (std::size_t begin = 0; begin < text.size();) {
    const std::size_t end = std::min(text.find('\n', begin), text.size());
    if (end > begin) lines.push_back(text.substr(begin, end - begin));
    begin = end + 1;
  }
  return lines;
}

bool is_hdf5(const fs::path& path) {
  std::ifstream in(path, std::ios::binary);
  char signature[4] = {};
  in.read(signature, 4);
  return in && std::string(signature + 1, 3) == "HDF";
}

std::optional<std::string> text_of_file(const fs::path& path) {
  if (!fs::exists(path)) return std::nullopt;
  return is_hdf5(path) ? fit_json(read_fit(path), most_forward_draws) : read_text(path);
}

TextOf on_disk(const fs::path& folder) {
  return [folder](const std::string& file) { return text_of_file(folder / file); };
}

std::vector<SiteRow> load_sites(const fs::path& path, const std::string& text,
                                const std::vector<std::string>& overrides, std::vector<KeptText>* texts) {
  const std::string file = sites_named_in(text, path.string(), overrides);
  if (file.empty()) return {{"the field", not_measured, not_measured, {}, {}}};
  const fs::path table = path.parent_path() / file;
  const std::optional<std::string> found = text_of_file(table);
  if (!found) throw FileError(table, "there is no such table of sites ([ensemble] sites)");
  if (texts) texts->push_back({file_prefix + file, *found});
  return read_site_table(*found, table.string());
}

LoadedScenario load_at_site(const fs::path& path, const std::string& text,
                            const std::vector<std::string>& overrides, const SiteRow& site) {
  std::vector<std::string> with = overrides;
  with.insert(with.end(), site.overrides.begin(), site.overrides.end());
  return load_scenario_text(text, path.string(), with, on_disk(path.parent_path()), path.parent_path());
}

LoadedScenario load_with_choices(const fs::path& path, const std::string& text, const Scenario& as_written,
                                 const std::vector<std::string>& overrides,
                                 std::vector<ChosenTiming>& chosen) {
  const std::string with = with_choices(text, as_written, chosen);
  try {
    return load_scenario_text(with, path.string(), overrides, on_disk(path.parent_path()),
                              path.parent_path());
  } catch (const InputError& error) {
    tell_of_choices(as_written, text, error);
  }
}

std::string read_text(const fs::path& path) {
  std::error_code error;
  if (fs::is_directory(path, error)) throw FileError(path, "this is a folder, not a file");
  std::ifstream in(path, std::ios::binary);
  if (!in) throw FileError(path, fs::exists(path, error) ? "cannot be read" : "there is no such file");
  return {std::istreambuf_iterator<char>(in), {}};
}

LoadedScenario load_scenario(const fs::path& path, std::vector<std::string> overrides) {
  if (is_hdf5(path)) return load_from_result(path, std::move(overrides));
  const fs::path folder = path.parent_path();
  return load_scenario_text(read_text(path), path.string(), overrides, on_disk(folder), folder);
}

LoadedScenario load_scenario_text(const std::string& text, const std::string& name,
                                  const std::vector<std::string>& overrides, const TextOf& text_of,
                                  const fs::path& folder) {
  if (is_design_plan(text)) {
    throw InputError({{{name, 1, 1}, "this is the plan of a trial, not a scenario; use `stoverturn trial`"}});
  }
  if (is_fit_plan(text)) {
    throw InputError({{{name, 1, 1}, "this is a fit file, not a scenario; use `stoverturn fit`"}});
  }
  LoadedScenario loaded = read_with_files(text, name, overrides, beside(folder, text_of));
  keep(loaded, name, text, overrides);
  return loaded;
}

}  // namespace stoverturn
