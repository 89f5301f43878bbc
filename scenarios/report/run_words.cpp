#include "scenarios/report/run_words.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/results/forward_bands.hpp"
#include "scenarios/results/notes.hpp"
#include "scenarios/text/calendar.hpp"
#include "scenarios/text/index_of.hpp"

namespace stoverturn {
namespace {

constexpr double days_a_year = 365.25;

struct LowHigh {
  std::size_t low = 0, high = 0;
};
/// Treatments with the least and the most of a key number {treatment, checkpoint} there; of equal ones the
/// first.
LowHigh least_and_most(const Results& r, const Variable& v, std::size_t checkpoint) {
  LowHigh found;
  const auto at = [&](std::size_t t) { return v.values[t * r.checkpoints.size() + checkpoint]; };
  for (std::size_t t = 1; t < r.treatments.size(); ++t) {
    if (at(t) < at(found.low) || std::isnan(at(found.low))) found.low = t;
    if (at(t) > at(found.high) || std::isnan(at(found.high))) found.high = t;
  }
  return found;
}

std::string with_unit(const std::string& number, const Shown& unit) {
  return unit.unit.empty() || unit.unit == "1" ? number : number + " " + unit.unit;
}

/// "planting 1" as people say it: "at the first planting", "after 2 years", "at the end".
std::string checkpoint_in_words(const std::string& name) {
  if (name == "planting 1") return "at the first planting";
  if (name.starts_with("planting ")) return "at planting " + name.substr(9);
  if (name == "year 1") return "after a year";
  if (name.starts_with("year ")) return fmt::format("after {} years", name.substr(5));
  return "at the end";
}

std::string run_length(const Results& r) {
  const double years = (r.days - 1) / days_a_year;
  const long whole = std::lround(years);
  if (whole < 1 || std::abs(years - static_cast<double>(whole)) * days_a_year > 2.0)
    return fmt::format("{} days", r.days - 1);
  return whole == 1 ? "one year" : fmt::format("{} years", whole);
}

/// "X to Y unit" of a key number over treatments, or "X unit" where all look alike.
std::string over_treatments(const Results& r, std::string_view name, std::size_t checkpoint, int decimals,
                            double sign = 1.0) {
  const Variable& v = r.find(name);
  Shown unit = shown(v, r);
  unit.scale *= sign;
  const LowHigh t = least_and_most(r, v, checkpoint);
  const auto number = [&](std::size_t treatment) {
    return shown_number(unit(v.values[treatment * r.checkpoints.size() + checkpoint]), decimals);
  };
  std::string low = number(t.low), high = number(t.high);
  if (sign < 0.0) std::swap(low, high);
  return with_unit(low == high ? low : fmt::format("{} to {}", low, high), unit);
}

std::size_t checkpoint_or_last(const Results& r, std::string_view name) {
  return std::min(index_of(r.checkpoints, name), r.checkpoints.size() - 1);
}

/// The treatment that is slowest to lose half, and the fastest where that is another.
std::vector<std::size_t> slowest_and_fastest(const Results& r) {
  const std::vector<double>& days = r.find("days_to_half").values;
  const auto later = [&](std::size_t a, std::size_t b) {
    const double x = std::isnan(days[a]) ? INFINITY : days[a], y = std::isnan(days[b]) ? INFINITY : days[b];
    return x > y;
  };
  std::size_t slowest = 0, fastest = 0;
  for (std::size_t t = 1; t < days.size(); ++t) {
    if (later(t, slowest)) slowest = t;
    if (later(fastest, t)) fastest = t;
  }
  return slowest == fastest ? std::vector{slowest} : std::vector{slowest, fastest};
}

/// " (251 to 1,062)"
std::string range_words(const Results& r, std::string_view name, std::size_t i, const Shown& unit) {
  const std::string range = shown_range(r, name, i, unit, 0);
  return range.empty() ? "" : fmt::format(" ({})", range);
}

std::string says_of_mass(const Results& r) {
  const Variable& mass = r.find("residue_dry_matter");
  const Variable &half = r.find("days_to_half"), &left = r.find("mass_left_at");
  const Shown unit = shown(mass, r), days = shown(half, r), percent = shown(left, r);
  const std::size_t last = r.checkpoints.size() - 1;
  std::string words = fmt::format("Of {} of residue, half is gone",
                                  with_unit(shown_number(unit(mass.values.front()), 0), unit));
  const char* joint = "";
  for (const std::size_t t : slowest_and_fastest(r)) {
    const std::size_t at = t * r.checkpoints.size() + last;
    const std::string when = std::isnan(half.values[t])
                                 ? "only after more than " + run_length(r)
                                 : fmt::format("after {} days", shown_number(half.values[t], 0));
    words += fmt::format("{} {}{} with {}, and {}, {} %{} is left", joint, when,
                         range_words(r, "days_to_half", t, days), r.treatments[t],
                         checkpoint_in_words(r.checkpoints[last]), shown_number(percent(left.values[at]), 0),
                         range_words(r, "mass_left_at", at, percent));
    joint = ";";
  }
  return words + ".";
}

/// "June 2028"
std::string month_of_day(const Results& r, double day) {
  static constexpr const char* months[] = {"January",   "February", "March",    "April",
                                           "May",       "June",     "July",     "August",
                                           "September", "October",  "November", "December"};
  const std::chrono::year_month_day date{r.start + std::chrono::days{static_cast<int>(std::lround(day))}};
  return fmt::format("{} {}", months[static_cast<unsigned>(date.month()) - 1], static_cast<int>(date.year()));
}

/// When it is deepest and whether it comes back, of one treatment; some draws may do otherwise.
std::string course_of_tie_up(const Results& r, std::size_t t) {
  const double harvest = r.find("harvest_day").values[t];
  const double when = harvest + r.find("tie_up_deepest_day").values[t];
  const double repaid = r.find("tie_up_repaid_day").values[t];
  if (when >= r.days - 1) return "it still grows at the end of the run";
  std::string words =
      fmt::format("with {} it is deepest about {}, and ", r.treatments[t], month_of_day(r, when));
  if (!std::isnan(repaid)) return words + "all of it is back by " + month_of_day(r, harvest + repaid);
  words += "not all of it comes back within " + run_length(r);
  const Variable* soonest = find_variable(r, "tie_up_repaid_day" + std::string(band_low));
  if (soonest && !std::isnan(soonest->values[t])) {
    words += fmt::format(", though in the quickest of the range it is back after {} days",
                         shown_number(soonest->values[t], 0));
  }
  return words;
}

std::string says_of_nitrogen(const Results& r) {
  const std::vector<double>& deepest = r.find("tie_up_deepest").values;
  const Shown N = shown(r.find("tie_up_deepest"), r);
  const Shown held = {N.unit, N.substance, -N.scale, N.offset};
  const std::size_t last = r.checkpoints.size() - 1;
  const auto t = static_cast<std::size_t>(std::min_element(deepest.begin(), deepest.end()) - deepest.begin());
  const auto least =
      static_cast<std::size_t>(std::max_element(deepest.begin(), deepest.end()) - deepest.begin());
  if (deepest[t] >= 0.0) {
    return fmt::format("The residue ties up no nitrogen of the soil; {}, it has given back {}.",
                       checkpoint_in_words(r.checkpoints[last]),
                       over_treatments(r, "nitrogen_released_at", last, 0));
  }
  const auto amount = [&](std::size_t i) {
    return fmt::format("{} {}{} with {}", shown_number(held(deepest[i]), 0), N.unit,
                       range_words(r, "tie_up_deepest", i, held), r.treatments[i]);
  };
  std::string words = "Before it gives nitrogen, residue takes some from the soil, at the most " + amount(t);
  if (shown_number(held(deepest[least]), 0) != shown_number(held(deepest[t]), 0))
    words += ", " + amount(least);
  return words + "; " + course_of_tie_up(r, t) + ".";
}

std::string says_of_potassium_and_cover(const Results& r) {
  const std::size_t c = checkpoint_or_last(r, "planting 1");
  const std::string substance = shown(r.find("potassium_released_at"), r).substance;
  const std::string when = checkpoint_in_words(r.checkpoints[c]);
  return fmt::format(
      "Potassium washes out early: {} of {} is given back {}, when flat residue covers {} of the soil.",
      over_treatments(r, "potassium_released_at", c, 0), substance == "K" ? "potassium" : substance, when,
      over_treatments(r, "soil_cover_at", c, 0));
}

}  // namespace

std::string words_of_time_chart(std::span<const RunCharted> runs, std::string_view variable) {
  std::string words;
  for (const RunCharted& run : runs) {
    const Results& r = *run.results;
    const std::string key = std::string(variable) + "_at";
    const Variable* v = find_variable(r, key);
    if (!v || r.checkpoints.empty()) continue;
    const std::size_t c = checkpoint_or_last(r, "year 1");
    const LowHigh t = least_and_most(r, *v, c);
    const Shown unit = shown(*v, r);
    const Shown turned = {unit.unit, unit.substance, -unit.scale, unit.offset};
    const bool released = variable.ends_with("_released");
    const auto number = [&](std::size_t treatment) {
      const std::size_t at = treatment * r.checkpoints.size() + c;
      const bool held = released && v->values[at] < 0.0;
      const Shown& as = held ? turned : unit;
      return with_unit(shown_number(as(v->values[at]), 0), as) + range_words(r, key, at, as) +
             (held       ? " tied up"
              : released ? " given back"
                         : "");
    };
    std::string when = checkpoint_in_words(r.checkpoints[c]);
    if (!run.name.empty()) when = fmt::format("{}, {}", run.name, when);
    when[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(when[0])));
    if (!words.empty()) words += " ";
    words += t.low == t.high
                 ? fmt::format("{}: {}{}.", when, number(t.low), r.treatments.size() > 1 ? " with all" : "")
                 : fmt::format("{}: from {} with {} to {} with {}.", when, number(t.low), r.treatments[t.low],
                               number(t.high), r.treatments[t.high]);
  }
  return words;
}

