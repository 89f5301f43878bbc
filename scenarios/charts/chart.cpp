#include "scenarios/charts/chart.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include <fast_float/fast_float.h>
#include <fmt/format.h>

#include "scenarios/text/index_of.hpp"

namespace stoverturn {
namespace {

using nlohmann::json;

constexpr double ms_d = 86400000.0;

/// Apart from each other in grey print too.
const json& dashes() {
  static const json list = {{1, 0},       {7, 3},  {2, 2}, {10, 3, 2, 3},
                            {4, 2, 1, 2}, {14, 4}, {1, 4}, {6, 2, 2, 2, 2, 2}};
  return list;
}

std::string_view to_string(FieldType type) {
  return type == FieldType::number ? "quantitative" : type == FieldType::date ? "temporal" : "nominal";
}

/// Values of a text field in the order of first appearance.
std::vector<std::string> values_of(const ChartField& field) {
  std::vector<std::string> values;
  for (const std::string& text : field.texts) {
    if (index_of(values, text) == values.size()) values.push_back(text);
  }
  return values;
}

json by(const Chart& chart, std::string_view name) {
  const ChartField& field = chart.field(name);
  return {{"field", field.name},
          {"type", "nominal"},
          {"title", field.title},
          {"scale", {{"domain", values_of(field)}}}};
}

ChartField& add(Chart& chart, std::string name, std::string title, FieldType type) {
  chart.fields.push_back({std::move(name), std::move(title), type, {}, {}, {}});
  return chart.fields.back();
}

/// Six digits: more than a picture shows.
json number(double value) {
  if (!std::isfinite(value)) return nullptr;
  const std::string text = fmt::format("{:.6g}", value);
  double rounded = 0.0;
  fast_float::from_chars(text.data(), text.data() + text.size(), rounded);
  return rounded;
}

json columns(const Chart& chart) {
  json all = json::object();
  for (const ChartField& f : chart.fields) {
    json& column = all[f.name] = json::array();
    for (const std::string& text : f.texts) column.push_back(text);
    for (const double value : f.numbers) column.push_back(number(value));
  }
  return all;
}

json in_units(const Chart& chart) {
  json fields = json::array();
  for (const ChartField& f : chart.fields) {
    json one = {{"name", f.name}, {"title", f.title}, {"type", to_string(f.type)}};
    if (f.type == FieldType::number) {
      one["unit"] = f.shown.unit;
      one["substance"] = f.shown.substance;
      one["scale"] = f.shown.scale;
      one["offset"] = f.shown.offset;
    }
    fields.push_back(std::move(one));
  }
  return {{"title", chart.title},
          {"says", chart.says},
          {"fields", std::move(fields)},
          {"spec", chart.spec},
          {"small_spec", chart.small_spec}};
}

void check_alike(const Chart& a, const Chart& b) {
  bool alike =
      a.name == b.name && a.facet == b.facet && a.fields.size() == b.fields.size() && a.rows() == b.rows();
  for (std::size_t i = 0; alike && i < a.fields.size(); ++i) {
    alike = a.fields[i].name == b.fields[i].name && a.fields[i].type == b.fields[i].type;
  }
  if (!alike)
    throw std::invalid_argument(fmt::format("chart {} differs between the systems of units", a.name));
}

}  // namespace

std::size_t Chart::rows() const {
  return fields.empty() ? 0 : std::max(fields.front().numbers.size(), fields.front().texts.size());
}

const ChartField& Chart::field(std::string_view wanted) const {
  for (const ChartField& f : fields) {
    if (f.name == wanted) return f;
  }
  throw std::out_of_range(fmt::format("chart {} has no field {}", name, wanted));
}

std::vector<double>& add_numbers(Chart& chart, std::string name, std::string title, Shown shown) {
  ChartField& field = add(chart, std::move(name), std::move(title), FieldType::number);
  field.shown = std::move(shown);
  return field.numbers;
}
std::vector<double>& add_dates(Chart& chart, std::string name, std::string title) {
  return add(chart, std::move(name), std::move(title), FieldType::date).numbers;
}
std::vector<std::string>& add_texts(Chart& chart, std::string name, std::string title) {
  return add(chart, std::move(name), std::move(title), FieldType::text).texts;
}

std::string axis_title(const ChartField& field) {
  if (field.type != FieldType::number || field.shown.unit.empty() || field.shown.unit == "1")
    return field.title;
  return fmt::format("{} [{}]", field.title, field.shown.unit);
}

json on_axis(const Chart& chart, std::string_view name) {
  const ChartField& field = chart.field(name);
  json axis = {{"field", field.name}, {"type", to_string(field.type)}, {"title", axis_title(field)}};
  if (field.type == FieldType::date) {
    axis["scale"] = {{"type", "utc"}};
    axis["axis"] = {{"labelAngle", 0}, {"labelOverlap", true}};
  }
  if (field.type == FieldType::text) axis["sort"] = values_of(field);
  return axis;
}

json as_lines(const Chart& chart, std::string_view name) {
  json color = by(chart, name);
  color["legend"] = {{"symbolType", "stroke"}, {"symbolSize", 500}};
  json dash = color;
  json range = json::array();
  for (std::size_t i = 0; i < dash["scale"]["domain"].size(); ++i)
    range.push_back(dashes()[i % dashes().size()]);
  dash["scale"]["range"] = std::move(range);
  return {{"color", std::move(color)}, {"strokeDash", std::move(dash)}};
}

json as_points(const Chart& chart, std::string_view name) {
  return {{"color", by(chart, name)}, {"shape", by(chart, name)}};
}

json lines(const Chart& chart, const LinesForm& form) {
  json spec = {{"layer", json::array()}};
  const json x = on_axis(chart, form.x), y = on_axis(chart, form.y);
  if (!form.low.empty()) {
    json band = {{"mark", {{"type", "area"}}},
                 {"encoding", {{"x", x}, {"y", y}, {"y2", {{"field", form.high}}}}}};
    band["encoding"]["y"]["field"] = form.low;
    if (!form.series.empty()) band["encoding"]["color"] = as_lines(chart, form.series)["color"];
    spec["layer"].push_back(std::move(band));
  }
  json line = {{"mark", {{"type", "line"}}}, {"encoding", {{"x", x}, {"y", y}}}};
  if (!form.series.empty()) line["encoding"].update(as_lines(chart, form.series));
  spec["layer"].push_back(std::move(line));
  return spec;
}

void add_level(json& spec, double shown_value, std::string_view word) {
  const json once = {{"values", json::array({json::object()})}};  // not a mark for each row of the chart
  const json y = {{"datum", shown_value}};
  spec["layer"].push_back(
      {{"data", once}, {"mark", {{"type", "rule"}, {"strokeDash", {4, 3}}}}, {"encoding", {{"y", y}}}});
  if (word.empty()) return;
  spec["layer"].push_back({{"data", once},
                           {"mark", {{"type", "text"}, {"align", "left"}, {"dx", 4}, {"dy", -6}}},
                           {"encoding", {{"y", y}, {"x", {{"value", 0}}}, {"text", {{"value", word}}}}}});
}

void add_key_dates(json& spec, const std::vector<KeyDate>& dates) {
  json rows = json::array();
  for (const KeyDate& d : dates) rows.push_back({{"key_date", d.date * ms_d}, {"word", d.word}});
  const json x = {{"field", "key_date"}, {"type", "temporal"}, {"scale", {{"type", "utc"}}}};
  spec["layer"].push_back({{"data", {{"values", rows}}},
                           {"mark", {{"type", "rule"}, {"strokeDash", {1, 3}}}},
                           {"encoding", {{"x", x}}}});
  spec["layer"].push_back(
      {{"data", {{"values", std::move(rows)}}},
       {"mark",
        {{"type", "text"},
         {"clip", true},
         {"angle", 270},
         {"align", "right"},
         {"baseline", "bottom"},
         {"dx", -3},
         {"dy", -2}}},
       {"encoding", {{"x", x}, {"y", {{"value", 0}}}, {"text", {{"field", "word"}, {"type", "nominal"}}}}}});
}

json chart_json(const Chart& si, const Chart& us) {
  check_alike(si, us);
  return {{"name", si.name},        {"facet", si.facet},  {"height", si.height_px},
          {"columns", columns(si)}, {"si", in_units(si)}, {"us", in_units(us)}};
}

}  // namespace stoverturn
