#include "scenarios/report/trial_plan_charts.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/text/index_of.hpp"

namespace stoverturn {
namespace {

using nlohmann::json;

const Shown percent = {"%", "", 100.0, 0.0};
const Shown number = {"", "", 1.0, 0.0};

json upright_line(double shown_value) {
  return {{"mark", {{"type", "rule"}, {"strokeDash", {4, 3}}}},
          {"encoding", {{"x", {{"datum", shown_value}}}}}};
}

json names_axis(const Chart& chart, std::string_view field) {
  json y = on_axis(chart, field);
  y["title"] = nullptr;
  y["axis"] = {{"labelLimit", 220}};
  return y;
}

/// Legends one below the other fit a narrow page.
json narrow(json encoding) {
  for (json& channel : encoding) {
    channel["title"] = nullptr;
    channel["legend"] = {{"columns", 1}};
  }
  return encoding;
}

int height_of(std::size_t lines, int each) {
  return 40 + each * static_cast<int>(std::max<std::size_t>(lines, 1));
}

/// "3", "12"
std::string whole(double value) { return fmt::format("{:.0f}", value); }

}  // namespace

std::string bag_kind(const std::string& treatment, const std::string& component,
                     const std::string& placement) {
  std::string kind = treatment;
  for (const std::string& part : {component, placement}) {
    if (!part.empty()) kind += ", " + part;
  }
  return kind;
}

Chart expected_left_chart(const DesignReport& plan) {
  Chart chart;
  chart.name = "mass-left";
  chart.title = "What will be left in the bags, and when to pull them";
  for (const char* field : {"kind", "where", "pulled"}) add_texts(chart, field, field);
  add_dates(chart, "date", "Date");
  add_numbers(chart, "left", "Residue left", percent);
  for (const char* field : {"lower", "upper"}) add_numbers(chart, field, "Residue left", percent);
  std::vector<std::string> places;
  for (const DesignPoint& p : plan.curves) {
    const std::string where = bag_kind("", p.component, p.placement);
    const std::string place = where.empty() ? "all" : where.substr(2);
    if (index_of(places, place) == places.size()) places.push_back(place);
    chart.fields[0].texts.push_back(p.treatment);
    chart.fields[1].texts.push_back(place);
    chart.fields[2].texts.emplace_back(p.pulled ? "yes" : "no");
    chart.fields[3].numbers.push_back(static_cast<double>(p.date.time_since_epoch().count()));
    chart.fields[4].numbers.push_back(p.left);
    chart.fields[5].numbers.push_back(p.between.lower);
    chart.fields[6].numbers.push_back(p.between.upper);
  }
  if (places.size() > 1) chart.facet = "where";
  chart.fields[0].title = "Treatment";
  chart.spec = lines(chart, {"date", "left", "kind", "lower", "upper"});
  for (json& layer : chart.spec["layer"]) {
    layer["encoding"]["x"]["axis"]["tickCount"] = 5;
    for (const char* channel : {"color", "strokeDash"}) {
      if (layer["encoding"].contains(channel))
        layer["encoding"][channel]["legend"] = {{"columns", 1}, {"symbolType", "stroke"}};
    }
  }
  json pulls = {{"transform", {{{"filter", {{"field", "pulled"}, {"equal", "yes"}}}}}},
                {"mark", {{"type", "point"}, {"filled", false}, {"stroke", "#2e2a22"}, {"strokeWidth", 1.6}}},
                {"encoding", {{"x", on_axis(chart, "date")}, {"y", on_axis(chart, "left")}}}};
  pulls["encoding"]["x"]["axis"]["tickCount"] = 5;
  chart.spec["layer"].push_back(std::move(pulls));
  chart.says = fmt::format(
      "Rings are the {} pulls. Lines are what the model expects before the trial, bands hold nine of ten "
      "draws "
      "of what is not yet known.",
      plan.chosen.days.size());
  return chart;
}

Chart plan_intervals_chart(const DesignReport& plan) {
  const std::string before = "thought before", after = "expected after the trial";
  Chart chart;
  chart.name = "intervals";
  chart.title = "What the bags will tell of each parameter";
  for (const char* field : {"parameter", "when"}) add_texts(chart, field, field);
  for (const char* field : {"lower", "upper"}) add_numbers(chart, field, "Of the value expected", percent);
  bool positive = true;
  double least = 1.0, most = 0.0;
  for (const DesignEstimate& e : plan.estimates) {
    for (const auto& [when, between] : {std::pair(before, e.known), std::pair(after, e.interval)}) {
      chart.fields[0].texts.push_back(e.unknown.name);
      chart.fields[1].texts.push_back(when);
      chart.fields[2].numbers.push_back(between.lower / e.expected);
      chart.fields[3].numbers.push_back(between.upper / e.expected);
      positive &= between.lower / e.expected > 0.0;
    }
    least = std::min(least, e.told);
    most = std::max(most, e.told);
  }
  json x = on_axis(chart, "lower"), y = names_axis(chart, "parameter");
  x["scale"] = positive ? json{{"type", "log"}, {"padding", 8}} : json{{"zero", false}, {"padding", 8}};
  if (positive) x["axis"] = {{"values", {10, 20, 50, 100, 200, 500, 1000}}, {"labelOverlap", true}};
  const auto bars = [&](const std::string& when, double width) {
    json layer = {{"transform", {{{"filter", {{"field", "when"}, {"equal", when}}}}}},
                  {"mark", {{"type", "rule"}, {"strokeWidth", width}, {"strokeDash", {1, 0}}}},
                  {"encoding",
                   {{"y", y},
                    {"yOffset", {{"field", "when"}, {"type", "nominal"}, {"sort", {before, after}}}},
                    {"x", x},
                    {"x2", {{"field", "upper"}}}}}};
    layer["encoding"]["color"] = narrow(as_lines(chart, "when"))["color"];
    return layer;
  };
  chart.spec = {{"layer", {upright_line(100.0), bars(before, 2.5), bars(after, 8.0)}}};
  chart.height_px = height_of(plan.estimates.size(), 40);
  if (!plan.estimates.empty()) {
    chart.says = fmt::format(
        "Bars around what is expected (100 %): the shorter after the trial, the more the bags tell. They "
        "take "
        "away {} to {} % of what is open.",
        whole(100.0 * least), whole(100.0 * most));
  }
  return chart;
}

Chart plan_choices_chart(const DesignReport& plan) {
  Chart chart;
  chart.name = "choices";
  chart.title = "Other ways to use the bags";
  for (const char* field : {"choice", "sort"}) add_texts(chart, field, field);
  add_numbers(chart, "wider", "Intervals wider", percent);
  const auto add = [&](const DesignChoice& c, const std::string& name, const std::string& sort) {
    chart.fields[0].texts.push_back(fmt::format("{}, {} pulls", name, c.days.size()));
    chart.fields[1].texts.push_back(sort);
    chart.fields[2].numbers.push_back(c.wider - 1.0);
  };
  double even = NAN;
  for (const DesignChoice& c : plan.choices) {
    add(c, c.name, "dates");
    if (c.name == "evenly spaced") even = c.wider;
  }
  for (const DesignChoice& c : plan.searched) add(c, c.name, "replicates");
  json x = on_axis(chart, "wider"), y = names_axis(chart, "choice");
  x["scale"] = {{"padding", 8}};
  json points = {{"mark", {{"type", "point"}, {"size", 90}}}, {"encoding", {{"y", y}, {"x", x}}}};
  points["encoding"]["shape"] = {{"field", "sort"}, {"type", "nominal"}, {"legend", nullptr}};
  chart.spec = {{"layer", {upright_line(0.0), points}}};
  chart.height_px = height_of(plan.choices.size() + plan.searched.size(), 22);
  chart.says = "How much wider intervals get, beside the best.";
  if (std::isfinite(even)) {
    chart.says += fmt::format(" Evenly spaced pulls make them {} % wider.", whole(100.0 * (even - 1.0)));
  }
  return chart;
}

Chart plan_sizes_chart(const DesignReport& plan) {
  Chart chart;
  chart.name = "sizes";
  chart.title = fmt::format("Fewer or more pulls, {} replicates each", plan.chosen.replicates);
  add_numbers(chart, "bags", "Bags in all", number);
  add_numbers(chart, "pulls", "Pulls", number);
  add_numbers(chart, "wider", "Width of intervals, of those of the best", percent);
  const DesignSize *half = nullptr, *most = nullptr;
  for (const DesignSize& s : plan.sizes) {
    if (!std::isfinite(s.wider)) continue;
    chart.fields[0].numbers.push_back(s.bags);
    chart.fields[1].numbers.push_back(s.pulls);
    chart.fields[2].numbers.push_back(s.wider);
    if (!half || std::abs(2 * s.bags - plan.chosen.bags) < std::abs(2 * half->bags - plan.chosen.bags))
      half = &s;
    most = &s;
  }
  json x = on_axis(chart, "bags"), y = on_axis(chart, "wider");
  x["scale"] = y["scale"] = {{"zero", false}, {"padding", 8}};
  y["title"] = "Interval width [% of the best]";
  chart.spec = {
      {"layer", {{{"mark", {{"type", "line"}, {"point", true}}}, {"encoding", {{"x", x}, {"y", y}}}}}}};
  add_level(chart.spec, 100.0, "");
  chart.height_px = 220;
  if (most) {
    chart.says = fmt::format(
        "With {} pulls ({} bags) intervals are {} % as wide as those of the best, with {} pulls ({} bags) {} "
        "%.",
        half->pulls, half->bags, whole(100.0 * half->wider), most->pulls, most->bags,
        whole(100.0 * most->wider));
  }
  return chart;
}

Chart bag_power_chart(const DesignReport& plan) {
  Chart chart;
  chart.name = "power";
  chart.title = "Chance that bags of one pull show the difference";
  add_numbers(chart, "bags", "Bags of each treatment", number);
  add_numbers(chart, "chance", "Chance to see it", percent);
  add_texts(chart, "planned", "planned");
  for (const BagPower& p : plan.bag_powers) {
    chart.fields[0].numbers.push_back(p.bags);
    chart.fields[1].numbers.push_back(p.power);
    chart.fields[2].texts.emplace_back(p.bags == plan.chosen.replicates ? "yes" : "no");
  }
  json x = on_axis(chart, "bags"), y = on_axis(chart, "chance");
  x["scale"] = {{"zero", true}};
  x["axis"] = {{"tickMinStep", 1}};
  y["scale"] = {{"domain", {0, 100}}};
  const json encoding = {{"x", x}, {"y", y}};
  json planned = {{"transform", {{{"filter", {{"field", "planned"}, {"equal", "yes"}}}}}},
                  {"mark", {{"type", "point"}, {"size", 120}, {"shape", "diamond"}, {"opacity", 1}}},
                  {"encoding", encoding}};
  chart.spec = {{"layer", {{{"mark", {{"type", "line"}}}, {"encoding", encoding}}, planned}}};
  add_level(chart.spec, 100.0 * DesignPower::wanted, "4 of 5 trials");
  chart.height_px = 220;
  for (const DesignPower& p : plan.powers) {
    if (p.day < 0 || p.bags_needed == 0 || !chart.says.empty()) continue;
    chart.says = fmt::format(
        "A difference of {} % of what was put in shows in {} of 100 such pulls with {} bags each (the "
        "diamond); "
        "four of five takes {}.",
        whole(100.0 * p.difference), whole(100.0 * p.power), plan.chosen.replicates, p.bags_needed);
  }
  return chart;
}

}  // namespace stoverturn
