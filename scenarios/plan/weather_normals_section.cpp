#include "scenarios/plan/weather_normals_section.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace stoverturn {
namespace {

constexpr std::array<const char*, 12> month_names = {"January",   "February", "March",    "April",
                                                     "May",       "June",     "July",     "August",
                                                     "September", "October",  "November", "December"};

/// One row a key of twelve values.
struct TwelveRow {
  const char* key;
  Kind kind;
  const char* example;
  double lowest, highest;
  Months MonthlyNormals::*member;
  bool required;
};

// Bounds lie outside the monthly means known for the Earth's surface (from memory: -70 and 47 degC, 9,300
// mm).
constexpr std::array<TwelveRow, 8> rows = {{
    {"tmax", Kind::temperature, "\"-2 0 8 16 22 27 29 28 25 17 8 1 degC\"", -80.0, 60.0,
     &MonthlyNormals::tmax_C, true},
    {"tmin", Kind::temperature, "\"-11 -9 -3 3 10 16 18 16 12 5 -2 -8 degC\"", -80.0, 60.0,
     &MonthlyNormals::tmin_C, true},
    {"rain", Kind::length, "\"20 26 53 91 114 116 103 108 74 64 48 31 mm\"", 0.0, 10000.0,
     &MonthlyNormals::rain_mm, true},
    {"wet_days", Kind::time, "\"5 5 6 9 10 9 8 8 7 7 6 5 days\"", 0.0, 31.0, &MonthlyNormals::wet_days, true},
    {"temperature_sd", Kind::temperature_difference, "\"7 7 6 5 4 3 3 3 4 5 6 6 K\"", 0.1, 20.0,
     &MonthlyNormals::temperature_sd_C, false},
    {"radiation", Kind::radiation, "\"7 10 14 17 20 22 22 19 15 11 7 6 MJ/m2/d\"", 0.0, 45.0,
     &MonthlyNormals::radiation_MJ_m2, false},
    {"wind", Kind::speed, "\"3 3 3 3 3 2 2 2 2 3 3 3 m/s\"", 0.0, 30.0, &MonthlyNormals::wind_m_s, false},
    {"humidity", Kind::humidity, "\"75 74 70 66 67 70 74 76 73 70 75 78 %\"", 1.0, 100.0,
     &MonthlyNormals::humidity_percent, false},
}};

/// "1 2, 3 degC" to "1 degC", "2 degC", "3 degC".
std::vector<std::string> split_numbers(const std::string& text) {
  constexpr const char* between = " \t,;";
  constexpr const char* of_number = "+-.0123456789eE";
  std::vector<std::string> numbers;
  std::size_t at = text.find_first_not_of(between);
  while (at < text.size()) {
    if (std::string_view("+-.0123456789").find(text[at]) == std::string_view::npos) break;
    const std::size_t end = std::min(text.find_first_not_of(of_number, at), text.size());
    numbers.push_back(text.substr(at, end - at));
    at = text.find_first_not_of(between, end);
  }
  const std::string unit = at < text.size() ? text.substr(at) : "";
  for (std::string& number : numbers) number += " " + unit;
  return numbers;
}

/// One month's quantity. A mistake in a text of twelve is told at the text's start.
std::optional<Quantity> one_month(const Value& value, bool of_text, const TwelveRow& row,
                                  const std::string& what, Mistakes& mistakes) {
  if (const double* bare = value.number(); bare && row.kind == Kind::time) return Quantity{*bare, "d"};
  if (!of_text) return read_quantity(value, row.kind, what, mistakes);
  try {
    return quantity(*value.text(), row.kind);
  } catch (const QuantityError& error) {
    mistakes.add(value.at, fmt::format("{}: {}", what, error.what()));
    return std::nullopt;
  }
}

/// Quantities of the value, each with its unit; nothing and a mistake where one is none.
std::optional<std::vector<Quantity>> quantities(const Value& value, const TwelveRow& row,
                                                Mistakes& mistakes) {
  std::vector<Value> each;
  if (const List* list = value.list()) {
    each = *list;
  } else if (const std::string* text = value.text()) {
    for (const std::string& one : split_numbers(*text)) each.push_back({value.at, one});
  } else {
    mistakes.add(value.at, fmt::format("{}: found {}; wanted twelve values with their unit, such as {}",
                                       row.key, kind_name(value), row.example));
    return std::nullopt;
  }
  if (each.size() != 12) {
    mistakes.add(value.at, fmt::format("{}: found {} value{}; wanted twelve, January to December, such as {}",
                                       row.key, each.size(), each.size() == 1 ? "" : "s", row.example));
    return std::nullopt;
  }
  std::vector<Quantity> read;
  for (std::size_t m = 0; m < 12; ++m) {
    const auto one = one_month(each[m], value.text() != nullptr, row,
                               fmt::format("{}, {}", row.key, month_names[m]), mistakes);
    if (!one) return std::nullopt;
    read.push_back(*one);
  }
  return read;
}

/// Whether the row is in order: read, or absent and not required.
bool read_twelve(TableReader& in, const TwelveRow& row, MonthlyNormals& normals, Mistakes& mistakes) {
  if (row.required) in.require(row.key, fmt::format("{} = {}", row.key, row.example));
  const Value* value = in.value(row.key);
  if (!value) return !row.required;
  const auto read = quantities(*value, row, mistakes);
  if (!read) return false;
  bool sound = true;
  for (std::size_t m = 0; m < 12; ++m) {
    const Quantity& q = (*read)[m];
    const double most =
        row.kind == Kind::time ? std::min(row.highest, std::ceil(month_days[m])) : row.highest;
    if (q.value < row.lowest || q.value > most) {
      sound = false;
      const auto shown = [&](double x) { return q.unit.empty() ? x : in_unit(x, q.unit, row.kind); };
      mistakes.add(value->at, fmt::format("{}, {}: found {:.5g} {}; wanted from {:.5g} {} to {:.5g} {}",
                                          row.key, month_names[m], shown(q.value), q.unit, shown(row.lowest),
                                          q.unit, shown(most), q.unit));
    }
    (normals.*row.member)[m] = q.value;
  }
  return sound;
}

void check_months(TableReader& in, const MonthlyNormals& n) {
  for (std::size_t m = 0; m < 12; ++m) {
    if (n.tmin_C[m] >= n.tmax_C[m]) {
      in.mistake("tmin", fmt::format("{}: {:.4g} degC is not below tmax, {:.4g} degC", month_names[m],
                                     n.tmin_C[m], n.tmax_C[m]));
    }
    if (n.rain_mm[m] > 0.0 && n.wet_days[m] == 0.0) {
      in.mistake("wet_days",
                 fmt::format("{}: no wet day, but {:.4g} mm of rain", month_names[m], n.rain_mm[m]));
    } else if (n.rain_mm[m] < n.wet_days[m] * n.wet_day_mm) {
      in.mistake("rain",
                 fmt::format("{}: {:.4g} mm are too little for {:.4g} wet days of at least {:.4g} mm each; "
                             "if they were counted from less rain on, write wet_day = \"0.1 mm\"",
                             month_names[m], n.rain_mm[m], n.wet_days[m], n.wet_day_mm));
    }
  }
}

}  // namespace

MonthlyNormals read_normals(const Table& table, Position at, Mistakes& mistakes) {
  TableReader in(table, "[weather.normals]", at, mistakes);
  MonthlyNormals normals;
  bool sound = true;
  for (const TwelveRow& row : rows) sound = read_twelve(in, row, normals, mistakes) && sound;
  normals.wet_day_mm = in.amount("wet_day", Kind::length, 0.01, 10.0).value_or(1.0);
  if (sound) check_months(in, normals);
  in.finish();
  return normals;
}

}  // namespace stoverturn
