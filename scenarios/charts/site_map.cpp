#include "scenarios/charts/site_map.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <set>

#include <fmt/format.h>

namespace stoverturn {
namespace {

using nlohmann::json;

constexpr std::size_t named_sites = 30;
constexpr double margin = 0.18;    ///< of the span of the points, on each side
constexpr double least_deg = 0.1;  ///< half the side of a map of one point
constexpr double wider = 1.35;     ///< width over height of the grid
constexpr int line_parts = 24;
constexpr double farthest_lat = 80;  ///< Mercator has no poles

struct Span {
  double low, high;
  double middle() const { return (low + high) / 2.0; }
  double width() const { return high - low; }
};

Span span_of(const std::vector<double>& degrees) {
  if (degrees.empty()) return {-least_deg, least_deg};
  const auto [low, high] = std::minmax_element(degrees.begin(), degrees.end());
  const double more = std::max(margin * (*high - *low), least_deg);
  return {*low - more, *high + more};
}

/// Wide enough around its middle.
void widen(Span& span, double width) {
  if (span.width() < width) span = {span.middle() - width / 2.0, span.middle() + width / 2.0};
}

/// Degrees between lines of the grid: 1, 2 or 5 of a power of ten, three to seven lines across.
double grid_step(double width) {
  double step = 0.01;
  for (int i = 0; step * 7.0 < width; ++i) step *= i % 3 == 1 ? 2.5 : 2.0;
  return step;
}

std::string degrees(double value, const char* positive, const char* negative) {
  const double size = std::abs(value);
  return fmt::format("{:.4g}° {}", size, value < 0.0 ? negative : positive);
}

struct Grid {
  json lines = json::array(), words = json::array();
};

Grid grid_of(const Span& lon, const Span& lat) {
  Grid grid;
  // of many points: between two, a map draws the shortest way on the globe, which leaves the parallel
  const auto line = [&](double lon_a, double lat_a, double lon_b, double lat_b) {
    json points = json::array();
    for (int i = 0; i <= line_parts; ++i) {
      const double share = static_cast<double>(i) / line_parts;
      points.push_back({lon_a + share * (lon_b - lon_a), lat_a + share * (lat_b - lat_a)});
    }
    grid.lines.push_back(
        {{"type", "Feature"}, {"geometry", {{"type", "LineString"}, {"coordinates", std::move(points)}}}});
  };
  const double step = grid_step(std::max(lon.width(), lat.width()));
  for (double l = std::ceil(lon.low / step); l * step <= lon.high; l += 1.0) {
    line(l * step, lat.low, l * step, lat.high);
    grid.words.push_back(
        {{"grid_lon", l * step}, {"grid_lat", lat.low}, {"word", degrees(l * step, "E", "W")}});
  }
  for (double l = std::ceil(lat.low / step); l * step <= lat.high; l += 1.0) {
    line(lon.low, l * step, lon.high, l * step);
    grid.words.push_back(
        {{"grid_lon", lon.high}, {"grid_lat", l * step}, {"word", degrees(l * step, "N", "S")}});
  }
  // the frame, so that the whole of it is in view
  line(lon.low, lat.low, lon.high, lat.low);
  line(lon.low, lat.high, lon.high, lat.high);
  line(lon.low, lat.low, lon.low, lat.high);
  line(lon.high, lat.low, lon.high, lat.high);
  return grid;
}

json point_text(const json& where, json text, int dy, bool bold) {
  json encoding = where;
  encoding["text"] = std::move(text);
  return {{"mark", {{"type", "text"}, {"dy", dy}, {"fontWeight", bold ? "bold" : "normal"}}},
          {"encoding", std::move(encoding)}};
}

/// Names from west to east, each once.
std::vector<std::string> from_the_west(const Chart& chart, std::string_view name) {
  const std::vector<std::string>& names = chart.field(name).texts;
  std::map<double, std::vector<std::string>> by_longitude;
  std::set<std::string> known;
  for (std::size_t i = 0; i < names.size(); ++i) {
    if (known.insert(names[i]).second) by_longitude[chart.field("longitude").numbers[i]].push_back(names[i]);
  }
  std::vector<std::string> sorted;
  for (const auto& [longitude, here] : by_longitude) sorted.insert(sorted.end(), here.begin(), here.end());
  return sorted;
}

/// Names above and below points in turn, so that neighbours do not meet.
void add_names(json& layers, const json& where, std::string_view field,
               const std::vector<std::string>& names) {
  for (const std::size_t turn : {0U, 1U}) {
    json some = json::array();
    for (std::size_t i = turn; i < names.size(); i += 2) some.push_back(names[i]);
    json text = point_text(where, {{"field", field}, {"type", "nominal"}}, turn == 0 ? -17 : 35, true);
    text["transform"] = json::array({{{"filter", {{"field", field}, {"oneOf", std::move(some)}}}}});
    layers.push_back(std::move(text));
  }
}

}  // namespace

json site_map(const Chart& chart, const SiteMapForm& form) {
  Span lon = span_of(chart.field("longitude").numbers), lat = span_of(chart.field("latitude").numbers);
  const double shrunk = std::cos(lat.middle() * std::numbers::pi / 180.0);  // a degree east in degrees north
  widen(lon, wider * lat.width() / std::max(shrunk, 0.1));
  widen(lat, lon.width() * shrunk / wider);
  lat = {std::max(lat.low, -farthest_lat), std::min(lat.high, farthest_lat)};
  Grid grid = grid_of(lon, lat);

  const json where = {{"longitude", {{"field", "longitude"}, {"type", "quantitative"}}},
                      {"latitude", {{"field", "latitude"}, {"type", "quantitative"}}}};
  const json at_words = {{"longitude", {{"field", "grid_lon"}, {"type", "quantitative"}}},
                         {"latitude", {{"field", "grid_lat"}, {"type", "quantitative"}}},
                         {"text", {{"field", "word"}, {"type", "nominal"}}}};
  const ChartField& value = chart.field(form.value);
  const json told = {{"field", value.name}, {"type", "quantitative"}, {"title", axis_title(value)}};
  json points = where;
  points["size"] = told;
  points["size"]["scale"] = {{"zero", false}, {"range", {60, 420}}};
  points["fill"] = told;
  points["fill"]["scale"] = {{"zero", false}, {"range", "ramp"}};

  json spec = {{"projection", {{"type", "mercator"}}}, {"layer", json::array()}};
  spec["layer"].push_back(
      {{"data", {{"values", std::move(grid.lines)}}},
       {"mark", {{"type", "geoshape"}, {"filled", false}, {"stroke", "#cfc8b8"}, {"strokeWidth", 0.8}}}});
  spec["layer"].push_back({{"data", {{"values", std::move(grid.words)}}},
                           {"mark", {{"type", "text"}, {"align", "right"}, {"dx", -3}, {"dy", -6}}},
                           {"encoding", at_words}});
  spec["layer"].push_back({{"mark", {{"type", "circle"}, {"opacity", 1}, {"stroke", "#2e2a22"}}},
                           {"encoding", std::move(points)}});
  const std::vector<std::string> names = from_the_west(chart, form.name);
  if (names.size() <= named_sites) {
    add_names(spec["layer"], where, form.name, names);
    spec["layer"].push_back(point_text(
        where,
        {{"field", form.value}, {"type", "quantitative"}, {"format", fmt::format(",.{}f", form.decimals)}},
        20, false));
  }
  return spec;
}

}  // namespace stoverturn
