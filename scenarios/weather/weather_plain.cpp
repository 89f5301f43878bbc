#include "scenarios/weather/weather_plain.hpp"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <optional>

#include <fmt/format.h>

#include "scenarios/text/calendar.hpp"
#include "scenarios/text/csv_text.hpp"
#include "scenarios/weather/station_choice.hpp"
#include "scenarios/weather/weather_columns.hpp"
#include "scenarios/weather/weather_dates.hpp"

namespace stoverturn {
namespace {

bool is_missing(std::string_view text) { return text.empty() || text == "NA" || text == "NaN"; }

/// Up to six decimals, none of them a closing zero.
std::string decimals(double value) {
  std::string text = fmt::format("{:.6f}", value);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text == "-0" ? "0" : text;
}

/// A number with a decimal comma where commas do not part the cells.
std::optional<double> number_in(const std::string& text, char separator) {
  const std::size_t comma = text.find(',');
  if (separator == ',' || comma == std::string::npos) return number(text);
  std::string pointed = text;
  pointed[comma] = '.';
  return number(pointed);
}

void read_value(const CsvCell& cell, const WeatherColumn& column, char separator, std::chrono::sys_days day,
                const std::string& name, RawWeather& raw, Mistakes& mistakes) {
  if (is_missing(cell.text)) return;
  const WeatherField& field = weather_fields[column.meaning];
  const Position at{name, cell.line, cell.column};
  const auto read = number_in(cell.text, separator);
  if (!read) {
    const bool trace = column.meaning == field_rain && (cell.text == "T" || cell.text == "t");
    mistakes.add(at, fmt::format("{} '{}' is not a number{}", field.name, cell.text,
                                 trace ? "; write 0 for a trace"
                                       : "; leave the cell empty when nothing was measured"));
    return;
  }
  const double value = column.conversion.factor * *read + column.conversion.offset;
  const bool possible = value >= field.lowest && value <= field.highest;
  store(raw, mistakes, day, column.meaning, value, fmt::format("{} {}", cell.text, column.unit), at,
        possible ? "" : possible_units(*read, column.meaning, column.unit_by_choice));
}

/// "40.78", "40.78 N", "131 ft": a bare number is in `unit`.
double comment_quantity(const CsvCell& comment, std::string_view text, Kind kind, std::string_view unit,
                        const std::string& name, Mistakes& mistakes) {
  const int column = comment.column + static_cast<int>(text.data() - comment.text.data());
  if (const auto bare = number(text); bare && !unit.empty()) return *bare;
  try {
    return quantity(text, kind).value;
  } catch (const QuantityError& error) {
    mistakes.add({name, comment.line, column + static_cast<int>(error.offset)}, error.what());
    return not_measured;
  }
}

void read_comment(const CsvCell& comment, const std::string& name, RawWeather& raw, Mistakes& mistakes) {
  const std::string_view text = comment.text;
  const std::size_t colon = text.find(':');
  if (colon == std::string_view::npos) return;
  std::string key(trimmed(text.substr(0, colon)));
  for (char& c : key) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  const std::string_view value = trimmed(text.substr(colon + 1));
  if (key == "latitude") {
    raw.latitude_deg = comment_quantity(comment, value, Kind::angle, "degree", name, mistakes);
    if (std::abs(raw.latitude_deg) > 90.0) {
      mistakes.add({name, comment.line, comment.column},
                   fmt::format("latitude {} is impossible; possible are -90 to 90", value));
    }
  } else if (key == "elevation") {
    const bool metres =
        value.size() > 2 && value.substr(value.size() - 2) == " m";  // read back to the last digit
    const auto written = metres ? number(value.substr(0, value.size() - 2)) : std::nullopt;
    raw.elevation_m =
        written ? *written : comment_quantity(comment, value, Kind::length, "", name, mistakes) / 1000.0;
    if (raw.elevation_m < -500.0 || raw.elevation_m > 9000.0) {
      mistakes.add({name, comment.line, comment.column},
                   fmt::format("elevation {} is impossible; possible are -500 to 9000 m", value));
    }
  } else if (key == "filled") {
    if (const auto gap = read_filled_gap(value)) raw.filled_before.push_back(*gap);
  }
}

std::string_view first_row_of(std::string_view text) {
  while (!text.empty()) {
    const std::size_t end = std::min(text.find_first_of("\r\n"), text.size());
    const std::string_view line = trimmed(text.substr(0, end));
    if (!line.empty() && line.front() != '#') return line;
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  return {};
}

/// What parts the cells of the header most often.
char separator_of(std::string_view text) {
  const std::string_view row = first_row_of(text);
  const auto count = [&](char c) { return std::count(row.begin(), row.end(), c); };
  char most = ',';
  for (const char separator : {';', '\t'}) {
    if (count(separator) > count(most)) most = separator;
  }
  return most;
}

/// Latitude and elevation from columns, where comments did not say them.
void read_place(const CsvRow& row, const std::vector<WeatherColumn>& columns, const std::string& name,
                RawWeather& raw, Mistakes& mistakes) {
  const auto read = [&](std::size_t meaning, Kind kind, double lowest, double highest, double& into) {
    const std::size_t place = place_of(columns, meaning);
    if (place == columns.size() || !std::isnan(into) || is_missing(row[place].text)) return;
    const Position at{name, row[place].line, row[place].column};
    try {
      into = quantity(fmt::format("{} {}", row[place].text, columns[place].unit), kind).value;
      if (kind == Kind::length) into /= 1000.0;
      if (into < lowest || into > highest) {
        mistakes.add(at, fmt::format("{} {} is impossible; possible are {} to {}", columns[place].name,
                                     row[place].text, lowest, highest));
      }
    } catch (const QuantityError& error) {
      mistakes.add(at, fmt::format("{}: {}", columns[place].name, error.what()));
    }
  };
  read(latitude_column, Kind::angle, -90.0, 90.0, raw.latitude_deg);
  read(elevation_column, Kind::length, -500.0, 9000.0, raw.elevation_m);
}

/// The rows below the header that have as many cells and are of the wanted station.
std::vector<const CsvRow*> rows_of(const CsvText& csv, const std::vector<WeatherColumn>& columns,
                                   const std::string& wanted, const std::string& name, Mistakes& mistakes) {
  const std::size_t station = place_of(columns, station_column);
  StationChoice stations(wanted);
  std::vector<const CsvRow*> rows;
  for (std::size_t r = 1; r < csv.rows.size(); ++r) {
    const CsvRow& row = csv.rows[r];
    if (row.size() != columns.size()) {
      mistakes.add({name, row.front().line, 1},
                   fmt::format("this row has {} cells, the header has {}", row.size(), columns.size()));
    } else if (station == columns.size() || stations.is_wanted(row[station].text)) {
      rows.push_back(&row);
    }
  }
  if (station == columns.size()) {
    refuse_station(wanted, name, mistakes);
  } else {
    stations.check(name, mistakes);
  }
  return rows;
}

}  // namespace

bool is_plain_weather(std::string_view text) {
  std::string_view row = first_row_of(text);
  while (!row.empty()) {
    const std::size_t end = std::min(row.find_first_of(",;\t"), row.size());
    std::string_view cell = trimmed(row.substr(0, end));
    if (!cell.empty() && cell.front() == '"') cell = cell.substr(1, cell.find('"', 1) - 1);
    if (names_weather_or_date(cell)) return true;
    row.remove_prefix(std::min(end + 1, row.size()));
  }
  return false;
}

RawWeather read_plain_weather(std::string_view text, const std::string& name, const WeatherOptions& options,
                              Mistakes& mistakes) {
  const char separator = separator_of(text);
  const CsvText csv = read_csv(text, name, separator);
  RawWeather raw;
  for (const CsvCell& comment : csv.comments) read_comment(comment, name, raw, mistakes);
  Mistakes header_mistakes;
  const std::vector<WeatherColumn> columns =
      read_weather_header(csv.rows.front(), name, options, header_mistakes);
  if (mistakes.take(header_mistakes)) return raw;
  raw.unread_columns = unread(columns);
  const std::vector<const CsvRow*> rows = rows_of(csv, columns, options.station, name, mistakes);
  if (rows.empty()) return raw;
  read_place(*rows.front(), columns, name, raw, mistakes);
  each_value(columns, rows, name, mistakes, [&](const CsvCell& cell, const WeatherColumn& column, auto day) {
    read_value(cell, column, separator, day, name, raw, mistakes);
  });
  return raw;
}

std::string write_plain_weather(const Weather& weather, std::span<const FilledGap> filled) {
  std::vector<const WeatherField*> columns;
  for (std::size_t field = 0; field < weather_fields.size(); ++field) {
    const auto member = weather_fields[field].member;
    const bool measured = std::any_of(weather.days.begin(), weather.days.end(),
                                      [&](const WeatherDay& day) { return !std::isnan(day.*member); });
    if (field < required_fields || measured) columns.push_back(&weather_fields[field]);
  }
  std::string text;
  if (!std::isnan(weather.latitude_deg)) text += fmt::format("# latitude: {}\n", weather.latitude_deg);
  text += fmt::format("# elevation: {} m\n", weather.elevation_m);
  for (const FilledGap& gap : filled) text += fmt::format("# filled: {}\n", to_string(gap));
  text += "date";
  for (const WeatherField* column : columns) text += fmt::format(",{} [{}]", column->name, column->unit);
  text += '\n';
  auto date = weather.start;
  for (const WeatherDay& day : weather.days) {
    text += format_date(date);
    for (const WeatherField* column : columns) {
      const double value = day.*(column->member);
      text += ',';
      if (!std::isnan(value)) text += decimals(value);
    }
    text += '\n';
    date += std::chrono::days(1);
  }
  return text;
}

}  // namespace stoverturn
