#include "scenarios/weather/weather_columns.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <optional>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "engine/evapotranspiration.hpp"
#include "scenarios/text/column_header.hpp"

namespace stoverturn {
namespace {

constexpr std::size_t tmin = field_tmin, tmax = field_tmax, rain = field_rain, radiation = 3, wind = 4,
                      humidity = 5, snow_depth = 6, soil_temperature = 7, soil_moisture = 8;

struct Spelling {
  std::string_view text;  ///< lower case, words apart by one blank
  std::size_t meaning;
  bool at_10_m = false;
};

// The name of the plain format first.
constexpr Spelling spellings[] = {
    {"date", date_column},
    {"timestamp", date_column},
    {"date time", date_column},
    {"yyyymmdd", date_column},
    {"observation date", date_column},
    {"year", year_column},
    {"yr", year_column},
    {"yyyy", year_column},
    {"month", month_column},
    {"mon", month_column},
    {"mo", month_column},
    {"day", day_column},
    {"dy", day_column},
    {"dom", day_column},
    {"day of month", day_column},
    {"day of year", day_of_year_column},
    {"doy", day_of_year_column},
    {"yday", day_of_year_column},
    {"jday", day_of_year_column},
    {"julian day", day_of_year_column},
    {"tmin", tmin},
    {"mint", tmin},
    {"tmn", tmin},
    {"min temp", tmin},
    {"temp min", tmin},
    {"min temperature", tmin},
    {"temperature min", tmin},
    {"minimum temp", tmin},
    {"minimum temperature", tmin},
    {"temperature minimum", tmin},
    {"low temp", tmin},
    {"low temperature", tmin},
    {"t2m min", tmin},
    {"tmax", tmax},
    {"maxt", tmax},
    {"tmx", tmax},
    {"max temp", tmax},
    {"temp max", tmax},
    {"max temperature", tmax},
    {"temperature max", tmax},
    {"maximum temp", tmax},
    {"maximum temperature", tmax},
    {"temperature maximum", tmax},
    {"high temp", tmax},
    {"high temperature", tmax},
    {"t2m max", tmax},
    {"rain", rain},
    {"rainfall", rain},
    {"precipitation", rain},
    {"precip", rain},
    {"prcp", rain},
    {"prec", rain},
    {"ppt", rain},
    {"pcp", rain},
    {"rain amount", rain},
    {"precipitation amount", rain},
    {"radiation", radiation},
    {"solar radiation", radiation},
    {"global radiation", radiation},
    {"global solar radiation", radiation},
    {"shortwave radiation", radiation},
    {"solar rad", radiation},
    {"solar", radiation},
    {"srad", radiation},
    {"radn", radiation},
    {"rs", radiation},
    {"wind", wind},
    {"wind speed", wind},
    {"ws", wind},
    {"ws 2m", wind},
    {"wind 2m", wind},
    {"wind speed 2m", wind},
    {"u2", wind},
    {"wind 10m", wind, true},
    {"wind speed 10m", wind, true},
    {"ws 10m", wind, true},
    {"u10", wind, true},
    {"humidity", humidity},
    {"relative humidity", humidity},
    {"rel humidity", humidity},
    {"rh", humidity},
    {"rh 2m", humidity},
    {"snow depth", snow_depth},
    {"depth of snow", snow_depth},
    {"snow on ground", snow_depth},
    {"snwd", snow_depth},
    {"soil temperature", soil_temperature},
    {"soil temp", soil_temperature},
    {"tsoil", soil_temperature},
    {"soil temperature 10cm", soil_temperature},
    {"soil temp 10cm", soil_temperature},
    {"soil temperature 100mm", soil_temperature},
    {"soil temp 100mm", soil_temperature},
    {"soil temperature 4in", soil_temperature},
    {"soil temp 4in", soil_temperature},
    {"soil moisture", soil_moisture},
    {"soil water content", soil_moisture},
    {"soil water", soil_moisture},
    {"soil vwc", soil_moisture},
    {"vwc", soil_moisture},
    {"station", station_column},
    {"station id", station_column},
    {"site", station_column},
    {"site id", station_column},
    {"location", station_column},
    {"latitude", latitude_column},
    {"lat", latitude_column},
    {"elevation", elevation_column},
    {"elev", elevation_column},
    {"altitude", elevation_column},
    {"note", note_column},
    {"notes", note_column},
    {"remark", note_column},
    {"remarks", note_column},
    {"comment", note_column},
};

constexpr std::string_view words_without_weight[] = {"air", "daily", "total", "mean", "average", "avg"};

struct UnitEnding {
  std::string_view text, unit;
};
constexpr UnitEnding unit_endings[] = {
    {"c", "degC"},       {"degc", "degC"},      {"f", "degF"},
    {"degf", "degF"},    {"mm", "mm"},          {"cm", "cm"},
    {"in", "in"},        {"inch", "in"},        {"inches", "in"},
    {"mps", "m/s"},      {"mph", "mph"},        {"kmh", "km/h"},
    {"pct", "%"},        {"percent", "%"},      {"mj", "MJ/m2/d"},
    {"mjm2", "MJ/m2/d"}, {"mjm2d", "MJ/m2/d"},  {"mjm2day", "MJ/m2/d"},
    {"wm2", "W/m2"},     {"kwhm2", "kWh/m2/d"}, {"m3m3", "m3/m3"},
    {"m", "m"},          {"ft", "ft"},
};

/// Lower case, words apart by one blank: "Max_Temp", "MaxTemp" and "max-temp" are "max temp".
std::string folded(std::string_view name) {
  const auto is = [](int (*test)(int), char c) { return test(static_cast<unsigned char>(c)) != 0; };
  std::string parted;
  for (std::size_t i = 0; i < name.size(); ++i) {
    if (i > 0 && is(std::isupper, name[i]) && is(std::islower, name[i - 1])) parted += ' ';
    parted += name[i] == '.' ? ' ' : name[i];
  }
  return folded_words(parted);
}

std::vector<std::string> words_of(const std::string& text) {
  std::vector<std::string> words;
  for (std::size_t begin = 0; begin < text.size();) {
    const std::size_t end = std::min(text.find(' ', begin), text.size());
    if (end > begin) words.push_back(text.substr(begin, end - begin));
    begin = end + 1;
  }
  return words;
}

std::string without_blanks(std::string_view text) {
  std::string joined;
  std::copy_if(text.begin(), text.end(), std::back_inserter(joined), [](char c) { return c != ' '; });
  return joined;
}

const Spelling* spelling_of(const std::vector<std::string>& words) {
  std::string joined;
  for (const std::string& word : words) {
    const bool weightless = std::find(std::begin(words_without_weight), std::end(words_without_weight),
                                      word) != std::end(words_without_weight);
    if (!weightless) joined += word;
  }
  const auto found = std::find_if(std::begin(spellings), std::end(spellings),
                                  [&](const Spelling& s) { return without_blanks(s.text) == joined; });
  return found == std::end(spellings) ? nullptr : found;
}

/// The spelling of a name, whose last word may be a unit; that unit is then put to `header`.
const Spelling* understood(ColumnHeader& header) {
  std::vector<std::string> words = words_of(folded(header.name));
  if (const Spelling* whole = spelling_of(words)) return whole;
  if (words.size() < 2 || !header.unit.empty()) return nullptr;
  const auto ending = std::find_if(std::begin(unit_endings), std::end(unit_endings),
                                   [&](const UnitEnding& e) { return e.text == words.back(); });
  if (ending == std::end(unit_endings)) return nullptr;
  words.pop_back();
  const Spelling* found = spelling_of(words);
  if (found != nullptr) header.unit = ending->unit;
  return found;
}

/// The known name that is meant by a misspelt one. Words of less than four letters are near to everything;
/// "soil temp 20cm" and "wind direction" are other quantities, not mistakes.
std::string nearest_spelling(const std::string& name) {
  constexpr std::size_t shortest = 4;
  if (name.size() < shortest || name.find_first_of("0123456789") != std::string::npos) return "";
  std::vector<std::string> words;
  for (const Spelling& s : spellings) {
    const std::string text(s.text);
    if (name.starts_with(text + ' ') || name.ends_with(' ' + text)) return "";
    if (text.size() >= shortest && s.meaning < note_column) words.push_back(text);
  }
  return closest(name, words);
}

std::string wanted_unit(const WeatherField& field) {
  return field.other_unit.empty() ? fmt::format("{0} needs a unit: write {0} [{1}]", field.name, field.unit)
                                  : fmt::format("{0} needs a unit: write {0} [{1}] or {0} [{2}]", field.name,
                                                field.unit, field.other_unit);
}

WeatherColumn read_header_cell(const CsvCell& cell, const std::string& name, Mistakes& mistakes) {
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
    const std::string meant = nearest_spelling(folded(header.name));
    if (!meant.empty()) {
      column.meaning = note_column;
      mistakes.add(at, fmt::format("unknown column '{}'; did you mean '{}'?", header.name, meant));
    }
    return column;
  }
  column.meaning = spelling->meaning;
  if (column.meaning == elevation_column && column.unit.empty()) {
    mistakes.add(at, "elevation needs a unit: write elevation [m] or elevation [ft]");
  }
  if (column.meaning >= weather_fields.size()) return column;
  const WeatherField& field = weather_fields[column.meaning];
  if (column.unit.empty()) {
    mistakes.add(at, wanted_unit(field));
    return column;
  }
  try {
    column.conversion = unit_conversion(column.unit, field);
    if (spelling->at_10_m) column.conversion.factor *= wind_at_2m_m_s(1.0, 10.0);
  } catch (const QuantityError& error) {
    mistakes.add({name, cell.line, header.unit_column}, fmt::format("{}: {}", field.name, error.what()));
  }
  return column;
}

std::string_view name_of(std::size_t meaning) {
  if (meaning < weather_fields.size()) return weather_fields[meaning].name;
  const auto found = std::find_if(std::begin(spellings), std::end(spellings),
                                  [&](const Spelling& s) { return s.meaning == meaning; });
  return found->text;
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

bool names_weather_or_date(std::string_view header_cell) {
  ColumnHeader header = column_header({std::string(header_cell), 1, 1});
  const Spelling* spelling = understood(header);
  return spelling != nullptr && (spelling->meaning <= year_column || spelling->meaning == day_of_year_column);
}

std::vector<WeatherColumn> read_weather_header(const CsvRow& header, const std::string& name,
                                               Mistakes& mistakes) {
  std::vector<WeatherColumn> columns;
  std::array<int, note_column> seen{};
  for (const CsvCell& cell : header) {
    columns.push_back(read_header_cell(cell, name, mistakes));
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