std::string words_of_members(const Results& r, std::string_view variable) {
  const std::string key = std::string(variable) + "_at";
  const Variable& v = r.find(key);
  const std::vector<std::string>& names =
      v.dimensions[1] == Dimension::component ? r.components : r.placements;
  const std::size_t c = checkpoint_or_last(r, "year 1");
  const Shown unit = shown(v, r);
  std::string list;
  for (std::size_t m = 0; m < names.size(); ++m) {
    const double value = v.values[m * r.checkpoints.size() + c];
    if (std::isnan(value) || value == 0.0) continue;
    list += fmt::format("{}{} {}", list.empty() ? "" : ", ", names[m],
                        with_unit(shown_number(unit(value), 0), unit));
  }
  return list.empty() ? ""
                      : fmt::format("With {}, {}: {}.", r.treatments.front(),
                                    checkpoint_in_words(r.checkpoints[c]), list);
}

std::string words_of_driver(const Results& r, std::string_view variable, std::size_t p) {
  const Variable& v = r.find(variable);
  const Shown unit = shown(v, r);
  const std::size_t extent = r.extent(Dimension::time);
  const double* values = v.values.data() + p * extent;
  const auto [low, high] = std::minmax_element(values, values + extent);
  double sum = 0.0;
  for (std::size_t i = 0; i < extent; ++i) sum += values[i];
  return fmt::format("With {}, {} residue: {} on average, single days from {} to {}.", r.treatments.front(),
                     r.placements[p],
                     with_unit(shown_number(unit(sum / static_cast<double>(extent)), 0), unit),
                     shown_number(unit(*low), 0), with_unit(shown_number(unit(*high), 0), unit));
}

