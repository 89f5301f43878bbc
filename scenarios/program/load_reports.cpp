#include <deque>

#include "scenarios/files/checksum.hpp"
#include "scenarios/files/result_file.hpp"
#include "scenarios/program/commands.hpp"
#include "scenarios/report/report_html.hpp"
#include "scenarios/report/run_report.hpp"

namespace stoverturn {
namespace {

/// What `report` says of the same thing in either system of units.
template <class Thing, class MakeReport>
ReportInBoth in_both(Thing& thing, MakeReport report) {
  const std::string own_units = thing.units;
  ReportInBoth both;
  thing.units = "si";
  both.si = report(thing);
  thing.units = "us";
  both.us = report(thing);
  thing.units = both.si.units = both.us.units = own_units;
  return both;
}

void add_checksums(Report& report) {
  if (!report.checksums.empty()) return;
  for (const KeptText& text : report.texts) report.checksums.emplace_back(text.name, sha256(text.text));
}

struct OpenedRun {
  std::string name;
  Results results;
};

ReportInBoth comparison_of(std::deque<OpenedRun>& runs) {
  ReportInBoth both;
  const std::string own_units = runs.front().results.units;
  for (const auto& [units, report] : {std::pair("si", &both.si), std::pair("us", &both.us)}) {
    std::vector<NamedRun> named;
    for (OpenedRun& run : runs) {
      run.results.units = units;
      named.push_back({run.name, &run.results});
    }
    *report = report_of_comparison(named);
    report->units = own_units;
  }
  for (OpenedRun& run : runs) run.results.units = own_units;
  return both;
}

}  // namespace

std::vector<ReportInBoth> load_reports(const std::vector<std::string>& files) {
  std::vector<ReportInBoth> reports;
  std::deque<OpenedRun> runs;
  for (const std::string& file : files) {
    Results& results =
        runs.emplace_back(OpenedRun{std::filesystem::path(file).stem().string(), read_results(file)}).results;
    reports.push_back(in_both(results, report_of_run));
  }
  if (runs.size() > 1) reports.insert(reports.begin(), comparison_of(runs));
  for (ReportInBoth& report : reports) {
    add_checksums(report.si);
    report.us.checksums = report.si.checksums;
  }
  return reports;
}

}  // namespace stoverturn
