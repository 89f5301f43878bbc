#include "scenarios/page/live_numbers.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/report/run_charts.hpp"
#include "scenarios/report/run_words.hpp"
#include "scenarios/results/forward_bands.hpp"
#include "scenarios/results/shown.hpp"
#include "scenarios/text/index_of.hpp"

namespace stoverturn {
namespace {

struct NumberRow {
  std::string_view name, label;
  int decimals;
};
constexpr NumberRow rows[] = {
    {"days_to_half", "half of the residue is gone after", 0},
    {"tie_up_deepest", "most nitrogen held back at once", 0},
    {"tie_up_deepest_day", "nitrogen is given back from, after harvest", 0},
    {"tie_up_repaid_day", "all nitrogen held back is returned after", 0},
    {"mass_left_at", "residue left", 0},
    {"soil_cover_at", "soil covered", 0},
    {"nitrogen_released_at", "nitrogen given back", 0},
    {"phosphorus_released_at", "phosphorus given back", 1},
    {"potassium_released_at", "potassium given back", 0},
    {"sulfur_released_at", "sulfur given back", 1},
    {"stage_nitrogen_released", "nitrogen given back since planting", 0},
    {"nitrogen_leached_at", "nitrate washed below 1 m", 0},
    {"nitrogen_volatilised_at", "nitrogen lost as ammonia", 1},
};

/// "48 lb/acre N (45 to 52)"; "not within the run" where it is not reached.
std::string shown_text(const Results& r, const Variable& v, std::size_t i, int decimals) {
  if (std::isnan(v.values[i])) return v.kind == Kind::time ? "not within the run" : "-";
  const Shown unit = shown(v, r);
  std::string text = fmt::format("{} {}", shown_number(unit(v.values[i]), decimals), unit.unit);
  if (!unit.substance.empty()) text += " " + unit.substance;
  const std::string range = shown_range(r, v.name, i, unit, decimals);
  return range.empty() ? text : fmt::format("{} ({})", text, range);
}

/// When a value of a key number holds: "year 1"; of the first season's stages "V6".
std::string time_of(const Results& r, const Variable& v, std::size_t i) {
  if (v.dimensions.back() == Dimension::checkpoint) return r.checkpoints[i % r.checkpoints.size()];
  if (v.dimensions.back() != Dimension::stage) return "";
  const std::string& stage = r.stages[i % r.stages.size()];
  return stage.ends_with(" 1") ? stage.substr(0, stage.size() - 2) : stage;
}

/// In the units of the results.
std::vector<std::string> number_texts(const Results& r) {
  std::vector<std::string> texts;
  for (const NumberRow& row : rows) {
    const Variable* v = find_variable(r, row.name);
    for (std::size_t i = 0; v && i < v->values.size(); ++i)
      texts.push_back(shown_text(r, *v, i, row.decimals));
  }
  return texts;
}

void add_numbers_of(Results& r, Json& list) {
  r.units = "si";
  const std::vector<std::string> si = number_texts(r);
  r.units = "us";
  const std::vector<std::string> us = number_texts(r);
  std::size_t next = 0;
  for (const NumberRow& row : rows) {
    const Variable* v = find_variable(r, row.name);
    for (std::size_t i = 0; v && i < v->values.size(); ++i) {
      list.push_back({{"name", v->name},
                      {"label", row.label},
                      {"at", time_of(r, *v, i)},
                      {"treatment", r.treatments[i / (v->values.size() / r.treatments.size())]},
                      {"value", number_or_null(v->values[i])},
                      {"si", si[next]},
                      {"us", us[next]}});
      ++next;
    }
  }
}

std::vector<Chart> charts_in(const std::vector<LiveRun*>& runs, const char* units) {
  std::vector<RunCharted> charted;
  for (LiveRun* run : runs) {
    run->results.units = units;
    charted.push_back({&run->results, ""});
  }
  const Results& first = runs.front()->results;
  std::vector<Chart> charts = {mass_left_chart(charted),         nitrogen_back_chart(charted),
                               soil_cover_chart(charted),        potassium_back_chart(charted),
                               phosphorus_back_chart(charted),   sulfur_back_chart(charted),
                               residue_temperature_chart(first), residue_wetness_chart(first)};
  if (runs.size() == 1) return charts;
  // lines have the names of runs already; words need to be told whose numbers they say
  for (RunCharted& run : charted) run.name = run.results->treatments.front();
  constexpr std::string_view variables[] = {"mass_left",          "nitrogen_released",   "soil_cover",
                                            "potassium_released", "phosphorus_released", "sulfur_released"};
  for (std::size_t i = 0; i < std::size(variables); ++i)
    charts[i].says = words_of_time_chart(charted, variables[i]);
  return charts;
}

Json charts_of(const std::vector<LiveRun*>& runs) {
  const std::vector<Chart> si = charts_in(runs, "si"), us = charts_in(runs, "us");
  Json list = Json::array();
  for (std::size_t i = 0; i < si.size(); ++i) list.emplace_back(chart_json(si[i], us[i]));
  return list;
}

/// Five digits are more than a drawing shows.
Json rounded(double value) {
  if (!std::isfinite(value) || value == 0.0) return 0.0;
  const double unit = std::pow(10.0, std::floor(std::log10(std::abs(value))) - 4.0);
  return std::round(value / unit) * unit;
}

constexpr std::size_t cohorts_every_d = 4;

/// What the drawing of stalks shows: closed tissue and dry matter every few days, of the first component that
/// is cut.
Json cohorts_of(const Results& r, const std::vector<std::string>& cut) {
  const Variable &closed = r.find("cohort_closed_carbon"), &mass = r.find("cohort_dry_matter");
  const auto days = static_cast<std::size_t>(r.days);
  Json list = Json::array();
  for (std::size_t t = 0; t < r.treatments.size(); ++t) {
    for (std::size_t c = 0; c < r.cohorts.size(); ++c) {
      const CohortLabel& label = r.cohorts[c];
      if (label.component != cut[t]) continue;
      const std::size_t first = (t * r.cohorts.size() + c) * days;
      Json cohort = {{"treatment", r.treatments[t]}, {"component", label.component},
                     {"pieces", label.pieces},       {"placement", label.placement},
                     {"harvest", label.harvest},     {"every_d", cohorts_every_d}};
      Json closed_days = Json::array(), mass_days = Json::array();
      bool any = false;
      for (std::size_t d = 0; d < days; d += cohorts_every_d) {
        any = any || mass.values[first + d] > 0.0;
        closed_days.push_back(rounded(closed.values[first + d]));
        mass_days.push_back(rounded(mass.values[first + d]));
      }
      if (!any) continue;
      cohort["closed"] = std::move(closed_days);
      cohort["mass"] = std::move(mass_days);
      list.push_back(std::move(cohort));
    }
  }
  return list;
}

bool over_cohorts(const Variable& v) {
  return std::find(v.dimensions.begin(), v.dimensions.end(), Dimension::cohort) != v.dimensions.end();
}

Json all_series(const Results& results) {
  Json list = Json::array();
  for (const Variable& v : results.series) {
    if (over_cohorts(v)) continue;
    Json dimensions = Json::array(), values = Json::array();
    for (const Dimension d : v.dimensions) dimensions.push_back(to_string(d));
    for (const double x : v.values) values.push_back(number_or_null(x));
    list.push_back({{"name", v.name}, {"dimensions", dimensions}, {"values", std::move(values)}});
  }
  return list;
}

}  // namespace

LiveWanted live_wanted(const Json& request) {
  return {request.value("charts", true), request.value("numbers", true), request.value("cohorts", true),
          request.value("series", false)};
}

std::vector<std::string> cut_components(const Scenario& scenario) {
  std::vector<std::string> names;
  for (const Treatment& t : scenario.treatments) {
    const auto cut = std::find_if(t.components.begin(), t.components.end(), [](const ComponentPlan& c) {
      return !c.pieces.empty() && c.pieces.front().geometry.shape == Shape::stalk;
    });
    names.push_back(cut == t.components.end() ? "" : cut->name);
  }
  return names;
}

void keep_treatment(LiveRun& run, std::size_t t) {
  Results& r = run.results;
  const std::size_t treatments = r.treatments.size();
  for (std::vector<Variable>* list : {&r.series, &r.key_numbers}) {
    for (Variable& v : *list) {
      if (v.dimensions.empty() || v.dimensions.front() != Dimension::treatment) continue;
      const auto each = static_cast<std::ptrdiff_t>(v.values.size() / treatments);
      const auto from = v.values.begin() + static_cast<std::ptrdiff_t>(t) * each;
      v.values = std::vector<double>(from, from + each);
    }
  }
  r.treatments = {r.treatments.at(t)};
  run.cut = {run.cut.at(t)};
}

Json live_answer(const std::vector<LiveRun*>& runs, const LiveWanted& wanted) {
  Json treatments = Json::array(), notes = Json::array(), warnings = Json::array();
  const auto add_new = [](Json& list, const std::vector<std::string>& texts, const Json& known) {
    for (const std::string& text : texts) {
      if (std::find(list.begin(), list.end(), text) == list.end() &&
          std::find(known.begin(), known.end(), text) == known.end())
        list.push_back(text);
    }
  };
  for (const LiveRun* run : runs) {
    for (const std::string& t : run->results.treatments) treatments.push_back(t);
    add_new(warnings, run->warnings, Json::array());
    add_new(notes, run->results.notes, warnings);
  }
  const LiveRun& first = *runs.front();
  Json answer = {{"ok", true},
                 {"title", first.results.title},
                 {"units", first.units},
                 {"treatments", std::move(treatments)},
                 {"draws", first.draws}};
  if (wanted.charts) answer["charts"] = charts_of(runs);
  if (wanted.numbers) {
    Json& list = answer["numbers"] = Json::array();
    for (LiveRun* run : runs) add_numbers_of(run->results, list);
  }
  if (wanted.cohorts) answer["cohorts"] = cohorts_of(first.results, first.cut);
  if (wanted.series) answer["series"] = all_series(first.results);
  answer["notes"] = std::move(notes);
  answer["warnings"] = std::move(warnings);
  return answer;
}

}  // namespace stoverturn
