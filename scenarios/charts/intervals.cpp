#include "scenarios/charts/intervals.hpp"

#include <algorithm>
#include <cmath>

namespace stoverturn {
namespace {

using nlohmann::json;

constexpr int heading_px = 20, mark_px = 14, gap_px = 8;
constexpr std::size_t short_label = 16;  ///< two of them stand side by side on a phone

json rule(json encoding, double width_px, double opacity) {
  return {{"mark", {{"type", "rule"}, {"strokeWidth", width_px}, {"opacity", opacity}}},
          {"encoding", std::move(encoding)}};
}

/// Labels in one column where two would not fit side by side.
json with_legend(json channel) {
  std::size_t longest = 0;
  for (const json& label : channel["scale"]["domain"])
    longest = std::max(longest, label.get<std::string>().size());
  channel["legend"] = {{"columns", longest > short_label ? 1 : 2}};
  return channel;
}

bool has_any(const ChartField& field) {
  return std::any_of(field.numbers.begin(), field.numbers.end(), [](double x) { return !std::isnan(x); });
}

}  // namespace

void add_intervals(Chart& chart, const std::string& title, const Shown& shown,
                   const std::vector<RunInterval>& list) {
  constexpr std::pair<const char*, double RunInterval::*> fields[] = {{"lowest", &RunInterval::lowest},
                                                                      {"low", &RunInterval::low},
                                                                      {"middle", &RunInterval::middle},
                                                                      {"high", &RunInterval::high},
                                                                      {"highest", &RunInterval::highest}};
  for (const auto& [name, member] : fields) {
    std::vector<double>& numbers = add_numbers(chart, name, title, shown);
    for (const RunInterval& i : list) numbers.push_back(i.*member);
  }
}

json intervals(Chart& chart, const IntervalsForm& form) {
  const bool one = form.series.empty();
  json points = as_points(chart, one ? form.row : form.series);
  for (const char* channel : {"color", "shape"}) {
    points[channel] = with_legend(std::move(points[channel]));
    if (one) points[channel]["legend"] = nullptr;
  }
  json y = on_axis(chart, form.row);
  const int rows = static_cast<int>(y["sort"].size()),
            marks = one ? 1 : static_cast<int>(points["color"]["scale"]["domain"].size());
  const int step_px = heading_px + mark_px * marks + gap_px;
  chart.height_px = rows * step_px;
  y["title"] = nullptr;
  y["scale"] = {{"paddingInner", 0}, {"paddingOuter", 0}};
  y["axis"] = {{"labelAlign", "left"},
               {"labelPadding", -6},
               {"labelOffset", -step_px / 2 + heading_px / 2 + 2},
               {"labelLimit", 400},
               {"labelFontWeight", "bold"},
               {"ticks", false},
               {"domain", false},
               {"grid", false},
               {"zindex", 1}};
  json offset = {{"value", heading_px + mark_px / 2}};
  if (!one) {
    offset = {{"field", chart.field(form.series).name},
              {"type", "nominal"},
              {"sort", points["color"]["scale"]["domain"]},
              {"scale", {{"range", {heading_px, step_px - gap_px / 2}}, {"padding", 0.5}}}};
  }
  json x = on_axis(chart, "middle");
  x["scale"] = {{"zero", false}};
  const auto across = [&](const char* from, const char* to) {
    json encoding = {{"x", x}, {"x2", {{"field", to}}}, {"y", y}, {"yOffset", offset}};
    encoding["x"]["field"] = from;
    encoding["color"] = points["color"];
    return encoding;
  };
  json dots = {{"x", x}, {"y", y}, {"yOffset", offset}};
  dots.update(points);
  json spec = {{"layer", json::array()}};
  // by halves: where some runs get nowhere, one end is not known
  for (const char* end : {"lowest", "highest"})
    spec["layer"].push_back(rule(across("middle", end), 1.5, 1.0));
  for (const char* end : {"low", "high"}) spec["layer"].push_back(rule(across("middle", end), 6.0, 0.5));
  spec["layer"].push_back(
      {{"mark", {{"type", "point"}, {"size", 70}, {"opacity", 1}}}, {"encoding", std::move(dots)}});
  return spec;
}

void add_upright_level(json& spec, double shown_value, std::string_view word) {
  const json x = {{"datum", shown_value}};
  spec["layer"].push_back({{"mark", {{"type", "rule"}, {"strokeDash", {4, 3}}}}, {"encoding", {{"x", x}}}});
  if (word.empty()) return;
  spec["layer"].push_back(
      {{"mark", {{"type", "text"}, {"align", "left"}, {"baseline", "top"}, {"dx", 4}, {"dy", 4}}},
       {"encoding", {{"x", x}, {"y", {{"value", 0}}}, {"text", {{"value", word}}}}}});
}

json interval_lines(const Chart& chart, std::string_view x, std::string_view series) {
  const bool inner = has_any(chart.field("low"));
  const std::string low = inner ? "low" : "lowest", high = inner ? "high" : "highest";
  json spec = lines(chart, {x, "middle", series, low, high});
  // a band ends where its edge is not known
  spec["layer"][0]["transform"] =
      json::array({{{"filter", "isValid(datum." + low + ") && isValid(datum." + high + ")"}}});
  for (json& layer : spec["layer"]) {
    for (const char* channel : {"color", "strokeDash"}) {
      json& encoding = layer["encoding"];
      if (!encoding.contains(channel)) continue;
      encoding[channel] = with_legend(std::move(encoding[channel]));
      encoding[channel]["legend"]["symbolType"] = "stroke";
    }
  }
  return spec;
}

}  // namespace stoverturn
