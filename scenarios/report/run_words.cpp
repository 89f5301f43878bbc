#include "scenarios/report/run_words.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

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

std::string date_of_day(const Results& r, double day) {
  return format_date(r.start + std::chrono::days{static_cast<int>(std::lround(day))});
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

/// Days over treatments: "286 to 297 days", "more than 5 years" where it is not reached.
std::string days_over_treatments(const Results& r, std::string_view name) {
  const std::vector<double>& days = r.find(name).values;
  double low = INFINITY, high = 0.0;
  for (const double d : days) {
    low = std::min(low, std::isnan(d) ? INFINITY : d);
    high = std::max(high, std::isnan(d) ? INFINITY : d);
  }
  if (std::isinf(low)) return "more than " + run_length(r);
  if (std::isinf(high)) return fmt::format("{} days or more", shown_number(low, 0));
  const std::string a = shown_number(low, 0), b = shown_number(high, 0);
  return a == b ? a + " days" : fmt::format("{} to {} days", a, b);
}

/// What the numbers of one treatment, the first, range over.
std::string range_of_first(const Results& r, std::string_view name, int decimals, double sign = 1.0) {
  Shown unit = shown(r.find(name), r);
  unit.scale *= sign;
  const std::string range = shown_range(r, name, 0, unit, decimals);
  return range.empty() ? "" : fmt::format("; the range with {} is {}", r.treatments.front(), range);
}

std::string says_of_mass(const Results& r) {
  const Variable& mass = r.find("residue_dry_matter");
  const Shown unit = shown(mass, r);
  const std::size_t last = r.checkpoints.size() - 1;
  return fmt::format("Of the {} of residue at harvest, half is gone after {}{}; {}, {} is still there.",
                     with_unit(shown_number(unit(mass.values.front()), 0), unit),
                     days_over_treatments(r, "days_to_half"), range_of_first(r, "days_to_half", 0),
                     checkpoint_in_words(r.checkpoints[last]), over_treatments(r, "mass_left_at", last, 0));
}

std::string says_of_nitrogen(const Results& r) {
  const std::vector<double>& deepest = r.find("tie_up_deepest").values;
  const Shown N = shown(r.find("tie_up_deepest"), r);
  const std::size_t last = r.checkpoints.size() - 1;
  const auto [least, most] = std::minmax_element(deepest.begin(), deepest.end(), std::greater<>());
  if (*most >= 0.0) {
    return fmt::format("The residue ties up no nitrogen of the soil; {}, it has given back {}.",
                       checkpoint_in_words(r.checkpoints[last]),
                       over_treatments(r, "nitrogen_released_at", last, 0));
  }
  const std::string a = shown_number(N(-*least), 0), b = shown_number(N(-*most), 0);
  const auto t = static_cast<std::size_t>(most - deepest.begin());
  const double harvest = r.find("harvest_day").values[t];
  const double when = harvest + r.find("tie_up_deepest_day").values[t];
  const double repaid = r.find("tie_up_repaid_day").values[t];
  const std::string then =
      when >= r.days - 1 ? "it still grows at the end of the run"
      : std::isnan(repaid)
          ? fmt::format("with {} it is deepest about {}, and not all of it comes back within {}",
                        r.treatments[t], date_of_day(r, when), run_length(r))
          : fmt::format("with {} it is deepest about {}, and all of it is back by {}", r.treatments[t],
                        date_of_day(r, when), date_of_day(r, harvest + repaid));
  return fmt::format("Before it gives nitrogen, residue takes some from the soil: {} {} at the most{}; {}.",
                     a == b ? a : fmt::format("{} to {}", a, b), N.unit,
                     range_of_first(r, "tie_up_deepest", 0, -1.0), then);
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

std::string said_number(const Results& r, std::string_view key_number, std::size_t index, int decimals) {
  const Variable& v = r.find(key_number);
  const Shown unit = shown(v, r);
  const std::string range = shown_range(r, key_number, index, unit, decimals);
  return with_unit(shown_number(unit(v.values[index]), decimals), unit) +
         (range.empty() ? "" : fmt::format(" ({})", range));
}

std::string words_of_time_chart(std::span<const RunCharted> runs, std::string_view variable) {
  std::string words;
  for (const RunCharted& run : runs) {
    const Results& r = *run.results;
    const std::string key = std::string(variable) + "_at";
    const Variable* v = find_variable(r, key);
    if (!v || r.checkpoints.empty()) continue;
    const std::size_t c = checkpoint_or_last(r, "year 1");
    const LowHigh t = least_and_most(r, *v, c);
    const auto number = [&](std::size_t treatment) {
      return said_number(r, key, treatment * r.checkpoints.size() + c, 0);
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
  const std::string a = shown_number(low, 1), b = shown_number(high, 1);
  return fmt::format(
      "From planting to V6 residue gives {} {} of N; below zero it takes nitrogen just when the crop begins "
      "to want it.",
      a == b ? a : fmt::format("{} to {}", a, b), unit.unit);
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
  if (find_variable(r, "mass_left_at_low"))
    words.emplace_back(
        "Bands hold the middle of the runs with drawn parameters; the line is the run with the best ones.");
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
