#include "scenarios/report/fit_report.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/report/fit_charts.hpp"
#include "scenarios/report/fit_curve_names.hpp"
#include "scenarios/report/fit_says.hpp"
#include "scenarios/text/index_of.hpp"
#include "scenarios/trial/fit_text.hpp"
#include "scenarios/trial/fit_words.hpp"

namespace stoverturn {
namespace {

constexpr std::size_t most_odd = 20;

ReportTable page_table(std::string caption, const FitTable& table) {
  ReportTable page{std::move(caption), {}, table.rows};
  for (const FitColumn& column : table.columns) page.heads.push_back(column.head);
  return page;
}

void add_table(ReportSection& section, std::string caption, const FitTable& table) {
  if (table.rows.empty()) return;
  section.tables.push_back(page_table(std::move(caption), table));
  section.words.insert(section.words.end(), table.notes.begin(), table.notes.end());
}

bool holds_nothing(const ReportSection& section) {
  return section.words.empty() && section.charts.empty() && section.tables.empty();
}

ReportSection warnings(const FitResult& fit) {
  ReportSection section{"warnings", "Before you use these numbers", {}, {}, {}, false};
  if (!fit.converged) section.words.emplace_back(not_converged_words);
  section.words.insert(section.words.end(), fit.warnings.begin(), fit.warnings.end());
  if (std::string why = no_draws_words(fit); !why.empty())
    section.words.push_back(fmt::format("There are no draws: {}", why));
  return section;
}

ReportSection data(const FitResult& fit) {
  ReportSection section{"data", "What was measured, and the fitted curves", {}, data_charts(fit), {}, false};
  if (section.charts.empty()) return section;
  const bool bands =
      std::any_of(fit.curves.begin(), fit.curves.end(), [](const FitCurve& c) { return !c.lower.empty(); });
  section.words.push_back(fmt::format(
      "Points are measured, upright bars one standard deviation of their error to each side. Lines are "
      "fitted{}",
      bands ? fmt::format("; the curve itself lies in the band with {}, single bags scatter more.",
                          level_words(fit))
            : "; without draws they have no bands."));
  return section;
}

/// "588 (570 to 608)"
std::string cell_of(const DerivedQuantity& d) {
  if (never_reached(d)) return fit_number(d.estimate);
  const std::string between = between_words(d.between);
  return fit_number(d.estimate, 3) + (between == "-" ? "" : fmt::format(" ({})", between));
}

/// Treatments down, quantities across.
ReportTable derived_table(const FitResult& fit) {
  ReportTable table{fmt::format("Rates and what follows from them, with {} intervals", level_words(fit)),
                    {"treatment"},
                    {}};
  std::vector<std::string> groups;
  for (const DerivedQuantity& d : fit.derived) {
    const std::string group = derived_group(d);
    if (group == rate_ratio || index_of(groups, group) < groups.size()) continue;
    groups.push_back(group);
    table.heads.push_back(with_unit(group, d.unit));
  }
  for (const DerivedQuantity& d : fit.derived) {
    const std::size_t column = index_of(groups, derived_group(d));
    if (column == groups.size()) continue;
    auto row = std::find_if(table.rows.begin(), table.rows.end(),
                            [&](const auto& cells) { return cells.front() == d.treatment; });
    if (row == table.rows.end()) {
      table.rows.emplace_back(table.heads.size(), "-");
      row = table.rows.end() - 1;
      row->front() = d.treatment;
    }
    (*row)[column + 1] = cell_of(d);
  }
  return table;
}

ReportTable ratio_table(const FitResult& fit) {
  ReportTable table{"How many times as fast", {"compared", rate_ratio, level_words(fit) + " interval"}, {}};
  for (const DerivedQuantity& d : fit.derived) {
    if (derived_group(d) == rate_ratio)
      table.rows.push_back({derived_label(d), fit_number(d.estimate, 3), between_words(d.between)});
  }
  return table;
}

ReportSection rates(const FitResult& fit) {
  ReportSection section{"rates", "How fast, and how sure", {}, derived_charts(fit), {}, false};
  for (ReportTable table : {derived_table(fit), ratio_table(fit)}) {
    if (!table.rows.empty()) section.tables.push_back(std::move(table));
  }
  if (fit.derived.empty()) return section;
  section.words.emplace_back(
      "The decay rate is -ln(what is left at the last bag) over the time until then. At 25 C: over days "
      "corrected for temperature and moisture, so that seasons and places can be compared.");
  const bool unreached = std::any_of(fit.derived.begin(), fit.derived.end(), [](const DerivedQuantity& d) {
    return std::isinf(d.estimate) || std::isinf(d.between.upper);
  });
  if (unreached)
    section.words.emplace_back(
        "\"> run\" and \"from\": not reached in the days that the scenario runs over; a longer `duration` in "
        "it tells more.");
  return section;
}

/// With numbers as people see them.
FitResidual in_shown_units(FitResidual r, const FitResult& fit) {
  const Shown as = shown_measure({r.measure, r.unit}, fit.units);
  r.observed = as(r.observed);
  r.predicted = as(r.predicted);
  r.unit = as.unit;
  return r;
}
FitQuality in_shown_units(FitQuality q, const FitResult& fit) {
  const Shown as = shown_measure({q.measure, q.unit}, fit.units);
  q.rmse *= as.scale;
  q.bias *= as.scale;
  q.unit = as.unit;
  return q;
}

ReportSection residuals(const FitResult& fit) {
  ReportSection section{"residuals", "What the fit misses", {}, residual_charts(fit), {}, false};
  if (section.charts.empty()) return section;
  section.words.emplace_back(
      "Good residuals show no pattern: points as often above as below the line at all days and sizes. A run "
      "to "
      "one side says that the model misses something there.");
  std::size_t odd = 0;
  for (const FitResidual& r : fit.residuals) {
    if (r.suspicious && ++odd <= most_odd)
      section.words.push_back("Look at this bag: " + odd_residual_words(in_shown_units(r, fit)) + ".");
  }
  if (odd > most_odd) section.words.push_back(fmt::format("... and {} more.", odd - most_odd));
  return section;
}

std::string bound_words(const FittedUnknown& u) {
  const std::string between = fmt::format("{:.3g} to {:.3g}", u.unknown.lower + 0.0, u.unknown.upper + 0.0);
  return u.on_bound.empty() ? between : fmt::format("{}; ended on the {} one", between, u.on_bound);
}

/// What the table of estimates has no room for: every method's interval, bounds, and in words how well told.
FitTable told_table(const FitResult& fit) {
  FitTable table{{{"parameter"}, {"what it is"}, {"bounds"}}, {}, {}};
  std::vector<const IntervalMethod*> methods;
  for (const IntervalMethod& m : interval_methods) {
    const bool any = std::any_of(fit.unknowns.begin(), fit.unknowns.end(),
                                 [&](const FittedUnknown& u) { return is_there(u.*m.between); });
    if (!any) continue;
    methods.push_back(&m);
    table.columns.push_back({fmt::format("by {}", m.name)});
  }
  table.columns.push_back({"the data say"});
  for (const FittedUnknown& u : fit.unknowns) {
    std::vector<std::string> cells = {u.unknown.name, u.unknown.meaning, bound_words(u)};
    for (const IntervalMethod* m : methods) cells.push_back(between_words(u.*m->between));
    cells.push_back(u.identifiable.empty() ? "not looked at" : u.identifiable);
    table.rows.push_back(std::move(cells));
  }
  return table;
}

ReportSection estimates(const FitResult& fit) {
  ReportSection section{"estimates", "What was estimated", {}, profile_charts(fit), {}, false};
  add_table(section, "Estimates", estimates_table(fit, false));
  add_table(section, fmt::format("Every {} interval, bounds, and what the data say", level_words(fit)),
            told_table(fit));
  add_table(section, "Checks: standard errors on the scale of the search, agreement and size of the chains",
            checks_table(fit));
  if (!fit.unknowns.empty())
    section.words.emplace_back(
        "Intervals are given by the most trusted method there is: draws of the posterior, profile, "
        "bootstrap, "
        "curvature. R-hat near 1 (below 1.01) and some hundred effective draws mean that chains agree.");
  return section;
}

ReportSection draws(const FitResult& fit) {
  ReportSection section{"draws", "Which numbers go together", {}, draws_charts(fit), {}, false};
  if (section.charts.empty()) return section;
  section.words.push_back(
      fmt::format("Each point is a set of numbers that fits ({}); the cross is the estimate. A round cloud: "
                  "each is told by "
                  "itself. A narrow slant: only a combination is told.",
                  fit.draws_are.empty() ? "a draw" : "a draw, " + fit.draws_are));
  return section;
}

ReportSection models(const FitResult& fit) {
  ReportSection section{"models", "Is the model worth it?", says_of_models(fit), {}, {}, false};
  add_table(section, "Models compared, by mass left", models_table(fit));
  for (std::string& remark : model_remarks(fit)) section.words.push_back(std::move(remark));
  FitResult as_shown;
  for (const FitQuality& q : fit.quality) as_shown.quality.push_back(in_shown_units(q, fit));
  add_table(section, "Fit by treatment", quality_table(as_shown));
  if (!fit.quality.empty())
    section.words.emplace_back(
        "Fit by treatment: RMSE is the usual error, bias fitted less measured, efficiency 1 where all is "
        "described and 0 where the mean would do as well.");
  return section;
}

ReportSection told(const FitResult& fit) {
  ReportSection section{"told", "What these data can and cannot tell", what_data_tell(fit), {}, {}, false};
  for (const FittedUnknown& u : fit.unknowns) {
    if (!u.on_bound.empty())
      section.words.push_back(
          fmt::format("{} ended on its {} bound, {:.3g}: what it is beyond that was not asked.",
                      u.unknown.name, u.on_bound, u.on_bound == "lower" ? u.unknown.lower : u.unknown.upper));
  }
  if (section.words.empty() && !fit.unknowns.empty())
    section.words.emplace_back(
        "No profiles were made, so this was not looked at. `profiles` in the fit file asks for them.");
  return section;
}

ReportSection search(const FitResult& fit) {
  return {"search", "How the search went", search_words(fit, true), {}, {}, true};
}

ReportSection methods(const FitResult& fit) {
  ReportSection section{"methods", "Methods, for a paper", {}, {}, {}, false};
  if (!fit.methods.empty()) section.words.push_back(fmt::format("{}", fmt::join(fit.methods, " ")));
  return section;
}

/// Two charts of one name would be one to whoever asks for it.
void number_equal_names(std::vector<ReportSection>& sections) {
  std::vector<std::string> names;
  for (ReportSection& section : sections) {
    for (Chart& chart : section.charts) {
      const std::string name = chart.name;
      for (int i = 2; index_of(names, chart.name) < names.size(); ++i)
        chart.name = fmt::format("{}-{}", name, i);
      names.push_back(chart.name);
    }
  }
}

}  // namespace

Report report_of_fit(const FitResult& fit) {
  Report report;
  report.title = fit.title;
  report.kind = "a fit of the model to what was measured in a trial";
  report.about = about_fit(fit);
  report.says = fit_says(fit);
  for (const auto& section :
       {warnings, data, rates, residuals, estimates, draws, models, told, search, methods})
    report.sections.push_back(section(fit));
  std::erase_if(report.sections, holds_nothing);
  number_equal_names(report.sections);
  report.cautions = fit_cautions(fit);
  report.program = fit.program;
  report.units = fit.units;
  report.texts = fit.texts;
  report.checksums = fit.checksums;
  return report;
}

}  // namespace stoverturn
