#include <cmath>

#include <fmt/format.h>

#include "scenarios/report/run_report.hpp"
#include "scenarios/report/run_words.hpp"
#include "scenarios/results/compare.hpp"

namespace stoverturn {
namespace {

/// A key number as the table of a pair shows it.
ReportTable pair_table(const NamedRun& a, const NamedRun& b) {
  ReportTable table{fmt::format("{} against {}", b.name, a.name),
                    {"treatment", "number", "unit", a.name, b.name, "difference"},
                    {}};
  const Comparison comparison = compare(*a.results, *b.results);
  for (const ComparedNumber& n : comparison.numbers) {
    table.rows.push_back({n.treatment, n.name, n.unit, shown_number(n.a, 1), shown_number(n.b, 1),
                          shown_number(n.b - n.a, 1)});
  }
  return table;
}

std::string says_of_pair(const NamedRun& a, const NamedRun& b) {
  const Comparison comparison = compare(*a.results, *b.results);
  std::string words;
  for (const ComparedNumber& n : comparison.numbers) {
    if (n.name != "mass_left, year 1") continue;
    words += fmt::format("{}After a year {} of {} is left in {}, {} in {}.", words.empty() ? "" : " ",
                         shown_number(n.a, 0) + " " + n.unit, n.treatment, a.name,
                         shown_number(n.b, 0) + " " + n.unit, b.name);
  }
  return words;
}

}  // namespace

Report report_of_comparison(const std::vector<NamedRun>& runs) {
  std::vector<RunCharted> charted;
  for (const NamedRun& run : runs) charted.push_back({run.results, run.name});
  Report report;
  report.title = "Runs side by side";
  report.kind = "Comparison of runs";
  ReportSection courses{"side-by-side", "The courses side by side", {}, {}, {}, false};
  for (const auto make : {mass_left_chart, nitrogen_back_chart, potassium_back_chart, soil_cover_chart}) {
    Chart chart = make(charted);
    chart.name = "compare-" + chart.name;
    courses.charts.push_back(std::move(chart));
  }
  report.sections.push_back(std::move(courses));
  ReportSection numbers{"numbers", "Key numbers and their differences", {}, {}, {}, true};
  for (std::size_t i = 1; i < runs.size(); ++i) {
    numbers.tables.push_back(pair_table(runs.front(), runs[i]));
    if (const std::string said = says_of_pair(runs.front(), runs[i]); !said.empty())
      report.says.push_back(said);
  }
  report.sections.push_back(std::move(numbers));
  for (const NamedRun& run : runs)
    report.about.push_back(fmt::format("{}: {}", run.name, run.results->title));
  report.program = runs.front().results->program;
  report.units = runs.front().results->units;
  return report;
}

}  // namespace stoverturn
