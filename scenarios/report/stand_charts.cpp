#include "scenarios/report/stand_charts.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/stand/stand_tables.hpp"
#include "scenarios/text/index_of.hpp"

namespace stoverturn {
namespace {

using nlohmann::json;

json is(std::string_view field, std::string_view value) {
  return {{{"filter", {{"field", field}, {"equal", value}}}}};
}
/// A bar from `lower` to `upper` in rows that have both.
json interval_layer(const Chart& chart, const json& y, const json& x, double width) {
  json layer = {{"transform", {{{"filter", {{"field", "lower"}, {"valid", true}}}}}},
                {"mark", {{"type", "rule"}, {"strokeWidth", width}, {"strokeDash", {1, 0}}}},
                {"encoding", {{"y", y}, {"x", x}, {"x2", {{"field", "upper"}}}}}};
  layer["encoding"]["x"]["field"] = chart.field("lower").name;
  return layer;
}

json zero_line() {
  return {{"mark", {{"type", "rule"}, {"strokeDash", {4, 3}}}}, {"encoding", {{"x", {{"datum", 0}}}}}};
}

/// Names stand for themselves.
json names_axis(const Chart& chart, std::string_view field) {
  json y = on_axis(chart, field);
  y["title"] = nullptr;
  y["axis"] = {{"labelLimit", 150}};
  return y;
}

json values_axis(const Chart& chart, std::string_view field) {
  json x = on_axis(chart, field);
  x["scale"] = {{"zero", false}, {"padding", 8}};
  x["axis"] = {{"labelOverlap", true}, {"tickCount", 5}};
  return x;
}

/// Points whose legend fits a narrow page and needs no heading.
json marked(const Chart& chart, std::string_view field) {
  json by = as_points(chart, field);
  for (json& channel : by) {
    channel["title"] = nullptr;
    channel["legend"] = {{"columns", 1}};
  }
  return by;
}

std::string capital(std::string_view word) {
  std::string text(word);
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') text[0] = static_cast<char>(text[0] - 'a' + 'A');
  return text;
}

int height_of(std::size_t lines) { return static_cast<int>(40 + 38 * std::max<std::size_t>(lines, 1)); }

template <class Row>
std::size_t pairs_in(const std::vector<Row>& rows) {
  std::vector<std::string> pairs;
  for (const Row& r : rows) {
    const std::string pair = pair_name(r.treatment, r.against);
    if (index_of(pairs, pair) == pairs.size()) pairs.push_back(pair);
  }
  return pairs.size();
}

/// Rows of one pair each below the other; several pairs in small charts.
template <class Row>
void lay_out(Chart& chart, const std::vector<Row>& rows, std::string_view title) {
  const std::size_t pairs = pairs_in(rows);
  chart.title = title;
  if (pairs == 1) chart.title += ": " + pair_name(rows.front().treatment, rows.front().against);
  if (pairs > 1) chart.facet = "pair";
  chart.height_px = height_of(pairs > 0 ? (rows.size() + pairs - 1) / pairs : 0);
}

}  // namespace

StandShown stand_shown(const StandReport& report, std::string_view units) {
  StandShown s;
  s.us = units == "us";
  s.per_area = {s.us ? "per acre" : "per ha", "", s.us ? acre_m2 : hectare_m2, 0.0};
  s.yield.unit = s.us ? "bu/acre" : "t/ha";
  s.yield.scale = in_unit(1.0, s.yield.unit, Kind::grain_yield);
  s.money = {report.prices.currency + (s.us ? "/acre" : "/ha"), "", s.per_area.scale, 0.0};
  return s;
}

std::string shown_count(const StandShown& shown, double per_m2) {
  return shown_number(shown.per_area(per_m2), 0);
}

std::string shown_treatment(const std::string& name) { return name.empty() ? "all" : name; }

std::string pair_name(const std::string& treatment, const std::string& against) {
  return fmt::format("{} less {}", shown_treatment(treatment), shown_treatment(against));
}

StandVerdict verdict_of(const Interval& between) {
  if (!std::isfinite(between.lower) || !std::isfinite(between.upper)) return StandVerdict::open;
  return between.lower > 0.0 || between.upper < 0.0 ? StandVerdict::shown : StandVerdict::not_shown;
}

std::string_view to_string(StandVerdict verdict) {
  constexpr std::string_view words[] = {"beyond chance", "may be chance", "cannot be told"};
  return words[static_cast<std::size_t>(verdict)];
}

double yield_g_m2(double bu_acre) { return bu_acre * unit_factor("bu/acre", Kind::grain_yield); }
double money_m2(double per_acre) { return per_acre / acre_m2; }

Chart stand_counts_chart(const StandReport& report, std::size_t count, const StandShown& shown) {
  const std::string strip_word = "one strip";
  const std::string mean_word = fmt::format("mean with its {:.0f} % interval", 100.0 * report.level);
  const std::string_view name = stand_counts[count].name;
  Chart chart;
  chart.name = name;
  std::replace(chart.name.begin(), chart.name.end(), ' ', '-');
  chart.title = capital(name);
  for (const char* field : {"treatment", "what", "strip"}) add_texts(chart, field, field);
  for (const char* field : {"value", "lower", "upper"})
    add_numbers(chart, field, capital(name), shown.per_area);
  const auto add = [&](const std::string& treatment, const std::string& what, const std::string& strip,
                       double value, const Interval& between) {
    chart.fields[0].texts.push_back(shown_treatment(treatment));
    chart.fields[1].texts.push_back(what);
    chart.fields[2].texts.push_back(strip);
    chart.fields[3].numbers.push_back(value);
    chart.fields[4].numbers.push_back(between.lower);
    chart.fields[5].numbers.push_back(between.upper);
  };
  std::vector<std::string> treatments;
  for (const StandPlot& p : report.plots) {
    if (p.count == count) add(p.treatment, strip_word, p.strip, p.rate, {not_counted, not_counted});
  }
  for (const StandRate& r : report.rates) {
    if (r.count != count) continue;
    add(r.treatment, mean_word, "", r.rate, r.between);
    treatments.push_back(fmt::format("{} {} {}", shown_treatment(r.treatment), shown_count(shown, r.rate),
                                     shown.per_area.unit));
    if (std::isfinite(r.between.lower)) {
      treatments.back() += fmt::format(" ({} to {})", shown_count(shown, r.between.lower),
                                       shown_count(shown, r.between.upper));
    }
  }
  chart.says = fmt::format("{}: ", chart.title);
  for (std::size_t i = 0; i < treatments.size(); ++i) chart.says += (i > 0 ? ", " : "") + treatments[i];
  chart.says += ".";
  const json y = names_axis(chart, "treatment"), x = values_axis(chart, "value");
  const json by_what = marked(chart, "what");
  json strips = {
      {"transform", is("what", strip_word)},
      {"mark", {{"type", "line"}, {"orient", "horizontal"}, {"strokeWidth", 1}, {"opacity", 0.35}}},
      {"encoding", {{"y", y}, {"x", x}, {"detail", {{"field", "strip"}, {"type", "nominal"}}}}}};
  json bar = interval_layer(chart, y, x, 4.0);
  bar["encoding"]["color"] = by_what["color"];
  const auto points = [&](const std::string& what, int size) {
    json layer = {{"transform", is("what", what)},
                  {"mark", {{"type", "point"}, {"size", size}}},
                  {"encoding", {{"y", y}, {"x", x}}}};
    layer["encoding"].update(by_what);
    return layer;
  };
  chart.spec = {{"layer", {strips, bar, points(strip_word, 40), points(mean_word, 120)}}};
  chart.height_px = height_of(treatments.size());
  return chart;
}

Chart stand_differences_chart(const StandReport& report, const StandShown& shown) {
  Chart chart;
  chart.name = "differences";
  for (const char* field : {"pair", "counted", "verdict"}) add_texts(chart, field, field);
  for (const char* field : {"difference", "lower", "upper"})
    add_numbers(chart, field, "Difference", shown.per_area);
  std::size_t beyond = 0;
  for (const StandDifference& d : report.differences) {
    const StandVerdict verdict = verdict_of(d.between);
    beyond += verdict == StandVerdict::shown;
    chart.fields[0].texts.push_back(pair_name(d.treatment, d.against));
    chart.fields[1].texts.emplace_back(stand_counts[d.count].name);
    chart.fields[2].texts.emplace_back(to_string(verdict));
    chart.fields[3].numbers.push_back(d.difference);
    chart.fields[4].numbers.push_back(d.between.lower);
    chart.fields[5].numbers.push_back(d.between.upper);
  }
  lay_out(chart, report.differences, "Differences");
  chart.says = fmt::format(
      "{} of {} differences are beyond chance: their {:.0f} % intervals do not reach the line at zero.",
      beyond, report.differences.size(), 100.0 * report.level);
  const json y = names_axis(chart, "counted"), x = values_axis(chart, "difference");
  const json by_verdict = marked(chart, "verdict");
  json bar = interval_layer(chart, y, x, 3.0);
  bar["encoding"]["color"] = by_verdict["color"];
  json points = {{"mark", {{"type", "point"}, {"size", 90}}}, {"encoding", {{"y", y}, {"x", x}}}};
  points["encoding"].update(by_verdict);
  chart.spec = {{"layer", {zero_line(), bar, points}}};
  return chart;
}

Chart stand_worth_chart(const StandReport& report, const StandShown& shown) {
  const bool priced = std::isfinite(report.prices.price_per_bu);
  Chart chart;
  chart.name = "worth";
  for (const char* field : {"pair", "by"}) add_texts(chart, field, field);
  for (const char* field : {"worth", "lower", "upper"})
    add_numbers(chart, field, "Worth", priced ? shown.money : shown.yield);
  std::vector<StandEffect> drawn;
  for (const StandEffect& e : report.effects) {
    const auto canonical = [&](double value) { return priced ? money_m2(value) : yield_g_m2(value); };
    const double worth = priced ? e.value_acre : e.yield_bu_acre;
    const Interval between = priced ? e.value_between : e.yield_between;
    if (!std::isfinite(worth)) continue;
    drawn.push_back(e);
    chart.fields[0].texts.push_back(pair_name(e.treatment, e.against));
    chart.fields[1].texts.push_back("by " + std::string(to_string(e.by)));
    chart.fields[2].numbers.push_back(canonical(worth));
    chart.fields[3].numbers.push_back(canonical(between.lower));
    chart.fields[4].numbers.push_back(canonical(between.upper));
  }
  lay_out(chart, drawn, "What the difference is worth");
  chart.says =
      "Three ways to reckon the same thing, not to be added up; the bar is what the counts leave open. Late "
      "plants have no bar: nothing is published about their range.";
  const json y = names_axis(chart, "by"), x = values_axis(chart, "worth");
  json bar = interval_layer(chart, y, x, 3.0);
  json points = {{"mark", {{"type", "point"}, {"size", 90}, {"shape", "diamond"}}},
                 {"encoding", {{"y", y}, {"x", x}}}};
  chart.spec = {{"layer", {zero_line(), bar, points}}};
  return chart;
}

}  // namespace stoverturn
