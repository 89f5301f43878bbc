#include <deque>

#include "scenarios/files/atomic_file.hpp"
#include "scenarios/files/checksum.hpp"
#include "scenarios/files/file_kind.hpp"
#include "scenarios/files/fit_file.hpp"
#include "scenarios/files/result_file.hpp"
#include "scenarios/files/tidy_file.hpp"
#include "scenarios/program/commands.hpp"
#include "scenarios/report/ensemble_report.hpp"
#include "scenarios/report/fit_report.hpp"
#include "scenarios/report/planting_report.hpp"
#include "scenarios/report/report_html.hpp"
#include "scenarios/report/report_kind.hpp"
#include "scenarios/report/report_of_stand.hpp"
#include "scenarios/report/report_of_trial_plan.hpp"
#include "scenarios/report/run_report.hpp"
#include "scenarios/report/timing_report.hpp"
#include "scenarios/text/calendar.hpp"

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
  return both;
}

ReportInBoth report_of_results(Results& results) {
  switch (kind_of_results(results)) {
    case ResultsKind::ensemble:
      return in_both(results, report_of_ensemble);
    case ResultsKind::timing:
      return in_both(results, report_of_timing);
    case ResultsKind::planting:
      return in_both(results, report_of_planting);
    case ResultsKind::run:
      break;
  }
  return in_both(results, report_of_run);
}

ReportInBoth report_of_tables(const std::filesystem::path& path) {
  const TidyFile file = read_tidy(path);
  const auto report = file.kind == stand_file_kind ? report_of_stand : report_of_trial_plan;
  try {
    return {report(file, "si"), report(file, "us")};
  } catch (const DateError& error) {
    throw FileError(path, error.what());
  }
}

/// Runs are kept in `runs`, to be compared.
ReportInBoth report_of_file(const std::filesystem::path& path, std::deque<OpenedRun>& runs) {
  switch (kind_of_file(path)) {
    case FileKind::fit: {
      FitResult fit = read_fit(path);
      return in_both(fit, report_of_fit);
    }
    case FileKind::tidy:
      return report_of_tables(path);
    case FileKind::results:
      break;
  }
  Results results = read_results(path);
  ReportInBoth report = report_of_results(results);
  if (kind_of_results(results) == ResultsKind::run)
    runs.push_back({path.stem().string(), std::move(results)});
  return report;
}

}  // namespace

std::vector<ReportInBoth> load_reports(const std::vector<std::string>& files) {
  std::vector<ReportInBoth> reports;
  std::deque<OpenedRun> runs;
  for (const std::string& file : files) reports.push_back(report_of_file(file, runs));
  if (runs.size() > 1) reports.insert(reports.begin(), comparison_of(runs));
  for (ReportInBoth& report : reports) {
    if (report.si.checksums.empty()) {
      for (const KeptText& text : report.si.texts) {
        report.si.checksums.emplace_back(text.name, sha256(text.text));
      }
    }
    report.us.checksums = report.si.checksums;
  }
  return reports;
}

}  // namespace stoverturn