std::string words_of_first_season(const Results& r) {
  const std::size_t s = index_of(r.stages, "V6 1");
  if (s == r.stages.size()) return "";
  const Variable& v = r.find("stage_nitrogen_released");
  const Shown unit = shown(v, r);
  double low = INFINITY, high = -INFINITY;
  for (std::size_t t = 0; t < r.treatments.size(); ++t) {
    const double x = unit(v.values[t * r.stages.size() + s]);
    if (std::isnan(x)) continue;
    low = std::min(low, x);
    high = std::max(high, x);
  }
  if (low > high) return "";
  const std::string a = shown_number(std::abs(low), 0), b = shown_number(std::abs(high), 0);
  if (high <= 0.0) {
    return fmt::format("From planting to V6 residue takes {} {} of N, just when the crop begins to want it.",
                       a == b ? a : fmt::format("{} to {}", b, a), unit.unit);
  }
  return fmt::format("From planting to V6 residue {}{} {} {} of N.",
                     low < 0.0 ? fmt::format("takes up to {} or ", a) : "",
                     low < 0.0 ? "gives up to" : "gives",
                     low < 0.0 || a == b ? b : fmt::format("{} to {}", a, b), unit.unit);
}

std::vector<std::string> about_run(const Results& r) {
  const Variable& mass = r.find("residue_dry_matter");
  const Shown unit = shown(mass, r);
  std::vector<std::string> words = {fmt::format(
      "The model was run for {} from {}, with {} treatment{} and {} of residue at the first harvest.",
      run_length(r), format_date(r.start), r.treatments.size(), r.treatments.size() == 1 ? "" : "s",
      with_unit(shown_number(unit(mass.values.front()), 0), unit))};
  if (r.weather_days > 0) {
    words.push_back(
        fmt::format("Daily weather: {}, latitude {:.2f}.",
                    format_dates(r.weather_start, r.weather_start + std::chrono::days{r.weather_days - 1}),
                    r.latitude_deg));
  }
  for (const std::string& note : r.notes) {
    if (note.starts_with("Ranges hold"))
      words.push_back(note + " The line is the run with the best single values.");
  }
  return words;
}

std::vector<std::string> said_of_run(const Results& r) {
  if (r.checkpoints.empty()) return {};
  return {says_of_mass(r), says_of_nitrogen(r), says_of_potassium_and_cover(r)};
}

bool is_caution(std::string_view note) {
  return note.starts_with("Nitrogen:") || note.starts_with("Nitrate:");
}

}  // namespace stoverturn
