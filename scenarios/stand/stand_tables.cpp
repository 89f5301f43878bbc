#include "scenarios/stand/stand_tables.hpp"

#include <numeric>

#include <fmt/format.h>

#include "scenarios/units/quantity.hpp"

namespace stoverturn {
namespace {

struct AreaUnit {
  const char *name, *words, *per;
  double m2;
};
constexpr AreaUnit area_units[] = {
    {"acre", "acre", "acre-1", acre_m2},
    {"hectare", "hectare", "hectare-1", hectare_m2},
    {"thousandth_acre", "thousandth of an acre", "(0.001 acre)-1", thousandth_acre_m2}};

double feet(double mm) { return in_unit(mm, "ft", Kind::length); }

template <class Row>
void add_named(TidyTable& table, const std::vector<Row>& rows) {
  add_texts(table, "treatment", "treatment", rows, [](const Row& r) { return r.treatment; });
  if constexpr (requires(Row r) { r.against; }) {
    add_texts(table, "against", "treatment that it is compared with", rows,
              [](const Row& r) { return r.against; });
  }
  if constexpr (requires(Row r) { r.count; }) {
    add_texts(table, "counted", "what is counted", rows,
              [](const Row& r) { return stand_counts[r.count].name; });
  }
}

template <class Row, class Get>
void add_per_area(TidyTable& table, const std::vector<Row>& rows, const std::string& what, Get value) {
  for (const AreaUnit& unit : area_units) {
    const auto add = [&](const std::string& prefix, const std::string& of, auto get) {
      add_numbers(table, prefix + "per_" + unit.name, unit.per,
                  fmt::format("{}{} per {}", of, what, unit.words), rows,
                  [&](const Row& r) { return get(r) * unit.m2; });
    };
    add("", "", value);
    add("lower_", "lower end of ", [](const Row& r) { return r.between.lower; });
    add("upper_", "upper end of ", [](const Row& r) { return r.between.upper; });
  }
}

TidyTable rates_table(const StandReport& report) {
  TidyTable table{"rates", "counts by treatment", {}};
  const auto& rows = report.rates;
  add_named(table, rows);
  add_numbers(table, "number", "1", "how many were counted", rows,
              [](const StandRate& r) { return r.counted; });
  add_numbers(table, "length_ft", "ft", "length of row counted", rows,
              [](const StandRate& r) { return feet(r.length_mm); });
  add_numbers(table, "strips", "1", "strips counted in", rows, [](const StandRate& r) { return r.strips; });
  add_numbers(table, "rows", "1", "rows of the file", rows, [](const StandRate& r) { return r.rows; });
  add_per_area(table, rows, "the count", [](const StandRate& r) { return r.rate; });
  return table;
}

TidyTable differences_table(const StandReport& report) {
  TidyTable table{"differences", "differences between treatments", {}};
  const auto& rows = report.differences;
  add_named(table, rows);
  add_per_area(table, rows, "the difference", [](const StandDifference& d) { return d.difference; });
  add_numbers(table, "ratio", "1", "count of the treatment over that of the other", rows,
              [](const StandDifference& d) { return d.ratio; });
  add_numbers(table, "lower_ratio", "1", "lower end of the ratio", rows,
              [](const StandDifference& d) { return d.ratio_between.lower; });
  add_numbers(table, "upper_ratio", "1", "upper end of the ratio", rows,
              [](const StandDifference& d) { return d.ratio_between.upper; });
  add_numbers(table, "units_needed", "1",
              "plots or rows a treatment needed to see this difference; 0: too many", rows,
              [](const StandDifference& d) { return d.units_needed; });
  add_numbers(table, "length_needed_ft", "ft", "length of row a treatment needed to see this difference",
              rows, [](const StandDifference& d) { return feet(d.length_needed_mm); });
  return table;
}

TidyTable effects_table(const StandReport& report) {
  TidyTable table{"effects", "what differences are worth", {}};
  const auto& rows = report.effects;
  add_named(table, rows);
  add_texts(table, "by", "how it is reckoned", rows, [](const StandEffect& e) { return to_string(e.by); });
  add_numbers(table, "share_of_full_yield", "1", "difference as share of the full yield", rows,
              [](const StandEffect& e) { return e.share; });
  add_numbers(table, "bu_acre", "bu/acre", "difference of yield", rows,
              [](const StandEffect& e) { return e.yield_bu_acre; });
  add_numbers(table, "lower_bu_acre", "bu/acre", "lower end of the difference", rows,
              [](const StandEffect& e) { return e.yield_between.lower; });
  add_numbers(table, "upper_bu_acre", "bu/acre", "upper end of the difference", rows,
              [](const StandEffect& e) { return e.yield_between.upper; });
  const std::string money = report.prices.currency + "/acre";
  add_numbers(table, "value_acre", money, "money an acre", rows,
              [](const StandEffect& e) { return e.value_acre; });
  add_numbers(table, "lower_value_acre", money, "lower end of the money", rows,
              [](const StandEffect& e) { return e.value_between.lower; });
  add_numbers(table, "upper_value_acre", money, "upper end of the money", rows,
              [](const StandEffect& e) { return e.value_between.upper; });
  return table;
}

TidyTable models_table(const StandReport& report) {
  TidyTable table{"models", "how counts were taken together", {}};
  const auto& rows = report.models;
  add_texts(table, "counted", "what is counted", rows,
            [](const StandModel& m) { return stand_counts[m.count].name; });
  add_texts(table, "unit", "what counts as one observation", rows,
            [](const StandModel& m) { return m.by_plots ? "plot" : "row"; });
  add_texts(table, "strip_effect", "whether strips have an effect of their own", rows,
            [](const StandModel& m) { return m.strip_effect ? "yes" : "no"; });
  add_numbers(table, "units", "1", "observations", rows, [](const StandModel& m) { return m.units; });
  add_numbers(table, "dispersion", "1", "variance over mean; 1 where it cannot be told", rows,
              [](const StandModel& m) { return m.dispersion; });
  add_numbers(table, "freedom", "1", "degrees of freedom of the dispersion", rows,
              [](const StandModel& m) { return m.freedom; });
  add_numbers(table, "F", "1", "F of all differences between treatments", rows,
              [](const StandModel& m) { return m.treatments.F; });
  add_numbers(table, "F_probability", "1", "probability of such an F without any difference", rows,
              [](const StandModel& m) { return m.treatments.probability; });
  return table;
}

TidyTable plots_table(const StandReport& report) {
  TidyTable table{"plots", "what was found in each strip, rows added together", {}};
  const auto& rows = report.plots;
  add_named(table, rows);
  add_texts(table, "strip", "strip of the field", rows, [](const StandPlot& p) { return p.strip; });
  add_numbers(table, "rows", "1", "rows of the file", rows, [](const StandPlot& p) { return p.rows; });
  add_numbers(table, "number", "1", "how many were counted", rows,
              [](const StandPlot& p) { return p.counted; });
  add_numbers(table, "length_ft", "ft", "length of row counted", rows,
              [](const StandPlot& p) { return feet(p.length_mm); });
  for (const AreaUnit& unit : area_units) {
    add_numbers(table, fmt::format("per_{}", unit.name), unit.per,
                fmt::format("the count per {}", unit.words), rows,
                [&](const StandPlot& p) { return p.rate * unit.m2; });
  }
  return table;
}

TidyTable treatments_table(const StandReport& report) {
  TidyTable table{"treatments", "treatments by published tables", {}};
  std::vector<std::size_t> rows(report.treatments.size());
  std::iota(rows.begin(), rows.end(), std::size_t{0});
  add_texts(table, "treatment", "treatment", rows, [&](std::size_t t) { return report.treatments[t]; });
  add_numbers(table, "yield_share", "1", "share of the full yield that the stand table gives", rows,
              [&](std::size_t t) { return report.yield_share[t]; });
  add_numbers(table, "late_loss", "1", "share of the yield that late plants cost", rows,
              [&](std::size_t t) { return report.late_loss[t]; });
  return table;
}

TidyTable settings_table(const StandReport& report) {
  TidyTable table{"settings", "what was reckoned with", {}};
  const StandReport* const rows[] = {&report};
  using Row = const StandReport*;
  add_numbers(table, "level", "1", "of intervals", rows, [](Row r) { return r->level; });
  add_numbers(table, "power", "1", "chance to see a true difference", rows, [](Row r) { return r->power; });
  add_numbers(table, "row_width_in", "in", "between rows; empty where they differ", rows,
              [](Row r) { return in_unit(r->width_mm, "in", Kind::length); });
  add_texts(table, "currency", "of the price", rows, [](Row r) { return r->prices.currency; });
  add_numbers(table, "price_bu", report.prices.currency + "/bu", "of grain", rows,
              [](Row r) { return r->prices.price_per_bu; });
  add_numbers(table, "bu_per_ear", "bu", "grain of an ear", rows, [](Row r) { return r->prices.bu_per_ear; });
  add_texts(table, "usual_ear", "whether that is the trade's rule", rows,
            [](Row r) { return r->usual_ear ? "yes" : "no"; });
  add_numbers(table, "full_yield_bu_acre", "bu/acre", "with a stand that leaves nothing to wish", rows,
              [](Row r) { return r->prices.full_yield_bu_acre; });
  return table;
}

}  // namespace

std::string_view to_string(StandEffectBy by) {
  constexpr std::string_view words[] = {"ears", "stand table", "late plants"};
  return words[static_cast<std::size_t>(by)];
}

std::vector<TidyTable> stand_tables(const StandReport& report) {
  return {rates_table(report), differences_table(report), effects_table(report), models_table(report),
          plots_table(report), treatments_table(report),  settings_table(report)};
}

}  // namespace stoverturn
