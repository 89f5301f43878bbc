#include "scenarios/report/planting_charts.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include <fmt/format.h>

#include "scenarios/decide/planting.hpp"
#include "scenarios/text/index_of.hpp"

namespace stoverturn {
namespace {

constexpr const char* light_to_dark[length_classes] = {"#f6efd9", "#e3c68a", "#c89a55",
                                                       "#9a6236", "#5d3a24", "#2a1a12"};
constexpr double none = std::numeric_limits<double>::quiet_NaN();

struct Asked {
  std::string chart, title, axis, number;
  std::size_t inner = 0;
  std::string unit = {};  ///< other than the variable's
};

/// "all left 89 to 91 %; half baled 68 to 70 %", at most six.
std::string by_treatment(const PlantingLook& look, const std::vector<RunInterval>& list, const Shown& show,
                         int decimals) {
  constexpr std::size_t most = 6;
  std::string text;
  for (std::size_t t = 0; t < std::min(list.size(), most); ++t) {
    if (std::isnan(list[t].middle)) continue;
    text += fmt::format("{}{}: {} {}", text.empty() ? "" : "; ", look.r.treatments[t],
                        look.spread.range(list[t], show, decimals), show.unit);
  }
  const std::string of = look.spread.range_of();
  return text.empty() ? "" : text + (of.empty() ? ". " : fmt::format(" ({}). ", of));
}

/// A row a treatment.
Chart interval_chart(const PlantingLook& look, const Asked& asked) {
  const Variable* v = look.spread.find(asked.number);
  if (!v) return {};
  std::vector<RunInterval> list;
  for (std::size_t t = 0; t < look.r.treatments.size(); ++t)
    list.push_back(look.spread.of(*v, 0, t, asked.inner));
  if (std::all_of(list.begin(), list.end(), [](const RunInterval& i) { return std::isnan(i.middle); }))
    return {};
  Chart chart;
  chart.name = asked.chart;
  chart.title = asked.title;
  add_texts(chart, "treatment", "treatment") = look.r.treatments;
  Shown show = shown(*v, look.r);
  if (!asked.unit.empty()) show.unit = asked.unit;
  add_intervals(chart, asked.axis, show, list);
  chart.spec = intervals(chart, {"treatment"});
  const int decimals = v->kind == Kind::temperature_difference || !asked.unit.empty() ? 1 : 0;
  chart.says = by_treatment(look, list, show, decimals) + look.spread.how_to_read();
  return chart;
}

/// "up to 25 mm (1 in)": one label in both systems, as one column of texts serves both.
std::string length_words(std::size_t length_class) {
  const bool last = length_class == length_edges_in.size();
  const double edge_in = length_edges_in[last ? length_class - 1 : length_class];
  return fmt::format("{} {:.0f} mm ({:.0f} in)", last ? "over" : "up to", 25.4 * edge_in, edge_in);
}

/// Lines of intervals by treatment along a text field, which is filled already.
void draw_lines(Chart& chart, const PlantingLook& look, const std::string& title, const Shown& show,
                const std::vector<RunInterval>& list, std::string_view along) {
  add_intervals(chart, title, show, list);
  chart.spec = interval_lines(chart, along, "treatment");
  const std::string of = look.spread.range_of();
  if (!of.empty()) chart.says += fmt::format(" The line is the middle run, the band holds {}.", of);
}

}  // namespace

PlantingLook::PlantingLook(const Results& results)
    : r(results), spread(results), planting(index_of(results.checkpoints, "planting 1")) {}

RunInterval tied_up(const PlantingLook& look, std::size_t t, int stage) {
  std::vector<double> tied = look.spread.runs("nitrogen_released_at", 0, t, look.planting);
  std::vector<double> since(tied.size(), 0.0);
  if (stage >= 0) since = look.spread.runs("stage_nitrogen_released", 0, t, static_cast<std::size_t>(stage));
  if (since.size() != tied.size()) return {none, none, none, none, none};
  for (std::size_t i = 0; i < tied.size(); ++i) tied[i] = -tied[i] - since[i];
  return look.spread.of_values(std::move(tied));
}

Chart cover_chart(const PlantingLook& look) {
  Chart chart = interval_chart(look, {"cover", "How much of the soil is covered on planting day",
                                      "soil covered", "soil_cover_at", look.planting});
  if (chart.rows() == 0) return chart;
  for (nlohmann::json& layer : chart.spec["layer"]) layer["encoding"]["x"]["scale"] = {{"domain", {0, 100}}};
  add_upright_level(chart.spec, 100.0 * conservation_cover,
                    fmt::format("{:.0f} %", 100.0 * conservation_cover));
  return chart;
}

Chart pieces_chart(const PlantingLook& look) {
  Chart chart;
  chart.name = "pieces";
  chart.title = "What lies flat on planting day, by length of pieces";
  std::vector<std::string> treatments, lengths, colors;
  std::vector<double> mass;
  const Variable* any = nullptr;
  for (std::size_t i = 0; i < length_classes; ++i) {
    const Variable* v = look.spread.any(fmt::format("{}_at_mean", length_class_series(i)));
    if (!v || look.planting >= look.r.checkpoints.size()) return {};
    const auto of = [&](std::size_t t) { return v->values[t * look.r.checkpoints.size() + look.planting]; };
    bool some = false;
    for (std::size_t t = 0; t < look.r.treatments.size(); ++t) some = some || of(t) > 1e-9;
    if (some) colors.emplace_back(light_to_dark[i]);
    for (std::size_t t = 0; some && t < look.r.treatments.size(); ++t) {
      any = v;
      treatments.push_back(look.r.treatments[t]);
      lengths.push_back(length_words(i));
      mass.push_back(of(t));
    }
  }
  if (!any) return {};
  add_texts(chart, "treatment", "treatment") = std::move(treatments);
  add_texts(chart, "pieces", "length of pieces") = std::move(lengths);
  add_numbers(chart, "mass", "flat residue, mean of the runs", shown(*any, look.r)) = std::move(mass);

  constexpr int step_px = 46;
  nlohmann::json y = on_axis(chart, "treatment");
  y["title"] = nullptr;
  y["scale"] = {{"paddingInner", 0.5}, {"paddingOuter", 0.4}};
  y["axis"] = {{"labelAlign", "left"}, {"labelPadding", -6}, {"labelOffset", -19},
               {"labelLimit", 400},    {"ticks", false},     {"domain", false},
               {"grid", false},        {"zindex", 1},        {"labelFontWeight", "bold"}};
  nlohmann::json x = on_axis(chart, "mass");
  x["stack"] = "zero";
  const nlohmann::json order = on_axis(chart, "pieces")["sort"];
  // from light to dark, so that grey print keeps the order
  const nlohmann::json color = {{"field", "pieces"},
                                {"type", "ordinal"},
                                {"title", "length of pieces"},
                                {"sort", order},
                                {"scale", {{"domain", order}, {"range", colors}}},
                                {"legend", {{"columns", 2}}}};
  std::string rank = "indexof(" + order.dump() + ", datum.pieces)";
  chart.spec = {
      {"transform", nlohmann::json::array({{{"calculate", std::move(rank)}, {"as", "rank"}}})},
      {"mark", {{"type", "bar"}, {"stroke", "#6b6557"}, {"strokeWidth", 0.7}}},
      {"encoding",
       {{"x", x}, {"y", y}, {"color", color}, {"order", {{"field", "rank"}, {"type", "quantitative"}}}}}};
  chart.height_px = static_cast<int>(look.r.treatments.size()) * step_px;
  chart.says =
      "Means of the runs, which add up. Standing stalks are not in it. Short pieces that lie flat can gather "
      "in the seed row.";
  return chart;
}

Chart seed_temperature_chart(const PlantingLook& look) {
  Chart chart = interval_chart(look, {"seed-temperature", "Soil at the seed against bare soil",
                                      "warmer (+) or colder (-) than bare", "seed_temperature_difference"});
  if (chart.rows() > 0) add_upright_level(chart.spec, 0.0, "");
  return chart;
}

Chart warm_soil_later_chart(const PlantingLook& look) {
  Chart chart = interval_chart(look, {"warm-soil-later", "How much later the soil is warm than bare soil",
                                      "later at 50 degF (10 degC)", "soil_lag"});
  if (chart.rows() > 0) add_upright_level(chart.spec, 0.0, "");
  return chart;
}

Chart seedbed_water_chart(const PlantingLook& look) {
  Chart chart =
      interval_chart(look, {"seedbed-water", "Water in the topsoil against bare soil",
                            "more water by volume than bare", "seedbed_moisture_difference", 0, "points"});
  if (chart.rows() > 0) add_upright_level(chart.spec, 0.0, "");
  return chart;
}

Chart wet_residue_chart(const PlantingLook& look) {
  return interval_chart(look, {"wet-residue", "How wet the residue is around planting",
                               "of the water that it can hold", "residue_wetness_at_planting"});
}

Chart tie_up_chart(const PlantingLook& look) {
  const Variable* v = look.spread.any("nitrogen_released_at");
  if (!v || look.spread.run_count() == 0 || look.planting >= look.r.checkpoints.size()) return {};
  const bool known = look.spread.any("stage_nitrogen_released") != nullptr;
  Chart chart;
  chart.name = "tie-up";
  chart.title = "Nitrogen that residue ties up, by growth stage";
  std::vector<std::string> treatments, stages;
  std::vector<RunInterval> list;
  for (std::size_t t = 0; t < look.r.treatments.size(); ++t) {
    for (int s = -1; s < (known ? static_cast<int>(look.r.stages.size()) : 0); ++s) {
      treatments.push_back(look.r.treatments[t]);
      stages.push_back(s < 0 ? "planting" : stage_word(look.r.stages[static_cast<std::size_t>(s)]));
      list.push_back(tied_up(look, t, s));
    }
  }
  add_texts(chart, "treatment", "treatment") = std::move(treatments);
  add_texts(chart, "stage", "stage of the crop") = std::move(stages);
  chart.says = "Net, since harvest; below zero residue gives nitrogen.";
  draw_lines(chart, look, "N tied up since harvest", shown(*v, look.r), list, "stage");
  for (nlohmann::json& layer : chart.spec["layer"]) layer["encoding"]["x"]["axis"] = {{"labelAngle", 330}};
  add_level(chart.spec, 0.0, "");
  return chart;
}

Chart build_up_chart(const PlantingLook& look) {
  const Variable* v = look.spread.find("residue_before_planting");
  if (!v) return {};
  Chart chart;
  chart.name = "build-up";
  chart.title = "How residue builds up, year after year";
  std::vector<std::string> treatments, plantings;
  std::vector<RunInterval> list;
  for (std::size_t t = 0; t < look.r.treatments.size(); ++t) {
    for (std::size_t h = 0; h < look.r.harvests.size(); ++h) {
      treatments.push_back(look.r.treatments[t]);
      plantings.push_back(look.r.harvests[h]);
      list.push_back(look.spread.of(*v, 0, t, h));
    }
  }
  add_texts(chart, "treatment", "treatment") = std::move(treatments);
  add_texts(chart, "planting", "planting") = std::move(plantings);
  chart.says = "All residue on the field before each planting.";
  draw_lines(chart, look, "residue before planting", shown(*v, look.r), list, "planting");
  for (nlohmann::json& layer : chart.spec["layer"]) layer["encoding"]["x"]["axis"] = {{"labelAngle", 0}};
  return chart;
}

}  // namespace stoverturn
