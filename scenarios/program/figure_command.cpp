#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cstdlib>
#include <memory>
#include <system_error>

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include "scenarios/files/atomic_file.hpp"
#include "scenarios/page/page_files.hpp"
#include "scenarios/program/commands.hpp"
#include "scenarios/report/report_html.hpp"
#include "scenarios/text/mistakes.hpp"

extern char** environ;

namespace stoverturn {
namespace {

namespace fs = std::filesystem;

struct FigureOptions {
  std::string file, chart, output, units;
  int width = 680;
  double scale = 3.0;
  bool overwrite = false, list = false, quiet = false;
};

/// A folder that goes when this does.
struct ScratchFolder {
  fs::path path;
  ScratchFolder() {
    std::string name = (fs::temp_directory_path() / "stoverturn-XXXXXX").string();
    if (!mkdtemp(name.data())) throw FileError(name, "a folder for a moment cannot be made");
    path = name;
  }
  ~ScratchFolder() {
    std::error_code ignored;
    fs::remove_all(path, ignored);
  }
  ScratchFolder(const ScratchFolder&) = delete;
  ScratchFolder& operator=(const ScratchFolder&) = delete;
};

/// Runs a program of the PATH; throws where it is missing (with what to install) or fails.
void run_program(const std::vector<std::string>& words, const fs::path& for_file, const char* package) {
  std::vector<char*> arguments;
  for (const std::string& word : words) arguments.push_back(const_cast<char*>(word.c_str()));
  arguments.push_back(nullptr);
  pid_t child = 0;
  const int error = posix_spawnp(&child, arguments[0], nullptr, nullptr, arguments.data(), environ);
  if (error == ENOENT) {
    throw FileError(for_file, fmt::format("{} is missing, which draws it; as root: apt-get install {}",
                                          words[0], package));
  }
  if (error != 0) throw FileError(for_file, std::system_category().message(error));
  int status = 0;
  while (waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  if (!WIFEXITED(status) || WEXITSTATUS(status) != 0)
    throw FileError(for_file, words[0] + " could not draw it");
}

struct FoundChart {
  const Chart *si, *us;
};

std::vector<FoundChart> charts_of(const std::vector<ReportInBoth>& reports) {
  std::vector<FoundChart> charts;
  for (const ReportInBoth& report : reports) {
    for (std::size_t s = 0; s < report.si.sections.size(); ++s) {
      for (std::size_t c = 0; c < report.si.sections[s].charts.size(); ++c) {
        charts.push_back({&report.si.sections[s].charts[c], &report.us.sections[s].charts[c]});
      }
    }
  }
  return charts;
}

FoundChart chosen(const std::vector<FoundChart>& charts, const std::string& name) {
  std::vector<std::string> names;
  for (const FoundChart& chart : charts) {
    if (chart.si->name == name) return chart;
    names.push_back(chart.si->name);
  }
  throw InputError(
      {{{"command line", 0, 0},
        fmt::format("--chart {}: this file has no such chart{}", name, did_you_mean(name, names))}});
}

void draw(const FigureOptions& o, const FoundChart& chart, const std::string& units) {
  const fs::path out = o.output;
  const std::string kind = out.extension().string();
  if (kind != ".svg" && kind != ".png" && kind != ".pdf") {
    throw FileError(out, "the name of a figure must end in .svg, .png or .pdf");
  }
  const PageFiles page = page_files();
  if (page.figure.empty()) {
    throw FileError(out,
                    "this program was built without pages; build it with -DSTOVERTURN_PAGES=ON (needs npm)");
  }
  refuse_existing({out}, o.overwrite);
  const ScratchFolder scratch;
  const auto put = [&](const char* name, std::string_view text) {
    write_text(scratch.path / name, text);
    return (scratch.path / name).string();
  };
  const std::string svg = (scratch.path / "chart.svg").string();
  const std::string json =
      chart_json(*chart.si, *chart.us).dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
  run_program({"node", put("figure.js", page.figure), put("scripts.js", page.figure_scripts),
               put("chart.json", json), put("theme.json", page.theme), units, std::to_string(o.width), svg},
              out, "nodejs");
  write_atomically(out, [&](const fs::path& part) {
    if (kind == ".svg") {
      fs::copy_file(svg, part, fs::copy_options::overwrite_existing);
      return;
    }
    std::vector<std::string> words = {"rsvg-convert", "--format", kind.substr(1), "--output", part.string()};
    if (kind == ".png") words.insert(words.end(), {"--zoom", fmt::format("{}", o.scale)});
    words.push_back(svg);
    run_program(words, out, "librsvg2-bin");
  });
  if (!o.quiet) tell_written({out});
}

void figure(const FigureOptions& o) {
  const std::vector<ReportInBoth> reports = load_reports({o.file});
  const std::vector<FoundChart> charts = charts_of(reports);
  if (o.list) {
    for (const FoundChart& chart : charts) fmt::print("{:<28} {}\n", chart.si->name, chart.si->title);
    return;
  }
  if (o.chart.empty())
    throw InputError(
        {{{"command line", 0, 0}, "--chart NAME is wanted; --list names the charts of this file"}});
  const FoundChart chart = chosen(charts, o.chart);
  if (o.output.empty())
    throw InputError({{{"command line", 0, 0}, "-o FILE.svg, FILE.png or FILE.pdf is wanted"}});
  draw(o, chart, o.units.empty() ? reports.front().si.units : o.units);
}

}  // namespace

void add_figure_command(CLI::App& app) {
  const auto o = std::make_shared<FigureOptions>();
  CLI::App* command =
      app.add_subcommand("figure", "One chart of a result file as SVG, PNG or PDF, for publications");
  command->footer(
      "SVG is drawn by Vega in node (Debian: nodejs), PNG and PDF from it by rsvg-convert (librsvg2-bin).\n"
      "Example:  stoverturn figure farm.h5 --chart mass-left -o mass-left.pdf");
  command->add_option("RESULT", o->file, "result file (.h5)")->required();
  command->add_option("--chart", o->chart, "name of the chart")->type_name("NAME");
  command->add_flag("--list", o->list, "name the charts of this file and stop");
  command->add_option("-o,--output", o->output, "the figure: its name ends in .svg, .png or .pdf");
  command->add_option("--units", o->units, "us or si (default: those of the file)")
      ->check(CLI::IsMember({"us", "si"}));
  command->add_option("--width", o->width, "width in CSS pixels, 96 to an inch")
      ->check(CLI::Range(200, 4000))
      ->capture_default_str();
  command->add_option("--scale", o->scale, "pixels of a PNG for each of these")
      ->check(CLI::Range(0.5, 20.0))
      ->capture_default_str();
  command->add_flag("--overwrite", o->overwrite, "replace a file that exists");
  command->add_flag("--quiet", o->quiet, "do not name the file written");
  command->callback([o] { figure(*o); });
}

}  // namespace stoverturn
