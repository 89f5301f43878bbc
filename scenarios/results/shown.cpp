#include "scenarios/results/shown.hpp"

#include <cmath>
#include <utility>

#include <fmt/format.h>

#include "scenarios/results/forward_bands.hpp"
#include "scenarios/units/oxides.hpp"

namespace stoverturn {
namespace {

struct ShownUnit {
  Kind kind;
  std::string_view si, us;
};
constexpr ShownUnit units[] = {
    {Kind::fraction, "%", "%"},
    {Kind::mass_per_area, "kg/ha", "lb/acre"},
    {Kind::length, "mm", "in"},
    {Kind::length_per_time, "mm/d", "in/d"},
    {Kind::temperature, "degC", "degF"},
    {Kind::temperature_difference, "degC", "degF"},
    {Kind::time, "d", "d"},
    {Kind::grain_yield, "t/ha", "bu/acre"},
};

}  // namespace

Shown shown(const Variable& v, const Results& results) {
  const bool us = results.units == "us";
  Shown shown{std::string(canonical_unit(v.kind)), v.substance, 1.0, 0.0};
  for (const ShownUnit& row : units) {
    if (row.kind != v.kind) continue;
    shown.unit = us ? row.us : row.si;
    shown.offset = in_unit(0.0, shown.unit, v.kind);
    shown.scale = in_unit(1.0, shown.unit, v.kind) - shown.offset;
  }
  if (v.kind == Kind::money_per_area) {
    shown.unit = results.currency + (us ? "/acre" : "/ha");
    shown.scale = in_unit(1.0, us ? "/acre" : "/ha", v.kind);
  }
  if (us && v.substance == "P") {
    shown.substance = "P2O5";
    shown.scale = as_P2O5(shown.scale);
  }
  if (us && v.substance == "K") {
    shown.substance = "K2O";
    shown.scale = as_K2O(shown.scale);
  }
  return shown;
}

std::string shown_number(double value, int decimals) {
  if (std::isnan(value)) return "-";
  std::string text = fmt::format("{:.{}f}", value, decimals);
  if (text.find_first_not_of("-0.") == std::string::npos && text[0] == '-') text.erase(0, 1);  // no "-0"
  std::size_t end = text.find('.');
  if (end == std::string::npos) end = text.size();
  const std::size_t begin = text[0] == '-' ? 1 : 0;
  for (std::size_t i = end; i > begin + 3; i -= 3) text.insert(i - 3, ",");
  return text;
}

std::string range_text(double a, double b, int decimals) {
  if (a > b) std::swap(a, b);
  const std::string from = shown_number(a + 0.0, decimals), to = shown_number(b + 0.0, decimals);
  return from == to ? from : fmt::format("{} to {}", from, to);
}

const Variable* find_variable(const Results& results, std::string_view name) {
  for (const std::vector<Variable>* list : {&results.key_numbers, &results.series}) {
    for (const Variable& v : *list) {
      if (v.name == name) return &v;
    }
  }
  return nullptr;
}

std::string shown_range(const Results& results, std::string_view name, std::size_t index, const Shown& unit,
                        int decimals) {
  const Variable* low = find_variable(results, std::string(name) + std::string(band_low));
  const Variable* high = find_variable(results, std::string(name) + std::string(band_high));
  if (!low || !high || std::isnan(low->values[index])) return "";
  const double from = unit(low->values[index]), to = unit(high->values[index]);
  if (std::isnan(to)) return "from " + shown_number(from, decimals);
  const std::string range = range_text(from, to, decimals);
  return range == shown_number(from + 0.0, decimals) ? "" : range;
}

}  // namespace stoverturn
