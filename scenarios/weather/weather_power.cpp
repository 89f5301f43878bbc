#include "scenarios/weather/weather_power.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "engine/evapotranspiration.hpp"
#include "scenarios/text/csv_text.hpp"
#include "scenarios/weather/preamble.hpp"
#include "scenarios/weather/station_choice.hpp"
#include "scenarios/weather/weather_columns.hpp"
#include "scenarios/weather/weather_dates.hpp"

namespace stoverturn {
namespace {

constexpr double usual_missing_code = -999.0;
constexpr std::size_t field_radiation = 3, field_wind = 4, field_humidity = 5;

struct Parameter {
  std::string_view name;
  std::size_t field;
  std::string_view unit;  ///< when the file states none; "" when it must
};
// Where two give one field, the first is read.
constexpr Parameter parameters[] = {
    {"T2M_MIN", field_tmin, "degC"},   {"T2M_MAX", field_tmax, "degC"},
    {"PRECTOTCORR", field_rain, "mm"}, {"PRECTOT", field_rain, "mm"},
    {"WS2M", field_wind, "m/s"},       {"WS10M", field_wind, "m/s"},
    {"RH2M", field_humidity, "%"},     {"ALLSKY_SFC_SW_DWN", field_radiation, ""},
};

struct DateName {
  std::string_view name;
  std::size_t meaning;
};
constexpr DateName date_names[] = {
    {"YEAR", year_column}, {"MO", month_column}, {"MM", month_column},        {"DY", day_column},
    {"DD", day_column},    {"DAY", day_column},  {"DOY", day_of_year_column}, {"LAT", latitude_column},
};

bool is_header(std::string_view line) {
  const auto holds = [&](std::string_view part) { return line.find(part) != std::string_view::npos; };
  return holds("YEAR,") && (holds("T2M") || holds("PRECTOT"));
}

std::string_view word_of(const std::string& cell) {
  return trimmed(std::string_view(cell).substr(0, cell.find_first_of("[(")));
}

/// "MJ/m^2/day" from "ALLSKY_SFC_SW_DWN  CERES ... Irradiance (MJ/m^2/day)", or from the column itself.
std::string stated_unit(std::string_view preamble, const std::string& cell, std::string_view parameter) {
  std::string_view text = cell;
  if (text.find_first_of("[(") == std::string_view::npos) {
    std::size_t at = preamble.find(fmt::format("\n{} ", parameter));
    if (at == std::string_view::npos) return "";
    text = preamble.substr(at + 1, preamble.find('\n', at + 1) - at - 1);
  }
  const std::size_t opens = text.find_last_of("[("), closes = text.find_last_of("])");
  if (opens == std::string_view::npos || closes == std::string_view::npos || closes < opens) return "";
  std::string unit(trimmed(text.substr(opens + 1, closes - opens - 1)));
  if (const std::size_t hour = unit.find("kW-hr"); hour != std::string::npos) unit.replace(hour, 5, "kWh");
  return unit;
}

WeatherColumn read_parameter(const CsvCell& cell, const Parameter& parameter, std::string_view preamble,
                             const std::string& name, Mistakes& mistakes) {
  WeatherColumn column{parameter.field, std::string(parameter.name), "", {}};
  const Position at{name, cell.line, cell.column};
  column.unit = stated_unit(preamble, cell.text, parameter.name);
  if (column.unit.empty()) column.unit = parameter.unit;
  if (column.unit.empty()) {
    mistakes.add(at, fmt::format("the unit of {0} is not stated, because the header block is gone; put it "
                                 "back, or write {0} [MJ/m2/d] or {0} [kWh/m2/d]",
                                 parameter.name));
    return column;
  }
  try {
    column.conversion = unit_conversion(column.unit, weather_fields[parameter.field]);
    if (parameter.name == "WS10M") column.conversion.factor *= wind_at_2m_m_s(1.0, 10.0);
  } catch (const QuantityError& error) {
    mistakes.add(at, fmt::format("{}: {}", parameter.name, error.what()));
  }
  return column;
}

std::vector<WeatherColumn> read_header(const CsvRow& header, std::string_view preamble,
                                       const std::string& name, Mistakes& mistakes) {
  const auto has = [&](std::string_view word) {
    return std::any_of(header.begin(), header.end(),
                       [&](const CsvCell& cell) { return word_of(cell.text) == word; });
  };
  std::vector<WeatherColumn> columns;
  for (const CsvCell& cell : header) {
    const std::string_view word = word_of(cell.text);
    WeatherColumn column{unread_column, std::string(word), "", {}};
    for (const DateName& date : date_names) {
      if (date.name == word) column.meaning = date.meaning;
    }
    for (const Parameter& parameter : parameters) {
      const bool second = (word == "PRECTOT" && has("PRECTOTCORR")) || (word == "WS10M" && has("WS2M"));
      if (parameter.name == word && !second) {
        column = read_parameter(cell, parameter, preamble, name, mistakes);
      }
    }
    columns.push_back(column);
  }
  const Position at{name, header.front().line, 1};
  if (has("HR")) {
    mistakes.add(at, "this is hourly weather (it has a column HR); ask POWER for the daily series");
  }
  if (!has("DOY") && !((has("MO") || has("MM")) && (has("DY") || has("DD") || has("DAY")))) {
    mistakes.add(at, "there is no column DOY, nor MO and DY, to tell the day");
  }
  constexpr std::string_view needed[required_fields] = {"T2M_MIN", "T2M_MAX", "PRECTOTCORR"};
  for (std::size_t field = 0; field < required_fields; ++field) {
    if (place_of(columns, field) < columns.size()) continue;
    mistakes.add(at, fmt::format("there is no column {}; ask POWER for T2M_MIN, T2M_MAX and PRECTOTCORR at "
                                 "least",
                                 needed[field]));
  }
  return columns;
}

/// The rows of the wanted point, named "LAT LON" as the file writes them.
std::vector<const CsvRow*> rows_of(const CsvText& csv, const std::string& wanted, const std::string& name,
                                   Mistakes& mistakes) {
  const CsvRow& header = csv.rows.front();
  const auto place = [&](std::string_view word) {
    return static_cast<std::size_t>(
        std::find_if(header.begin(), header.end(), [&](const CsvCell& c) { return c.text == word; }) -
        header.begin());
  };
  const std::size_t lat = place("LAT"), lon = place("LON");
  const bool points = lat < header.size() && lon < header.size();
  StationChoice stations(wanted);
  std::vector<const CsvRow*> rows;
  for (std::size_t r = 1; r < csv.rows.size(); ++r) {
    const CsvRow& row = csv.rows[r];
    if (row.size() != header.size()) {
      mistakes.add({name, row.front().line, 1},
                   fmt::format("this row has {} cells, the header has {}", row.size(), header.size()));
    } else if (!points || stations.is_wanted(fmt::format("{} {}", row[lat].text, row[lon].text))) {
      rows.push_back(&row);
    }
  }
  if (points) {
    stations.check(name, mistakes);
  } else {
    refuse_station(wanted, name, mistakes);
  }
  return rows;
}

/// "Average for ... region = 321.5 meters"
double elevation_in(std::string_view preamble) {
  const std::size_t at = upper(preamble).find("ELEVATION");
  if (at == std::string::npos) return not_measured;
  const std::string_view line = preamble.substr(at, preamble.find('\n', at) - at);
  return number_after(line, "=").value_or(not_measured);
}

void read_value(const CsvCell& cell, const WeatherColumn& column, double missing_code,
                std::chrono::sys_days day, const std::string& name, RawWeather& raw, Mistakes& mistakes) {
  if (cell.text.empty()) return;
  const Position at{name, cell.line, cell.column};
  const auto value = number(cell.text);
  if (!value) {
    mistakes.add(at, fmt::format("{} '{}' is not a number", column.name, cell.text));
  } else if (*value != missing_code) {
    store(raw, mistakes, day, column.meaning, column.conversion.factor * *value + column.conversion.offset,
          fmt::format("{} {}", cell.text, column.unit), at);
  }
}

}  // namespace

bool is_power(std::string_view text) { return split_preamble(text, is_header).has_value(); }

RawWeather read_power(std::string_view text, const std::string& name, const WeatherOptions& options,
                      Mistakes& mistakes) {
  const Preamble parts = *split_preamble(text, is_header);
  RawWeather raw;
  raw.latitude_deg = number_after(parts.text, "Latitude").value_or(not_measured);
  raw.elevation_m = elevation_in(parts.text);
  const double missing_code = number_after(parts.text, "availability range").value_or(usual_missing_code);

  const CsvText csv = read_csv(parts.table, name, ',', parts.lines);
  Mistakes header_mistakes;
  const std::vector<WeatherColumn> columns = read_header(csv.rows.front(), parts.text, name, header_mistakes);
  if (mistakes.take(header_mistakes)) return raw;
  raw.unread_columns = unread(columns);
  const std::vector<const CsvRow*> rows = rows_of(csv, options.station, name, mistakes);
  if (rows.empty()) return raw;
  const std::size_t latitude = place_of(columns, latitude_column);
  if (std::isnan(raw.latitude_deg) && latitude < columns.size()) {
    raw.latitude_deg = number((*rows.front())[latitude].text).value_or(not_measured);
  }
  each_value(columns, rows, name, mistakes, [&](const CsvCell& cell, const WeatherColumn& column, auto day) {
    read_value(cell, column, missing_code, day, name, raw, mistakes);
  });
  return raw;
}

}  // namespace stoverturn
