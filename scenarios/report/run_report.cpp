#include "scenarios/report/run_report.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/report/run_words.hpp"
#include "scenarios/text/calendar.hpp"
#include "scenarios/text/index_of.hpp"

namespace stoverturn {
namespace {

struct YearRow {
  std::string_view variable, label;
  int decimals;
};
constexpr YearRow year_rows[] = {
    {"mass_left_at", "residue left", 0},
    {"soil_cover_at", "soil covered", 0},
    {"nitrogen_released_at", "N given back", 0},
    {"phosphorus_released_at", "phosphorus given back", 1},
    {"potassium_released_at", "potassium given back", 0},
    {"sulfur_released_at", "S given back", 1},
    {"nitrogen_leached_at", "N leached below 1 m", 0},
    {"nitrogen_to_crop_at", "N taken by crops", 0},
    {"residue_removed_at", "residue taken off", 0},
    {"value_released_at", "value given back", 0},
    {"cost_spent_at", "costs", 0},
    {"net_value_at", "net value", 0},
};

std::string date_of(const Results& r, double day) {
  return std::isnan(day) ? "" : format_date(r.start + std::chrono::days{static_cast<int>(std::lround(day))});
}

bool is_all_zero(const Variable& v) {
  return std::all_of(v.values.begin(), v.values.end(), [](double x) { return std::isnan(x) || x == 0.0; });
}

/// A table of a key number at plantings and years, a row a treatment.
ReportTable year_table(const Results& r, const YearRow& row) {
  const Variable& v = r.find(row.variable);
  const Shown unit = shown(v, r);
  const std::string substance =
      unit.substance == "P2O5" || unit.substance == "K2O" ? ", as " + unit.substance : "";
  ReportTable table{fmt::format("{}{} [{}]", row.label, substance, unit.unit), {"treatment"}, {}};
  for (std::size_t c = 0; c < r.checkpoints.size(); ++c) {
    const std::string date = date_of(r, r.find("checkpoint_day").values[c]);
    table.heads.push_back(date.empty() ? r.checkpoints[c] : fmt::format("{} ({})", r.checkpoints[c], date));
  }
  for (std::size_t t = 0; t < r.treatments.size(); ++t) {
    std::vector<std::string> cells = {r.treatments[t]};
    for (std::size_t c = 0; c < r.checkpoints.size(); ++c) {
      const std::size_t at = t * r.checkpoints.size() + c;
      const std::string range = shown_range(r, row.variable, at, unit, row.decimals);
      cells.push_back(shown_number(unit(v.values[at]), row.decimals) +
                      (range.empty() ? "" : fmt::format(" ({})", range)));
    }
    table.rows.push_back(std::move(cells));
  }
  return table;
}

/// N, cover and what is left at the growth stages of the first season, of each treatment.
ReportTable stage_table(const Results& r) {
  const Variable& given = r.find("stage_nitrogen_released");
  const Shown N = shown(given, r);
  ReportTable table{
      fmt::format("N given back since planting [{} N]; below zero: tied up", N.unit), {"treatment"}, {}};
  std::vector<std::size_t> stages;
  for (std::size_t s = 0; s < r.stages.size(); ++s) {
    if (!r.stages[s].ends_with(" 1")) continue;
    stages.push_back(s);
    const std::string date = date_of(r, r.find("stage_day").values[s]);
    const std::string name = r.stages[s].substr(0, r.stages[s].size() - 2);
    table.heads.push_back(date.empty() ? name : fmt::format("{} ({})", name, date));
  }
  for (std::size_t t = 0; t < r.treatments.size(); ++t) {
    std::vector<std::string> cells = {r.treatments[t]};
    for (const std::size_t s : stages) {
      const std::size_t at = t * r.stages.size() + s;
      const std::string range = shown_range(r, "stage_nitrogen_released", at, N, 0);
      cells.push_back(shown_number(N(given.values[at]), 0) +
                      (range.empty() ? "" : fmt::format(" ({})", range)));
    }
    table.rows.push_back(std::move(cells));
  }
  return table;
}

/// What a grower wants by treatment where no crop has stages: at the first planting and after a year.
ReportTable planting_table(const Results& r) {
  ReportTable table{"What to expect", {"treatment"}, {}};
  struct Column {
    std::string_view variable, label;
  };
  std::vector<std::pair<std::size_t, Column>> columns;
  for (const std::string_view name : {"planting 1", "year 1"}) {
    const std::size_t c = index_of(r.checkpoints, name);
    if (c == r.checkpoints.size()) continue;
    for (const Column& column :
         {Column{"mass_left_at", "residue left"}, Column{"soil_cover_at", "soil covered"},
          Column{"nitrogen_released_at", "N given back"}})
      columns.emplace_back(c, column);
  }
  for (const auto& [c, column] : columns) {
    const Shown unit = shown(r.find(column.variable), r);
    table.heads.push_back(fmt::format("{}, {} [{}]", column.label, r.checkpoints[c], unit.unit));
  }
  for (std::size_t t = 0; t < r.treatments.size(); ++t) {
    std::vector<std::string> cells = {r.treatments[t]};
    for (const auto& [c, column] : columns) {
      const Variable& v = r.find(column.variable);
      cells.push_back(shown_number(shown(v, r)(v.values[t * r.checkpoints.size() + c]), 0));
    }
    table.rows.push_back(std::move(cells));
  }
  return table;
}

void add_run_sections(const Results& r, Report& report) {
  const RunCharted run{&r, ""};
  const std::span<const RunCharted> runs(&run, 1);
  ReportSection left{"residue", "How fast the residue goes", {}, {mass_left_chart(runs)}, {}, false};
  left.charts.push_back(chart_of_members(r,
                                         {"mass-left-by-component", "mass_left_by_component",
                                          "How much of each part of the plant is left", "part left"},
                                         "part of the plant"));
  left.charts.push_back(
      chart_of_members(r,
                       {"mass-left-by-placement", "mass_left_by_placement",
                        "Where the residue is: standing, on the surface, buried", "residue left"},
                       "where"));
  report.sections.push_back(std::move(left));

  ReportSection nitrogen{"nitrogen",
                         "When the nitrogen comes back",
                         {"Below the zero line decomposers hold nitrogen that the soil had: it is tied up, "
                          "and a crop may want for it. Where the line rises, residue gives nitrogen back."},
                         {nitrogen_back_chart(runs)},
                         {},
                         false};
  if (!std::isnan(first_season_end(r))) {
    nitrogen.charts.push_back(first_season_chart(r));
    nitrogen.tables.push_back(stage_table(r));
  }
  report.sections.push_back(std::move(nitrogen));
  report.sections.push_back(
      {"other-nutrients",
       "Potassium, phosphorus and sulfur",
       {},
       {potassium_back_chart(runs), phosphorus_back_chart(runs), sulfur_back_chart(runs)},
       {},
       false});
  report.sections.push_back(
      {"cover", "How long the soil stays covered", {}, {soil_cover_chart(runs)}, {}, false});
  report.sections.push_back({"drivers",
                             "Why: how warm and wet the residue is",
                             {"Decay runs with warmth and water. What holds most of the residue is shown."},
                             {residue_temperature_chart(r), residue_wetness_chart(r)},
                             {},
                             true});
  if (r.checkpoints.empty()) return;
  ReportSection years{"years", "Year by year", {}, {}, {}, true};
  for (const YearRow& row : year_rows) {
    if (find_variable(r, row.variable) && !is_all_zero(r.find(row.variable)))
      years.tables.push_back(year_table(r, row));
  }
  report.sections.push_back(std::move(years));
}

void add_notes(const Results& r, Report& report) {
  ReportSection notes{"notes", "What to know about these numbers", {}, {}, {}, false};
  for (const std::string& note : r.notes) (is_caution(note) ? report.cautions : notes.words).push_back(note);
  if (!notes.words.empty()) report.sections.push_back(std::move(notes));
}

}  // namespace

Report report_of_run(const Results& r) {
  Report report;
  report.title = r.title;
  report.kind = "Release curves: a run of the model";
  report.about = about_run(r);
  report.says = said_of_run(r);
  add_run_sections(r, report);
  add_notes(r, report);
  report.handout.words = report.about;
  for (const std::string& note : r.notes) {
    if (note.starts_with("The run goes beyond") || note.starts_with("Weather"))
      report.handout.words.push_back(note);
  }
  report.handout.charts = {"mass-left", "nitrogen-back", "soil-cover"};
  report.handout.table = std::isnan(first_season_end(r)) ? planting_table(r) : stage_table(r);
  report.program = r.program;
  report.units = r.units;
  report.texts = r.texts;
  return report;
}

}  // namespace stoverturn
