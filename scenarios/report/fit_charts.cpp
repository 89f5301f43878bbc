#include "scenarios/report/fit_charts.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/report/fit_curve_names.hpp"
#include "scenarios/text/index_of.hpp"
#include "scenarios/trial/fit_text.hpp"

namespace stoverturn {
namespace {

using nlohmann::json;

constexpr std::size_t most_days = 120;  ///< of one curve
constexpr double beyond_last_bag = 1.5;
constexpr double most_day = 1e6;  ///< later ones are no days

json only_where(std::string_view field) {
  return json::array({{{"filter", {{"field", field}, {"valid", true}}}}});
}

/// Data of a mark that is drawn once, not for every row.
json once() { return {{"data", {{"values", json::array({json::object()})}}}}; }

/// A layer of the rows in which a field is there.
json layer(json mark, json encoding, std::string_view there) {
  return {{"transform", only_where(there)}, {"mark", std::move(mark)}, {"encoding", std::move(encoding)}};
}

Shown in_days() { return {"d", "", 1.0, 0.0}; }

/// Columns of a chart of data; rows are bags or days of curves, the other's columns empty.
struct DataColumns {
  explicit DataColumns(Chart& chart, const FitMeasure& measure, const Shown& as) {
    chart.fields.reserve(11);  // columns stay where they are
    treatment = &add_texts(chart, "treatment", "treatment");
    where = &add_texts(chart, "place", "where");
    day = &add_numbers(chart, "day", "time in the field", in_days());
    line = &add_numbers(chart, "line", "line of the data file", {"1", "", 1.0, 0.0});
    const auto number = [&](const char* name, const std::string& title) {
      return &add_numbers(chart, name, title, as);
    };
    measured = number("measured", measure.name);
    measured_low = number("measured_low", "measured less one standard deviation");
    measured_high = number("measured_high", "measured and one standard deviation");
    fitted = number("fitted", measure.name);
    fitted_low = number("fitted_low", "lower end of the band");
    fitted_high = number("fitted_high", "upper end of the band");
  }
  void row(const CurvePlace& place, double on_day, double of_line, std::array<double, 6> values) {
    treatment->push_back(place.treatment);
    where->push_back(place.where);
    day->push_back(on_day);
    line->push_back(of_line);
    std::vector<double>* columns[] = {measured, measured_low, measured_high, fitted, fitted_low, fitted_high};
    for (std::size_t c = 0; c < values.size(); ++c) columns[c]->push_back(values[c]);
  }
  std::vector<std::string>*treatment, *where;
  std::vector<double>*day, *line, *measured, *measured_low, *measured_high, *fitted, *fitted_low,
      *fitted_high;
};

double last_bag(const FitResult& fit, const std::string& measure) {
  double last = 0.0;
  for (const FitResidual& r : fit.residuals) {
    if (r.measure == measure && r.day < most_day) last = std::max(last, r.day);
  }
  return last;
}

void add_curve(const FitCurve& curve, const CurvePlace& place, double last_bag_day, DataColumns& columns) {
  if (curve.estimate.empty()) return;
  std::size_t end = curve.estimate.size() - 1;
  if (last_bag_day > 0.0) end = std::min(end, static_cast<std::size_t>(beyond_last_bag * last_bag_day));
  const std::size_t step = end / most_days + 1;
  const auto at = [](const std::vector<double>& values, std::size_t day) {
    return day < values.size() ? values[day] : not_there;
  };
  for (std::size_t day = 0; day <= end; day = day < end ? std::min(day + step, end) : end + 1) {
    columns.row(
        place, static_cast<double>(day), not_there,
        {not_there, not_there, not_there, curve.estimate[day], at(curve.lower, day), at(curve.upper, day)});
  }
}

/// The values of curves on the day of the last bag, the lowest and the highest.
std::string says_of_data(const FitResult& fit, const FitMeasure& measure, const Shown& as) {
  const auto last = static_cast<std::size_t>(last_bag(fit, measure.name));
  const FitCurve *low = nullptr, *high = nullptr;
  for (const FitCurve& c : fit.curves) {
    if (c.measure != measure.name || c.estimate.size() <= last) continue;
    if (!low || c.estimate[last] < low->estimate[last]) low = &c;
    if (!high || c.estimate[last] > high->estimate[last]) high = &c;
  }
  const auto words = [&](const FitCurve& c) {
    std::string text = fmt::format("{} {}", fit_number(as(c.estimate[last]), 3), as.unit);
    if (last < c.lower.size() && last < c.upper.size() && std::isfinite(c.lower[last]))
      text += fmt::format(" ({})", between_words({as(c.lower[last]), as(c.upper[last])}));
    return text + fmt::format(" for {}", in_sentence(c.treatment));
  };
  std::string text;
  if (low && last > 0) {
    text = fmt::format("By the fit, {} on day {}, that of the last bags, is ", measure.name, last);
    text += low == high ? words(*low) : fmt::format("{} and {}", words(*low), words(*high));
    text += low == high ? ". " : ", the least and the most. ";
  }
  double variance = 0.0;
  int n = 0;
  for (const FitResidual& r : fit.residuals) {
    if (r.measure != measure.name || !std::isfinite(r.sd)) continue;
    variance += r.sd * r.sd;
    ++n;
  }
  if (n > 0) {
    text += fmt::format(
        "A single measured number lies {} {} off by chance (one standard deviation: the "
        "upright bars).",
        fit_number(as(std::sqrt(variance / n)), 2), as.unit);
  }
  return text;
}

Chart data_chart(const FitResult& fit, const FitMeasure& measure) {
  const Shown as = shown_measure(measure, fit.units);
  Chart chart;
  chart.name = "data-" + plain_name(measure.name, '-');
  chart.title = fmt::format("Measured and fitted: {}", measure.name);
  chart.says = says_of_data(fit, measure, as);
  chart.facet = "treatment";
  chart.height_px = 200;
  DataColumns columns(chart, measure, as);
  bool bands = false;
  for (const FitCurve& c : fit.curves) {
    if (c.measure != measure.name) continue;
    add_curve(c, place_of(fit, c), last_bag(fit, measure.name), columns);
    bands = bands || !c.lower.empty();
  }
  for (const FitResidual& r : fit.residuals) {
    if (r.measure != measure.name) continue;
    const FitCurve* curve = curve_of(fit, r);
    columns.row(curve ? place_of(fit, *curve) : CurvePlace{r.treatment, ""}, r.day, r.line,
                {r.observed, r.observed - r.sd, r.observed + r.sd, not_there, not_there, not_there});
  }
  const auto& where = *columns.where;
  const bool several =
      std::any_of(where.begin(), where.end(), [&](const std::string& w) { return w != where.front(); });
  chart.spec = lines(chart, {"day", "fitted", several ? "place" : "", bands ? "fitted_low" : "",
                             bands ? "fitted_high" : ""});
  for (json& one : chart.spec["layer"]) {
    one["transform"] = only_where("fitted");
    for (const char* channel : {"color", "strokeDash"}) {
      if (one["encoding"].contains(channel)) one["encoding"][channel].erase("legend");  // that of the points
    }
  }
  json x = on_axis(chart, "day"), y = on_axis(chart, "measured");
  json bar = {{"x", x}, {"y", y}, {"y2", {{"field", "measured_high"}}}};
  bar["y"]["field"] = "measured_low";
  json point = {{"x", std::move(x)}, {"y", std::move(y)}};
  if (several) {
    point.update(as_points(chart, "place"));
    bar["color"] = point["color"];
  }
  chart.spec["layer"].push_back(
      layer({{"type", "rule"}, {"opacity", 0.35}, {"strokeWidth", 1.0}}, std::move(bar), "measured"));
  chart.spec["layer"].push_back(
      layer({{"type", "point"}, {"opacity", 0.75}, {"size", 28}}, std::move(point), "measured"));
  return chart;
}

/// The lowest and the highest with their intervals.
std::string says_of_derived(const std::vector<const DerivedQuantity*>& all, const std::string& group) {
  const auto by_estimate = [](const DerivedQuantity* a, const DerivedQuantity* b) {
    return a->estimate < b->estimate;
  };
  const auto [low, high] = std::minmax_element(all.begin(), all.end(), by_estimate);
  const auto words = [](const DerivedQuantity& d) {
    const std::string label = derived_label(d);
    return fmt::format("{} for {}", quantity_words(d),
                       derived_group(d) == rate_ratio ? label : in_sentence(label));
  };
  if (all.size() == 1) return fmt::format("{}: {}.", capital(group), words(**low));
  return fmt::format("{}: from {} to {}.", capital(group), words(**low), words(**high));
}

Chart derived_chart(const FitResult& fit, const std::string& group) {
  Chart chart;
  chart.name = "derived-" + plain_name(group, '-');
  std::vector<const DerivedQuantity*> all;
  for (const DerivedQuantity& d : fit.derived) {
    if (derived_group(d) == group && std::isfinite(d.estimate)) all.push_back(&d);
  }
  if (all.empty()) return chart;
  chart.title = fmt::format("{}, with {} intervals", capital(group), level_words(fit));
  chart.says = says_of_derived(all, group);
  chart.height_px = static_cast<int>(30 + 36 * all.size());
  chart.fields.reserve(4);
  const Shown as{all.front()->unit, "", 1.0, 0.0};
  auto& of = add_texts(chart, "treatment", "treatment");
  auto& estimate = add_numbers(chart, "estimate", group, as);
  auto& low = add_numbers(chart, "low", "lower end", as);
  auto& high = add_numbers(chart, "high", "upper end", as);
  for (const DerivedQuantity* d : all) {
    of.push_back(d->treatment);
    estimate.push_back(d->estimate);
    low.push_back(d->between.lower);
    high.push_back(d->between.upper);
  }
  for (double& end : high) end = std::isfinite(end) ? end : not_there;
  json y = on_axis(chart, "treatment");
  y["axis"] = nullptr;
  json x = on_axis(chart, "estimate");
  x["scale"] = {{"zero", false}, {"padding", 12}};
  json from = x;
  from["field"] = "low";
  json open = only_where("low");
  open.push_back({{"filter", {{"field", "high"}, {"valid", false}}}});
  const json thick = {{"type", "rule"}, {"strokeWidth", 3.0}, {"opacity", 0.6}};
  chart.spec = {
      {"layer",
       {layer(thick, {{"y", y}, {"x", from}, {"x2", {{"field", "high"}}}}, "high"),
        {{"transform", open},
         {"mark", {{"type", "rule"}, {"strokeWidth", 3.0}, {"opacity", 0.6}, {"strokeDash", {6, 4}}}},
         {"encoding", {{"y", y}, {"x", from}, {"x2", {{"value", "width"}}}}}},
        {{"mark", {{"type", "point"}, {"size", 70}, {"opacity", 1.0}}}, {"encoding", {{"y", y}, {"x", x}}}},
        {{"mark",
          {{"type", "text"}, {"align", "left"}, {"dx", 4}, {"dy", -12}, {"limit", {{"expr", "width - 8"}}}}},
         {"encoding",
          {{"y", y}, {"x", {{"value", 0}}}, {"text", {{"field", "treatment"}, {"type", "nominal"}}}}}}}}};
  if (group == rate_ratio) {
    chart.spec["layer"].push_back({{"data", once()["data"]},
                                   {"mark", {{"type", "rule"}, {"strokeDash", {4, 3}}}},
                                   {"encoding", {{"x", {{"datum", 1.0}}}}}});
    chart.says += " At 1, the broken line, both would be equally fast.";
  }
  return chart;
}

struct ResidualForm {
  std::string name, title, x, series;
};

std::string says_of_residuals(const std::vector<const FitResidual*>& all) {
  std::size_t off = 0, odd = 0;
  for (const FitResidual* r : all) {
    off += std::abs(r->standardised) > 2.0 ? 1 : 0;
    odd += r->suspicious ? 1 : 0;
  }
  const double expected = std::erfc(std::sqrt(2.0)) * static_cast<double>(all.size());
  return fmt::format(
      "{} of {} lie more than two standard deviations off; of normal errors about {:.0f} would. {} beyond "
      "{}: {}",
      off, all.size(), expected,
      odd == 0   ? "None lies"
      : odd == 1 ? "One lies"
                 : fmt::format("{} lie", odd),
      suspicious_sd, odd == 0 ? "no bag stands out." : "look there first.");
}

Chart residual_chart(const std::vector<const FitResidual*>& all, const ResidualForm& form, const Shown& as) {
  Chart chart;
  chart.name = form.name;
  chart.title = form.title;
  chart.says = says_of_residuals(all);
  chart.height_px = 270;
  chart.fields.reserve(7);
  auto& measure = add_texts(chart, "measure", "measured");
  auto& treatment = add_texts(chart, "treatment", "treatment");
  auto& odd = add_texts(chart, "odd", "to be looked at");
  auto& line = add_numbers(chart, "line", "line of the data file", {"1", "", 1.0, 0.0});
  auto& day = add_numbers(chart, "day", "time in the field", in_days());
  auto* predicted = form.x == "predicted"
                        ? &add_numbers(chart, "predicted", "fitted: " + all.front()->measure, as)
                        : nullptr;
  auto& standardised = add_numbers(chart, "standardised", "measured less fitted", {"sd", "", 1.0, 0.0});
  for (const FitResidual* r : all) {
    measure.push_back(r->measure);
    treatment.push_back(r->treatment);
    odd.push_back(r->suspicious ? fmt::format("line {}", r->line) : "");
    line.push_back(r->line);
    day.push_back(r->day);
    if (predicted) predicted->push_back(r->predicted);
    standardised.push_back(r->standardised);
  }
  double most = suspicious_sd;
  for (const FitResidual* r : all) most = std::max(most, std::abs(r->standardised));
  json x = on_axis(chart, form.x), y = on_axis(chart, "standardised");
  y["scale"] = {{"domain", {-1.15 * most, 1.15 * most}}};
  json point = {{"x", x}, {"y", y}};
  if (!form.series.empty()) point.update(as_points(chart, form.series));
  json odd_words = {
      {"x", std::move(x)}, {"y", std::move(y)}, {"text", {{"field", "odd"}, {"type", "nominal"}}}};
  chart.spec = {
      {"layer",
       {{{"mark", {{"type", "point"}, {"opacity", 0.6}, {"size", 30}}}, {"encoding", std::move(point)}},
        {{"mark", {{"type", "text"}, {"dx", 8}, {"align", "left"}}}, {"encoding", std::move(odd_words)}}}}};
  const std::size_t of_rows = chart.spec["layer"].size();
  add_level(chart.spec, 0.0, "");
  add_level(chart.spec, suspicious_sd, fmt::format("{}: look beyond", suspicious_sd));
  add_level(chart.spec, -suspicious_sd, "");
  for (std::size_t i = of_rows; i < chart.spec["layer"].size(); ++i) chart.spec["layer"][i].update(once());
  return chart;
}

}  // namespace

std::vector<Chart> data_charts(const FitResult& fit) {
  std::vector<Chart> charts;
  for (const FitMeasure& measure : measures_of(fit)) charts.push_back(data_chart(fit, measure));
  std::erase_if(charts, [](const Chart& c) { return c.rows() == 0; });
  return charts;
}

std::vector<Chart> derived_charts(const FitResult& fit) {
  std::vector<Chart> charts;
  for (const std::string& group : derived_groups(fit)) charts.push_back(derived_chart(fit, group));
  std::erase_if(charts, [](const Chart& c) { return c.rows() == 0; });
  return charts;
}

std::vector<Chart> residual_charts(const FitResult& fit) {
  std::vector<Chart> charts;
  const auto of = [&](const std::string& measure) {
    std::vector<const FitResidual*> chosen;
    for (const FitResidual& r : fit.residuals) {
      if ((measure.empty() || r.measure == measure) && std::isfinite(r.standardised)) chosen.push_back(&r);
    }
    return chosen;
  };
  const std::vector<const FitResidual*> all = of("");
  if (all.empty()) return charts;
  charts.push_back(residual_chart(all, {"residuals-day", "What the fit misses, by day", "day", "measure"},
                                  {"1", "", 1.0, 0.0}));
  for (const FitMeasure& measure : measures_of(fit)) {
    const std::vector<const FitResidual*> mine = of(measure.name);
    if (mine.empty()) continue;
    charts.push_back(residual_chart(
        mine,
        {"residuals-predicted-" + plain_name(measure.name, '-'),
         fmt::format("What the fit misses, by what it says of {}", measure.name), "predicted", ""},
        shown_measure(measure, fit.units)));
  }
  return charts;
}

}  // namespace stoverturn
