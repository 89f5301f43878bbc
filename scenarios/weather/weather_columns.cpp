#include "scenarios/weather/weather_columns.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "engine/evapotranspiration.hpp"
#include "scenarios/text/column_header.hpp"
#include "scenarios/weather/weather_names.hpp"

namespace stoverturn {
namespace {

std::string wanted_unit(std::size_t meaning) {
  if (meaning == elevation_column) {
    return "elevation needs a unit: write elevation [m] or elevation [ft], or say it under [weather] or with "
           "--elevation";
  }
  const WeatherField& field = weather_fields[meaning];
  return field.other_unit.empty() ? fmt::format("{0} needs a unit: write {0} [{1}]", field.name, field.unit)
                                  : fmt::format("{0} needs a unit: write {0} [{1}] or {0} [{2}]", field.name,
                                                field.unit, field.other_unit);
}

/// True where columns_in can say the unit.
bool may_be_chosen(std::size_t meaning) {
  if (meaning == elevation_column) return true;
  return meaning < weather_fields.size() && unit_by_choice(ColumnsIn::us, meaning).has_value();
}

/// The elevation's unit: NOAA's tables and metric ones have metres, in US units it may be either.
void complete_elevation(WeatherColumn& column, const WeatherOptions& options, const Position& at,
                        Mistakes& mistakes) {
  if (!std::isnan(options.elevation_m)) {
    column.meaning = note_column;
  } else if (column.unit.empty() && options.columns_in == ColumnsIn::us) {
    mistakes.add(at, wanted_unit(elevation_column));
  } else if (column.unit.empty() && options.columns_in != ColumnsIn::header) {
    column.unit = "m";
  }
}

void complete_field(WeatherColumn& column, const ColumnHeader& header, const WeatherOptions& options,
                    const Position& at, Mistakes& mistakes) {
  const WeatherField& field = weather_fields[column.meaning];
  if (column.unit.empty()) {
    if (const auto chosen = unit_by_choice(options.columns_in, column.meaning)) {
      column.unit = chosen->unit;
      column.conversion = chosen->conversion;
      column.unit_by_choice = true;
    } else if (options.columns_in != ColumnsIn::header || !may_be_chosen(column.meaning)) {
      mistakes.add(at, wanted_unit(column.meaning));
    }
    return;
  }
  try {
    column.conversion = unit_conversion(column.unit, field);
  } catch (const QuantityError& error) {
    mistakes.add({at.source, at.line, header.unit_column}, fmt::format("{}: {}", field.name, error.what()));
  }
}

WeatherColumn read_header_cell(const CsvCell& cell, const std::string& name, const WeatherOptions& options,
                               Mistakes& mistakes) {
  const Position at{name, cell.line, cell.column};
  ColumnHeader header = column_header(cell);
  WeatherColumn column;
  column.name = header.name;
  if (header.name.empty()) {
    mistakes.add(at, "this column has no name");
    return column;
  }
  const Spelling* spelling = understood(header);
  column.unit = header.unit;
  if (spelling == nullptr) {
    const std::string meant = nearest_spelling(folded_name(header.name));
    if (!meant.empty()) {
      column.meaning = note_column;
      mistakes.add(at, fmt::format("unknown column '{}'; did you mean '{}'?", header.name, meant));
    }
    return column;
  }
  column.meaning = spelling->meaning;
  if (column.meaning == elevation_column) complete_elevation(column, options, at, mistakes);
  if (column.meaning >= weather_fields.size()) return column;
  complete_field(column, header, options, at, mistakes);
  if (spelling->at_10_m) column.conversion.factor *= wind_at_2m_m_s(1.0, 10.0);
  return column;
}

/// One mistake for all units that are absent and that columns_in can say.
void refuse_absent_units(const std::vector<WeatherColumn>& columns, const CsvRow& header,
                         const std::string& name, Mistakes& mistakes) {
  std::vector<std::size_t> absent;
  std::string attributes;
  for (std::size_t i = 0; i < columns.size(); ++i) {
    const WeatherColumn& column = columns[i];
    if (column.unit.empty() && may_be_chosen(column.meaning)) absent.push_back(i);
    if (attributes.empty() && folded_name(column.name).ends_with(" attributes")) attributes = column.name;
  }
  if (absent.empty()) return;
  const CsvCell& first = header[absent.front()];
  const Position at{name, first.line, first.column};
  if (absent.size() == 1) {
    mistakes.add(at, wanted_unit(columns[absent.front()].meaning));
    return;
  }
  std::vector<std::string> names;
  for (const std::size_t i : absent) names.push_back(columns[i].name);
  mistakes.add(
      at, fmt::format("no unit is stated for {}; look at the numbers, then say it once: columns_in under "
                      "[weather], or --columns-in, is \"us\" (degF, in), \"metric\" (degC, mm) or \"tenths\" "
                      "(tenths of degC and of mm); or write units into the header, as in tmax [degF]{}",
                      fmt::join(names, ", "),
                      attributes.empty() ? ""
                                         : fmt::format("; tables with columns such as {} often are in tenths "
                                                       "(from memory)",
                                                       attributes)));
}

/// What is missing, and the columns that were not understood, one of which may be it.
void add_missing(const std::vector<WeatherColumn>& columns, const Position& at, Mistakes& mistakes) {
  std::vector<std::string> unread;
  for (const WeatherColumn& column : columns) {
    if (column.meaning == unread_column && !column.name.empty()) {
      unread.push_back(fmt::format("'{}'", column.name));
    }
  }
  const std::string others =
      unread.empty() ? "" : fmt::format("; not understood: {}", fmt::join(unread, ", "));
  const auto has = [&](std::size_t meaning) { return place_of(columns, meaning) < columns.size(); };
  const bool dated = has(date_column) || (has(year_column) && (has(day_of_year_column) || has(day_column)));
  if (!dated) {
    mistakes.add(at, fmt::format("there is no column 'date', nor 'year' with 'month' and 'day' or with 'day "
                                 "of year'{}",
                                 others));
  }
  for (std::size_t field = 0; field < required_fields; ++field) {
    if (has(field)) continue;
    const WeatherField& wanted = weather_fields[field];
    mistakes.add(at, fmt::format("there is no column '{}'; write {} [{}] or {} [{}]{}", wanted.name,
                                 wanted.name, wanted.unit, wanted.name, wanted.other_unit, others));
  }
}

}  // namespace

std::vector<WeatherColumn> read_weather_header(const CsvRow& header, const std::string& name,
                                               const WeatherOptions& options, Mistakes& mistakes) {
  std::vector<WeatherColumn> columns;
  std::array<int, note_column> seen{};
  for (const CsvCell& cell : header) {
    columns.push_back(read_header_cell(cell, name, options, mistakes));
    WeatherColumn& column = columns.back();
    if (column.meaning >= note_column) continue;
    int& first = seen[column.meaning];
    if (first == 0) {
      first = cell.column;
    } else if (column.meaning == station_column) {
      column.meaning = unread_column;
    } else {
      mistakes.add(
          {name, cell.line, cell.column},
          fmt::format("the column {} stands twice; first at column {}", name_of(column.meaning), first));
    }
  }
  if (options.columns_in == ColumnsIn::header) refuse_absent_units(columns, header, name, mistakes);
  add_missing(columns, {name, header.front().line, 1}, mistakes);
  return columns;
}

std::size_t place_of(const std::vector<WeatherColumn>& columns, std::size_t meaning) {
  const auto found = std::find_if(columns.begin(), columns.end(),
                                  [&](const WeatherColumn& c) { return c.meaning == meaning; });
  return static_cast<std::size_t>(found - columns.begin());
}

std::vector<std::string> unread(const std::vector<WeatherColumn>& columns) {
  std::vector<std::string> names;
  for (const WeatherColumn& column : columns) {
    if (column.meaning == unread_column) names.push_back(column.name);
  }
  return names;
}

}  // namespace stoverturn
