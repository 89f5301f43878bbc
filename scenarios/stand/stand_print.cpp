#include "scenarios/stand/stand_print.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/results/shown.hpp"
#include "scenarios/results/text_table.hpp"
#include "scenarios/stand/stand_tables.hpp"
#include "scenarios/text/wrapped.hpp"
#include "scenarios/units/quantity.hpp"

namespace stoverturn {
namespace {

std::string treatment_name(const std::string& name) { return name.empty() ? "all" : name; }

std::string rates(const StandReport& report) {
  const std::string interval = fmt::format("{:.0f} % interval", 100.0 * report.level);
  std::vector<std::vector<std::string>> rows = {{"treatment", "counted", "number", "row, ft", "strips",
                                                 "per 1/1000 acre", interval, "per acre", "per ha"}};
  for (const StandRate& r : report.rates) {
    rows.push_back(
        {treatment_name(r.treatment), std::string(stand_counts[r.count].name), shown_number(r.counted, 0),
         shown_number(in_unit(r.length_mm, "ft", Kind::length), 0), fmt::format("{}", r.strips),
         shown_number(r.rate * thousandth_acre_m2, 1),
         fixed_range(r.between.lower * thousandth_acre_m2, r.between.upper * thousandth_acre_m2, 1),
         shown_number(r.rate * acre_m2, 0), shown_number(r.rate * hectare_m2, 0)});
  }
  return "Counts\n" + text_table(rows);
}

std::string needed(const StandDifference& d, const StandReport& report) {
  if (d.units_needed == 0) return std::isfinite(d.between.lower) ? "too many" : "-";
  const auto model = std::find_if(report.models.begin(), report.models.end(),
                                  [&](const StandModel& m) { return m.count == d.count; });
  return fmt::format("{:.0f} ft ({} {})", std::ceil(in_unit(d.length_needed_mm, "ft", Kind::length)),
                     d.units_needed, model->by_plots ? "strips" : "rows");
}

std::string differences(const StandReport& report) {
  const std::string interval = fmt::format("{:.0f} % interval", 100.0 * report.level);
  std::vector<std::vector<std::string>> rows = {{"treatment less other", "counted", "per 1/1000 acre",
                                                 interval, "per acre", "to tell it, a treatment"}};
  for (const StandDifference& d : report.differences) {
    rows.push_back(
        {fmt::format("{} - {}", treatment_name(d.treatment), treatment_name(d.against)),
         std::string(stand_counts[d.count].name), shown_number(d.difference * thousandth_acre_m2, 1),
         fixed_range(d.between.lower * thousandth_acre_m2, d.between.upper * thousandth_acre_m2, 1),
         shown_number(d.difference * acre_m2, 0), needed(d, report)});
  }
  std::string text = "\nDifferences\n" + text_table(rows);
  text += wrapped(
      "  ",
      fmt::format(
          "An interval that holds 0: the counts do not show a difference. Last column: the row "
          "to count so that a true difference of this size shows at the {:.0f} % level with a "
          "chance of {:.0f} %, spread as here. More strips help more than longer counts in the same strips.",
          100.0 * report.level, 100.0 * report.power));
  return text;
}

std::string effects(const StandReport& report) {
  const std::string& money = report.prices.currency;
  std::vector<std::vector<std::string>> rows = {
      {"treatment less other", "by", "of full yield, %", "bu/acre", "interval", money + "/acre", "interval"}};
  for (const StandEffect& e : report.effects) {
    rows.push_back({fmt::format("{} - {}", e.treatment, e.against), std::string(to_string(e.by)),
                    shown_number(100.0 * e.share, 1), shown_number(e.yield_bu_acre, 1),
                    fixed_range(e.yield_between.lower, e.yield_between.upper, 1),
                    shown_number(e.value_acre, 2),
                    fixed_range(e.value_between.lower, e.value_between.upper, 2)});
  }
  std::string text = "\nWhat it is worth\n" + text_table(rows);
  text += wrapped(
      "  ",
      "ears: every ear as good as another. stand table: what published stands yielded, where neighbours "
      "make up for gaps. late plants: published losses by leaf stages behind. Do not add them up: "
      "ears already hold what stand and late plants did.");
  return text;
}

std::string shares(const StandReport& report) {
  std::string text;
  for (std::size_t t = 0; t < report.treatments.size(); ++t) {
    std::string line;
    if (std::isfinite(report.yield_share[t])) {
      line = fmt::format("stand good for {:.0f} % of the full yield", 100.0 * report.yield_share[t]);
    }
    if (std::isfinite(report.late_loss[t])) {
      line +=
          fmt::format("{}late plants cost {:.1f} %", line.empty() ? "" : "; ", 100.0 * report.late_loss[t]);
    }
    if (!line.empty()) text += fmt::format("  {}: {}\n", treatment_name(report.treatments[t]), line);
  }
  return text.empty() ? text : "\nBy published tables\n" + text;
}

std::string models(const StandReport& report) {
  std::string text = "\nHow sure\n";
  for (const StandModel& m : report.models) {
    if (m.units == 0) continue;
    std::string line =
        fmt::format("{}: {} {}{}", stand_counts[m.count].name, m.units, m.by_plots ? "plots" : "rows",
                    m.strip_effect ? ", each strip with its own level" : "");
    line += m.freedom > 0 ? fmt::format("; spread {:.2f} of random counts ({} degrees of freedom)",
                                        m.dispersion, m.freedom)
                          : "; spread unknown, taken as random";
    if (std::isfinite(m.treatments.F)) {
      line += fmt::format("; all treatments alike: F = {:.2f}, p = {:.3f}", m.treatments.F,
                          m.treatments.probability);
    }
    text += wrapped("  ", line);
  }
  return text;
}

}  // namespace

std::string feet_and_inches(double mm) {
  const auto inches = static_cast<long>(std::lround(in_unit(mm, "in", Kind::length)));
  return inches % 12 == 0 ? fmt::format("{} ft", inches / 12)
                          : fmt::format("{} ft {} in", inches / 12, inches % 12);
}

std::string print_stand(const StandReport& report) {
  std::string text = fmt::format("{}: stand counts\n", report.name);
  if (std::isfinite(report.width_mm)) {
    text += fmt::format("Rows {:.4g} in apart: a thousandth of an acre is {} of row.\n",
                        in_unit(report.width_mm, "in", Kind::length),
                        feet_and_inches(thousandth_acre_row_mm(report.width_mm)));
  }
  text += "\n" + rates(report);
  if (!report.differences.empty()) text += differences(report);
  text += shares(report);
  if (!report.effects.empty()) text += effects(report);
  text += models(report);
  if (!report.notes.empty()) text += "\nNotes\n";
  for (const std::string& note : report.notes) text += wrapped("  ", note);
  return text;
}

}  // namespace stoverturn
