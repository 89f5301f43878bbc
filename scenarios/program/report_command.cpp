#include <memory>

#include <CLI/CLI.hpp>

#include "scenarios/files/atomic_file.hpp"
#include "scenarios/files/checksum.hpp"
#include "scenarios/page/page_files.hpp"
#include "scenarios/program/commands.hpp"
#include "scenarios/report/report_html.hpp"

namespace stoverturn {
namespace {

struct ReportOptions {
  std::vector<std::string> files;
  std::string output;
  bool overwrite = false, quiet = false;
};

void report(const ReportOptions& o) {
  const std::filesystem::path out =
      o.output.empty() ? std::filesystem::path(o.files.front()).stem().string() + ".html" : o.output;
  const PageFiles page = page_files();
  if (page.report_scripts.empty()) {
    throw FileError(out,
                    "this program was built without pages; build it with -DSTOVERTURN_PAGES=ON (needs npm)");
  }
  refuse_existing({out}, o.overwrite);
  const std::vector<ReportInBoth> reports = load_reports(o.files);
  write_text(out,
             report_html(reports, {page.report_scripts, page.report_style, page.theme, page.licences,
                                   sha256_base64(page.report_scripts), sha256_base64(page.report_style)}));
  if (!o.quiet) tell_written({out});
}

}  // namespace

void add_report_command(CLI::App& app) {
  const auto o = std::make_shared<ReportOptions>();
  CLI::App* command = app.add_subcommand("report", "One HTML page from results: charts, tables, a handout");
  command->footer(
      "Takes what run, fit, ensemble, timing, planting, stand and trial write; several runs are also "
      "compared.\n"
      "The page needs no network and nothing else beside it.\n"
      "Example:  stoverturn report farm.h5 -o farm.html");
  command->add_option("RESULT", o->files, "result files (.h5)")->required();
  command->add_option("-o,--output", o->output,
                      "the page (default: the first result's name with .html, in this folder)");
  command->add_flag("--overwrite", o->overwrite, "replace a file that exists");
  command->add_flag("--quiet", o->quiet, "do not name the file written");
  command->callback([o] { report(*o); });
}

}  // namespace stoverturn
