#pragma once
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "scenarios/decide/timing.hpp"
#include "scenarios/design/design_model.hpp"
#include "scenarios/ensemble/site_table.hpp"
#include "scenarios/results/read_with_files.hpp"
#include "scenarios/results/results.hpp"
#include "scenarios/results/run_scenario.hpp"
#include "scenarios/text/text_of.hpp"
#include "scenarios/trial/fit_problem.hpp"

namespace CLI {
class App;
}

namespace stoverturn {

struct ReportInBoth;  // scenarios/report/report_html.hpp

/// What the program gives back to the shell.
enum ExitCode {
  success = 0,
  input_mistake = 1,  ///< a file or value of the user is wrong: nothing was written
  usage_mistake = 2,  ///< the command line is wrong
  file_trouble = 3,   ///< a file is missing, exists already or cannot be written
  our_mistake = 4,    ///< a fault of this program
};

/// Each adds its subcommand to the command line; the work is done in its callback.
void add_run_command(CLI::App& app);
void add_check_command(CLI::App& app);
void add_weather_command(CLI::App& app);
void add_parameters_command(CLI::App& app);
void add_compare_command(CLI::App& app);
void add_new_command(CLI::App& app);
void add_fit_command(CLI::App& app);
void add_ensemble_command(CLI::App& app);
void add_timing_command(CLI::App& app);
void add_stand_command(CLI::App& app);
void add_planting_command(CLI::App& app);
void add_trial_command(CLI::App& app);
void add_report_command(CLI::App& app);
void add_figure_command(CLI::App& app);

/// Reports of result files of any kind, a chapter a file; where several are runs, one that compares them
/// comes first. Throws FileError.
std::vector<ReportInBoth> load_reports(const std::vector<std::string>& files);

/// What a text that a user gives is, by its keys or columns; `other` where that cannot be told.
enum class InputKind { other, scenario, fit, plan, stand, trial_data };
InputKind input_kind(std::string_view text);
/// Throws InputError that names the command for it where the text is surely something else.
void want_input(std::string_view text, const std::string& name, InputKind wanted);

/// Reads a scenario file and its weather or logs, or a result file's own copies of them.
LoadedScenario load_scenario(const std::filesystem::path& path, std::vector<std::string> overrides);

/// The same from texts: `text_of` has those of weather, logs, sheets and fits. `folder` stands in messages.
LoadedScenario load_scenario_text(const std::string& text, const std::string& name,
                                  const std::vector<std::string>& overrides, const TextOf& text_of,
                                  const std::filesystem::path& folder);

/// A fit file with all the files it names, each beside it, or a fit's result with the texts that it keeps.
/// Texts: "fit_name", "fit", "command_line", "data NAME"; of each trial, behind "SITE: " where there are
/// sites, "scenario" and "file: NAME" for every file that it names, weather included; "versions".
struct LoadedFit {
  FitPlan plan;
  std::vector<LoadedTrial> trials;
  std::vector<KeptText> texts;
};
LoadedFit load_fit(const std::filesystem::path& path, const std::vector<std::string>& overrides);

/// The plan of a trial with its scenario, each draw of which is run.
struct LoadedDesign {
  DesignPlan plan;
  DesignModel model;
  std::vector<KeptText> texts;
};
LoadedDesign load_design(const std::filesystem::path& path, const std::vector<std::string>& overrides,
                         const ForEach& for_each);

/// Whether a text that a fit keeps is a file of the user.
bool is_input_of_fit(const KeptText& text);

/// What names of files written begin with: `--output` without ".h5"; where that is empty or a folder
/// ("folder/"), `usual` in it.
std::string output_stem(const std::string& output, const std::string& usual);

/// A bar on stderr: on a terminal only, and only after a second.
RunProgress progress_bar();

/// Names files on stderr, after all that was printed.
void tell_written(const std::vector<std::filesystem::path>& files);

/// Throws FileError for results that are no single run.
void refuse_ensemble(const std::filesystem::path& path, const Results& results);

bool is_hdf5(const std::filesystem::path& path);
/// The text of that name; nullptr where none was kept.
const std::string* kept(const std::vector<KeptText>& texts, const std::string& name);

std::vector<std::string> lines_of(const std::string& text);  ///< those that are not empty

/// A file that a scenario names, nothing where there is none; a fit in HDF5 as the text that stands in for
/// it.
std::optional<std::string> text_of_file(const std::filesystem::path& path);

/// Files as they lie on the disk, named from a folder.
TextOf on_disk(const std::filesystem::path& folder);

/// Rows of the table that [ensemble] of a scenario file names, which is added to `texts`; one that changes
/// nothing where it names none. Throws FileError, InputError.
std::vector<SiteRow> load_sites(const std::filesystem::path& path, const std::string& text,
                                const std::vector<std::string>& overrides,
                                std::vector<KeptText>* texts = nullptr);
/// The scenario of that file and text at one site; mistakes are as read_scenario tells them (tell_of_site).
LoadedScenario load_at_site(const std::filesystem::path& path, const std::string& text,
                            const std::vector<std::string>& overrides, const SiteRow& site);

/// The scenario with a treatment for every choice of its [timing]; `as_written` is it without.
LoadedScenario load_with_choices(const std::filesystem::path& path, const std::string& text,
                                 const Scenario& as_written, const std::vector<std::string>& overrides,
                                 std::vector<ChosenTiming>& chosen);

/// The whole file; throws FileError.
std::string read_text(const std::filesystem::path& path);

}  // namespace stoverturn
