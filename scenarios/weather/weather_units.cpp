#include "scenarios/weather/weather_units.hpp"

#include <algorithm>
#include <array>
#include <utility>

#include <fmt/format.h>
#include <fmt/ranges.h>

namespace stoverturn {
namespace {

constexpr std::string_view tenths_of = "tenths of ";

// By ColumnsIn, for the fields in the order of weather_fields. Tenths are those of NOAA's daily elements.
constexpr std::array<std::array<std::string_view, weather_fields.size()>, 4> units_by_choice = {{
    {},
    {"degF", "degF", "in", "", "mph", "%", "in", "degF", ""},
    {"degC", "degC", "mm", "", "m/s", "%", "mm", "degC", ""},
    {"tenths of degC", "tenths of degC", "tenths of mm", "", "tenths of m/s", "%", "mm", "tenths of degC",
     ""},
}};

}  // namespace

ColumnsIn columns_in_of(std::string_view word) {
  const auto found = std::find(columns_in_words.begin(), columns_in_words.end(), word);
  if (found == columns_in_words.end()) return ColumnsIn::header;
  return static_cast<ColumnsIn>(found - columns_in_words.begin() + 1);
}

UnitConversion unit_conversion(std::string_view unit, const WeatherField& field) {
  if (unit == field.unit) return {};
  if (field.kind == Kind::temperature) {
    const double offset = quantity(fmt::format("0 {}", unit), field.kind).value;
    return {(quantity(fmt::format("100 {}", unit), field.kind).value - offset) / 100.0, offset};
  }
  std::string written(unit);
  const std::size_t slash = written.rfind('/');
  const std::string below = slash == std::string::npos ? "" : written.substr(slash + 1);
  const bool a_day = below == "d" || below == "day";
  if (field.kind == Kind::length && a_day) written.resize(slash);
  try {
    return {unit_factor(written, field.kind), 0.0};
  } catch (const QuantityError&) {
    if (field.kind != Kind::radiation || a_day) throw;
  }
  try {
    return {unit_factor(written + "/d", field.kind), 0.0};
  } catch (const QuantityError&) {
    return {unit_factor(written, field.kind), 0.0};
  }
}

std::optional<ColumnUnit> unit_by_choice(ColumnsIn choice, std::size_t field) {
  const std::string_view unit = units_by_choice[static_cast<std::size_t>(choice)][field];
  if (unit.empty()) return std::nullopt;
  const bool tenths = unit.starts_with(tenths_of);
  UnitConversion conversion =
      unit_conversion(tenths ? unit.substr(tenths_of.size()) : unit, weather_fields[field]);
  if (tenths) conversion.factor /= 10.0;
  return ColumnUnit{std::string(unit), conversion};
}

std::string possible_units(double number, std::size_t field, bool by_choice) {
  const WeatherField& row = weather_fields[field];
  std::vector<std::string> list;
  for (const std::string& word : columns_in_words) {
    const auto other = unit_by_choice(columns_in_of(word), field);
    if (!other) continue;
    const double value = other->conversion.factor * number + other->conversion.offset;
    if (value < row.lowest || value > row.highest) continue;
    list.push_back(
        fmt::format("{:.1f} {} {}", value, row.unit,
                    by_choice ? fmt::format("with columns_in = \"{}\"", word) : "as " + other->unit));
  }
  return list.empty() ? "" : fmt::format("; it would be {}", fmt::join(list, ", "));
}

}  // namespace stoverturn
