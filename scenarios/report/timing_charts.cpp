#include "scenarios/report/timing_charts.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include <fmt/format.h>

#include "scenarios/plan/crop_seasons.hpp"
#include "scenarios/text/index_of.hpp"
#include "scenarios/units/quantity.hpp"

namespace stoverturn {
namespace {

constexpr const char* nothing = "nothing spread";
constexpr double none = std::numeric_limits<double>::quiet_NaN();

/// What a chart shows of a kept number.
struct Asked {
  std::string chart, title, axis, number;
  std::string before, after;  ///< of "5 to 22 %" in the sentence beneath
  std::size_t inner = 0;
  bool turned = false;    ///< shown with the opposite sign
  std::string unit = {};  ///< other than the variable's
};

Shown shown_as(const Asked& asked, const Variable& v, const Results& r) {
  Shown s = shown(v, r);
  if (!asked.unit.empty()) s.unit = asked.unit;
  return asked.turned ? turned_round(std::move(s)) : s;
}

/// Treatment, date and what was spread of each choice.
void add_choices(Chart& chart, const TimingLook& look, const std::vector<PlacedChoice>& choices) {
  std::vector<std::string> bases, dates, products;
  for (const PlacedChoice& c : choices) {
    bases.push_back(look.r.treatments[c.base]);
    dates.push_back(c.treatment == c.base ? "without" : date_words(c.choice));
    products.push_back(c.treatment == c.base ? nothing : product_words(c.choice));
  }
  add_texts(chart, "treatment", "treatment") = bases;
  add_texts(chart, "date", "when it is spread") = std::move(dates);
  add_texts(chart, "spread", "spread") = std::move(products);
  if (bases_of(choices).size() > 1) chart.facet = "treatment";
}

/// "5 to 22", from the lowest to the highest that the told ranges of all choices reach.
std::string least_to_most(const TimingLook& look, const std::vector<RunInterval>& list, const Shown& show,
                          int decimals) {
  double least = none, most = none;
  for (const RunInterval& i : list) {
    const auto [a, b] = look.spread.told(i);
    for (const double x : {show(a), show(b)}) {
      if (std::isnan(x)) continue;
      least = std::isnan(least) ? x : std::min(least, x);
      most = std::isnan(most) ? x : std::max(most, x);
    }
  }
  return std::isnan(least) ? "" : range_text(least, most, decimals);
}

std::string said(const TimingLook& look, const Asked& asked, const std::vector<RunInterval>& list,
                 const Shown& show) {
  const std::string range = least_to_most(look, list, show, show.unit == "%" ? 0 : 1);
  if (range.empty()) return look.spread.how_to_read();
  const std::string of = look.spread.range_of();
  return fmt::format("{} {} {}{}{}. {}", asked.before, range, show.unit, asked.after,
                     of.empty() ? "" : fmt::format(", over all choices and {}", of),
                     look.spread.how_to_read());
}

Chart interval_chart(const TimingLook& look, const Asked& asked, const std::vector<PlacedChoice>& choices,
                     const std::vector<RunInterval>& list, const Shown& show) {
  Chart chart;
  chart.name = asked.chart;
  chart.title = asked.title;
  add_choices(chart, look, choices);
  add_intervals(chart, asked.axis, show, list);
  chart.spec = intervals(chart, {"date", "spread"});
  add_upright_level(chart.spec, 0.0, "");
  chart.says = said(look, asked, list, show);
  return chart;
}

/// Rows of what is without a choice, drawn as an upright line at its middle instead of at zero.
void add_without(Chart& chart, const TimingLook& look, const std::vector<PlacedChoice>& bases,
                 const std::vector<RunInterval>& list) {
  Chart more;
  add_choices(more, look, bases);
  add_intervals(more, "", {}, list);
  for (ChartField& field : chart.fields) {
    const ChartField& own = more.field(field.name);
    field.texts.insert(field.texts.end(), own.texts.begin(), own.texts.end());
    field.numbers.insert(field.numbers.end(), own.numbers.begin(), own.numbers.end());
  }
  nlohmann::json& layers = chart.spec["layer"];
  layers.erase(layers.size() - 1);
  const auto only = [](const char* comparison) {
    return nlohmann::json::array({{{"filter", fmt::format("datum.spread {} '{}'", comparison, nothing)}}});
  };
  for (nlohmann::json& layer : layers) layer["transform"] = only("!==");
  nlohmann::json x = layers[0]["encoding"]["x"];
  layers.push_back({{"mark", {{"type", "rule"}, {"strokeDash", {4, 3}}, {"strokeWidth", 1.5}}},
                    {"transform", only("===")},
                    {"encoding", {{"x", std::move(x)}}}});
}

/// An empty chart (no fields) where the number is not kept.
Chart chart_of(const TimingLook& look, const Asked& asked) {
  const Variable* v = look.spread.find(asked.number);
  if (!v || look.choices.empty()) return {};
  std::vector<RunInterval> list;
  for (const PlacedChoice& c : look.choices) list.push_back(look.spread.of(*v, 0, c.treatment, asked.inner));
  if (std::all_of(list.begin(), list.end(), [](const RunInterval& i) { return std::isnan(i.middle); }))
    return {};
  return interval_chart(look, asked, look.choices, list, shown_as(asked, *v, look.r));
}

/// Shares of years or weathers, a dot each.
Chart share_chart(const TimingLook& look, const Asked& asked) {
  const Variable* v = look.spread.any(asked.number);
  if (!v) return {};
  std::vector<PlacedChoice> known;
  std::vector<RunInterval> list;
  for (const PlacedChoice& c : look.choices) {
    const double share = look.spread.share(asked.number, 0, c.treatment);
    if (std::isnan(share)) continue;
    known.push_back(c);
    list.push_back({none, none, share, none, none});
  }
  if (known.empty()) return {};
  Chart chart;
  chart.name = asked.chart;
  chart.title = asked.title;
  add_choices(chart, look, known);
  add_intervals(chart, asked.axis, shown(*v, look.r), list);
  chart.spec = intervals(chart, {"date", "spread"});
  for (nlohmann::json& layer : chart.spec["layer"]) {
    layer["encoding"]["x"]["scale"] = {{"domain", {0, 100}}};
  }
  double least = 1.0, most = 0.0;
  for (const RunInterval& i : list) {
    least = std::min(least, i.middle);
    most = std::max(most, i.middle);
  }
  chart.says = fmt::format("{} {} %{}, by choice.", asked.before, range_text(100.0 * least, 100.0 * most),
                           asked.after);
  return chart;
}

}  // namespace

std::string date_words(const TimingChoice& c) {
  if (is_quantity(c.date, Kind::time)) return c.date + " after harvest";
  if (c.date.starts_with("soil below ")) return "once the soil stays below " + c.date.substr(11);
  return "on " + c.date;
}

std::string product_words(const TimingChoice& c) {
  return fmt::format("{} {}{}", c.rate, c.product, c.placement.empty() ? "" : ", " + c.placement);
}

std::string choice_words(const PlacedChoice& c) {
  return fmt::format("{}, {}", product_words(c.choice), date_words(c.choice));
}

Shown turned_round(Shown shown) {
  shown.scale = -shown.scale;
  return shown;
}

RunInterval TimingLook::of(const char* number, std::size_t t, std::size_t inner) const {
  const Variable* v = spread.find(number);
  return v ? spread.of(*v, 0, t, inner) : spread.of_values({});
}

std::string TimingLook::paying(std::size_t t) const {
  const double share = spread.share("share_that_pays", 0, t);
  if (std::isnan(share)) return "-";
  const std::size_t runs = spread.run_count();
  return fmt::format("{:.0f} of {}", std::round(share * static_cast<double>(runs)), runs);
}

TimingLook::TimingLook(const Results& results)
    : r(results),
      spread(results),
      choices(choices_in(results)),
      planting(index_of(results.checkpoints, "planting 1")),
      end(results.checkpoints.empty() ? 0 : results.checkpoints.size() - 1) {
  V6_word = r.stages.size() > V6 ? stage_word(r.stages[V6]) : "";
  end_words = r.checkpoints.empty() || r.checkpoints.back() == "end" ? "at the end of the runs"
                                                                     : checkpoint_words(r.checkpoints.back());
}

RunInterval tied_up_at_V6(const TimingLook& look, std::size_t t) {
  std::vector<double> tied = look.spread.runs("nitrogen_released_at", 0, t, look.planting);
  const std::vector<double> since = look.spread.runs("stage_nitrogen_released", 0, t, look.V6);
  if (since.size() != tied.size()) return {none, none, none, none, none};
  for (std::size_t i = 0; i < tied.size(); ++i) tied[i] = -tied[i] - since[i];
  return look.spread.of_values(std::move(tied));
}

Chart stalks_gone_chart(const TimingLook& look) {
  return chart_of(look, {"stalks-gone", "How much more of the stalks is gone at planting",
                         "more residue gone at planting", "mass_left_at_difference", "Spreading made",
                         " more of the residue go by planting", look.planting, true, "points"});
}

Chart stalks_gone_end_chart(const TimingLook& look) {
  return chart_of(
      look, {"stalks-gone-end", "How much more of the stalks is gone " + look.end_words, "more residue gone",
             "mass_left_at_difference", "Spreading made",
             fmt::format(" more of the residue go: {}", look.end_words), look.end, true, "points"});
}

Chart nitrogen_at_V6_chart(const TimingLook& look) {
  if (look.V6_word.empty()) return {};
  return chart_of(
      look,
      {"nitrogen-at-v6", fmt::format("Nitrogen still in the soil at {}, from what was spread", look.V6_word),
       fmt::format("more mineral N to 1 m at {}", look.V6_word), "stage_mineral_nitrogen_difference",
       fmt::format("At {} the soil to 1 m holds", look.V6_word), " of N more than without", look.V6});
}

Chart tie_up_V6_chart(const TimingLook& look) {
  const Variable* v = look.spread.any("nitrogen_released_at");
  if (!v || look.V6_word.empty() || look.spread.run_count() == 0) return {};
  std::vector<RunInterval> list, without;
  std::vector<PlacedChoice> bases;
  for (const PlacedChoice& c : look.choices) list.push_back(tied_up_at_V6(look, c.treatment));
  for (const std::size_t base : bases_of(look.choices)) {
    bases.push_back({base, base, {}});
    without.push_back(tied_up_at_V6(look, base));
  }
  if (list.empty()) return {};
  const Asked asked{"tie-up-at-v6",
                    fmt::format("Nitrogen that residue has tied up at {}", look.V6_word),
                    fmt::format("N tied up at {} (dashed: without)", look.V6_word),
                    "",
                    fmt::format("From harvest to {} residue ties up", look.V6_word),
                    " of N"};
  Chart chart = interval_chart(look, asked, look.choices, list, shown(*v, look.r));
  add_without(chart, look, bases, without);
  return chart;
}

Chart leached_chart(const TimingLook& look) {
  return chart_of(
      look, {"leached", "Nitrogen washed below 1 m before planting, as nitrate", "leached, of the N spread",
             "share_leached", "Of the N that was spread,", " is washed below 1 m before planting"});
}

Chart to_air_chart(const TimingLook& look) {
  return chart_of(look, {"to-air", "Nitrogen lost to the air before planting", "to the air, of the N spread",
                         "share_to_air", "Of the N that was spread,",
                         " goes to the air before planting, as ammonia and by denitrification"});
}

Chart gain_chart(const TimingLook& look) {
  return chart_of(look, {"gain", "What comes back, less product and pass", "gain", "net_gain",
                         "What comes back less what it costs is", ""});
}

Chart pays_chart(const TimingLook& look) {
  return share_chart(look, {"pays", "In how many years it pays",
                            fmt::format("share of {} in which it pays", look.runs_word()), "share_that_pays",
                            "It pays in", fmt::format(" of the {}", look.runs_word())});
}

Chart warm_soil_chart(const TimingLook& look) {
  return share_chart(look, {"warm-soil", "How often the soil is still warm on the day in fall",
                            "weathers with soil of 50 degF or more", "share_of_weathers_warm",
                            "At 4 in (100 mm) the soil is at 50 degF (10 degC) or warmer in",
                            " of the weathers in which it is spread in fall"});
}

}  // namespace stoverturn
