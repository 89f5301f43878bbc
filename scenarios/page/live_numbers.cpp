#include "scenarios/page/live_numbers.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

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
    {"nitrogen_leached_at", "nitrate washed below the roots", 0},
    {"nitrogen_volatilised_at", "nitrogen lost as ammonia", 1},
};

const Variable* found(const std::vector<Variable>& list, std::string_view name) {
  for (const Variable& v : list) {
    if (v.name == name) return &v;
  }
  return nullptr;
}

/// "48 lb/acre N (45 to 52)"; "not within the run" where it is not reached.
std::string shown_text(const Results& r, const Variable& v, std::size_t i, int decimals) {
  if (std::isnan(v.values[i])) return v.kind == Kind::time ? "not within the run" : "-";
  const Shown unit = shown(v, r);
  std::string text = fmt::format("{} {}", shown_number(unit(v.values[i]), decimals), unit.unit);
  if (!unit.substance.empty()) text += " " + unit.substance;
  const Variable* low = found(r.key_numbers, v.name + std::string(band_low));
  const Variable* high = found(r.key_numbers, v.name + std::string(band_high));
  if (!low || !high) return text;
  const std::string a = shown_number(unit(low->values[i]), decimals);
  const std::string b = shown_number(unit(high->values[i]), decimals);
  return a == b ? text : fmt::format("{} ({} to {})", text, a, b);
}

Json numbers_of(const Results& results) {
  Results si, us;  // their units alone are looked at, and the bands
  si.key_numbers = us.key_numbers = results.key_numbers;
  si.currency = us.currency = results.currency;
  si.units = "si";
  us.units = "us";
  Json list = Json::array();
  for (const NumberRow& row : rows) {
    const Variable* v = found(results.key_numbers, row.name);
    if (!v) continue;
    const std::size_t per_treatment = v->values.size() / results.treatments.size();
    for (std::size_t i = 0; i < v->values.size(); ++i) {
      const bool at_times = v->dimensions.back() == Dimension::checkpoint;
      list.push_back({{"name", v->name},
                      {"label", row.label},
                      {"at", at_times ? results.checkpoints[i % per_treatment] : ""},
                      {"treatment", results.treatments[i / per_treatment]},
                      {"value", number_or_null(v->values[i])},
                      {"si", shown_text(si, *v, i, row.decimals)},
                      {"us", shown_text(us, *v, i, row.decimals)}});
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
  return {request.value("charts", true), request.value("numbers", true), request.value("series", false)};
}

Json live_answer(const Results& results, const std::vector<std::string>& warnings, const LiveWanted& wanted) {
  Json answer = {{"ok", true}, {"title", results.title}, {"treatments", results.treatments}};
  if (wanted.charts) answer["charts"] = Json::array();
  if (wanted.numbers) answer["numbers"] = numbers_of(results);
  if (wanted.series) answer["series"] = all_series(results);
  Json notes = Json::array();
  for (const std::string& note : results.notes) {
    if (std::find(warnings.begin(), warnings.end(), note) == warnings.end()) notes.push_back(note);
  }
  answer["notes"] = std::move(notes);
  answer["warnings"] = warnings;
  return answer;
}

}  // namespace stoverturn
