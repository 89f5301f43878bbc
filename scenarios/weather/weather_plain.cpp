#include "scenarios/weather/weather_plain.hpp"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <optional>

#include <fmt/format.h>

#include "scenarios/text/calendar.hpp"
#include "scenarios/text/csv_text.hpp"

namespace stoverturn {
namespace {

constexpr std::size_t date_column = weather_fields.size();
constexpr std::size_t note_column = date_column + 1;

struct Spelling {
  std::string_view text;  ///< lower case, words apart by one blank
  std::size_t meaning;    ///< index of a weather field, date_column or note_column
};

constexpr Spelling spellings_of_columns[] = {
    {"date", date_column},
    {"tmin", 0},
    {"tmax", 1},
    {"rain", 2},
    {"radiation", 3},
    {"wind", 4},
    {"humidity", 5},
    {"snow depth", 6},
    {"soil temperature", 7},
    {"soil moisture", 8},
    {"note", note_column},
    {"notes", note_column},
    {"t min", 0},
    {"min temp", 0},
    {"temp min", 0},
    {"temperature min", 0},
    {"min temperature", 0},
    {"minimum temperature", 0},
    {"temperature minimum", 0},
    {"t max", 1},
    {"max temp", 1},
    {"temp max", 1},
    {"temperature max", 1},
    {"max temperature", 1},
    {"maximum temperature", 1},
    {"temperature maximum", 1},
    {"rainfall", 2},
    {"precipitation", 2},
    {"precip", 2},
    {"solar radiation", 3},
    {"global radiation", 3},
    {"wind speed", 4},
    {"relative humidity", 5},
    {"snowdepth", 6},
    {"soil temp", 7},
    {"soil water content", 8},
};

std::string folded(std::string_view name) {
  std::string text;
  for (const char c : name) {
    const bool gap = c == '_' || c == '-' || c == ' ' || c == '\t';
    if (!gap) text += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    if (gap && !text.empty() && text.back() != ' ') text += ' ';
  }
  return std::string(trimmed(text));
}

std::optional<std::size_t> meaning_of(std::string_view name) {
  const std::string word = folded(name);
  for (const Spelling& spelling : spellings_of_columns) {
    if (spelling.text == word) return spelling.meaning;
  }
  return std::nullopt;
}

std::string unknown_column(std::string_view name) {
  std::vector<std::string> all, preferred;
  for (const Spelling& spelling : spellings_of_columns) {
    all.emplace_back(spelling.text);
    if (preferred.size() <= note_column) preferred.emplace_back(spelling.text);
  }
  const bool misspelt = !closest(folded(name), all).empty();
  return fmt::format("unknown column '{}'{}", name, did_you_mean(folded(name), misspelt ? all : preferred));
}

struct HeaderCell {
  std::string name;
  std::string unit;
  int unit_column = 0;
};

HeaderCell split_header(const CsvCell& cell) {
  const std::size_t opens = cell.text.find_first_of("[(");
  if (opens == std::string::npos) return {cell.text, "", cell.column};
  const std::size_t closes = cell.text.find_last_of("])");
  const std::size_t length = closes == std::string::npos || closes < opens ? closes : closes - opens - 1;
  return {std::string(trimmed(std::string_view(cell.text).substr(0, opens))),
          std::string(trimmed(std::string_view(cell.text).substr(opens + 1, length))),
          cell.column + static_cast<int>(opens) + 1};
}

struct Column {
  std::size_t meaning = note_column;
  std::string unit;
  double factor = 1.0;
  double offset = 0.0;
};

/// WeatherDay value = factor * number + offset
void set_conversion(Column& column) {
  const WeatherField& field = weather_fields[column.meaning];
  if (column.unit == field.unit) return;
  if (field.kind == Kind::temperature) {
    column.offset = quantity("0 " + column.unit, field.kind).value;
    column.factor = (quantity("100 " + column.unit, field.kind).value - column.offset) / 100.0;
  } else {
    column.factor = unit_factor(column.unit, field.kind);
  }
}

std::string wanted_unit(const WeatherField& field) {
  return field.other_unit.empty() ? fmt::format("{0} needs a unit: write {0} [{1}]", field.name, field.unit)
                                  : fmt::format("{0} needs a unit: write {0} [{1}] or {0} [{2}]", field.name,
                                                field.unit, field.other_unit);
}

Column read_header_cell(const CsvCell& cell, const std::string& name, Mistakes& mistakes) {
  const Position at{name, cell.line, cell.column};
  const HeaderCell header = split_header(cell);
  if (header.name.empty()) {
    mistakes.add(at, "this column has no name");
    return {};
  }
  const auto meaning = meaning_of(header.name);
  if (!meaning) {
    mistakes.add(at, unknown_column(header.name));
    return {};
  }
  Column column{*meaning, header.unit};
  if (column.meaning >= weather_fields.size()) return column;
  if (column.unit.empty()) {
    mistakes.add(at, wanted_unit(weather_fields[column.meaning]));
    return column;
  }
  try {
    set_conversion(column);
  } catch (const QuantityError& error) {
    mistakes.add({name, cell.line, header.unit_column},
                 fmt::format("{}: {}", weather_fields[column.meaning].name, error.what()));
  }
  return column;
}

std::vector<Column> read_header(const CsvRow& row, const std::string& name, Mistakes& mistakes) {
  std::vector<Column> columns;
  std::vector<std::string> missing;
  std::array<int, note_column> seen{};
  for (const CsvCell& cell : row) {
    columns.push_back(read_header_cell(cell, name, mistakes));
    const std::size_t meaning = columns.back().meaning;
    if (meaning >= note_column) continue;
    if (seen[meaning] != 0) {
      mistakes.add(
          {name, cell.line, cell.column},
          fmt::format("the column {} stands twice; first at column {}",
                      meaning == date_column ? "date" : weather_fields[meaning].name, seen[meaning]));
    } else {
      seen[meaning] = cell.column;
    }
  }
  const Position at{name, row.front().line, 1};
  if (seen[date_column] == 0) mistakes.add(at, "there is no column 'date'");
  for (std::size_t field = 0; field < required_fields; ++field) {
    if (seen[field] != 0) continue;
    const WeatherField& wanted = weather_fields[field];
    mistakes.add(at, fmt::format("there is no column '{}'; write {} [{}] or {} [{}]", wanted.name,
                                 wanted.name, wanted.unit, wanted.name, wanted.other_unit));
  }
  return columns;
}

bool is_missing(std::string_view text) { return text.empty() || text == "NA"; }

void read_value(const CsvCell& cell, const Column& column, std::chrono::sys_days day, const std::string& name,
                RawWeather& raw, Mistakes& mistakes) {
  if (is_missing(cell.text)) return;
  const WeatherField& field = weather_fields[column.meaning];
  const Position at{name, cell.line, cell.column};
  const auto read = number(cell.text);
  if (!read) {
    const bool trace = column.meaning == field_rain && (cell.text == "T" || cell.text == "t");
    mistakes.add(at, fmt::format("{} '{}' is not a number{}", field.name, cell.text,
                                 trace ? "; write 0 for a trace"
                                       : "; leave the cell empty when nothing was measured"));
    return;
  }
  store(raw, mistakes, day, column.meaning, column.factor * *read + column.offset,
        fmt::format("{} {}", cell.text, column.unit), at);
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
  const std::string key = folded(text.substr(0, colon));
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

/// Follows the order of the dates; nothing when this one cannot be used.
class DateColumn {
 public:
  DateColumn(const std::string& name, Mistakes& mistakes) : name_(name), mistakes_(mistakes) {}

  std::optional<std::chrono::sys_days> read(const CsvCell& cell) {
    const Position at{name_, cell.line, cell.column};
    std::chrono::sys_days day;
    try {
      day = parse_date(cell.text);
    } catch (const DateError& error) {
      mistakes_.add(at, error.what());
      return std::nullopt;
    }
    const auto [place, is_new] = lines_.emplace(day, cell.line);
    if (!is_new) {
      mistakes_.add(at, fmt::format("{} stands twice; first in line {}", cell.text, place->second));
      return std::nullopt;
    }
    if (previous_ && day < *previous_) {
      mistakes_.add(
          at, fmt::format("{} comes after {}; dates must be in order", cell.text, format_date(*previous_)));
    }
    previous_ = day;
    return day;
  }

 private:
  const std::string& name_;
  Mistakes& mistakes_;
  std::map<std::chrono::sys_days, int> lines_;
  std::optional<std::chrono::sys_days> previous_;
};

}  // namespace

bool is_plain_weather(std::string_view text) {
  std::string_view row = first_row_of(text);
  while (!row.empty()) {
    const std::size_t end = std::min(row.find_first_of(",;\t"), row.size());
    std::string_view cell = trimmed(row.substr(0, end));
    if (!cell.empty() && cell.front() == '"') cell = cell.substr(1, cell.find('"', 1) - 1);
    if (meaning_of(trimmed(cell.substr(0, cell.find_first_of("[("))))) return true;
    row.remove_prefix(std::min(end + 1, row.size()));
  }
  return false;
}

RawWeather read_plain_weather(std::string_view text, const std::string& name, const std::string& /*station*/,
                              Mistakes& mistakes) {
  const CsvText csv = read_csv(text, name);
  RawWeather raw;
  for (const CsvCell& comment : csv.comments) read_comment(comment, name, raw, mistakes);
  if (csv.rows.empty()) {
    mistakes.add({name}, "there is no header and no row");
    return raw;
  }
  const CsvRow& header = csv.rows.front();
  if (header.size() == 1) {
    const bool semicolons = header.front().text.find(';') != std::string::npos;
    const bool tabs = header.front().text.find('\t') != std::string::npos;
    if (semicolons || tabs) {
      throw InputError(
          {{{name, header.front().line, 1},
            fmt::format("the columns are separated by {}; separate them by commas and write numbers "
                        "with a point",
                        semicolons ? "semicolons" : "tabs")}});
    }
  }
  Mistakes header_mistakes;
  const std::vector<Column> columns = read_header(header, name, header_mistakes);
  try {
    header_mistakes.throw_if_any();
  } catch (const InputError& error) {
    mistakes.add(error);
    return raw;
  }
  const auto is_date = [](const Column& column) { return column.meaning == date_column; };
  const auto date_at =
      static_cast<std::size_t>(std::find_if(columns.begin(), columns.end(), is_date) - columns.begin());
  DateColumn dates(name, mistakes);
  for (std::size_t r = 1; r < csv.rows.size(); ++r) {
    const CsvRow& row = csv.rows[r];
    if (row.size() != columns.size()) {
      mistakes.add({name, row.front().line, 1},
                   fmt::format("this row has {} cells, the header has {}", row.size(), columns.size()));
      continue;
    }
    const auto day = dates.read(row[date_at]);
    if (!day) continue;
    for (std::size_t c = 0; c < columns.size(); ++c) {
      if (columns[c].meaning < weather_fields.size())
        read_value(row[c], columns[c], *day, name, raw, mistakes);
    }
  }
  return raw;
}

std::string write_plain_weather(const Weather& weather) {
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
  text += "date";
  for (const WeatherField* column : columns) text += fmt::format(",{} [{}]", column->name, column->unit);
  text += '\n';
  auto date = weather.start;
  for (const WeatherDay& day : weather.days) {
    text += format_date(date);
    for (const WeatherField* column : columns) {
      const double value = day.*(column->member);
      text += std::isnan(value) ? "," : fmt::format(",{}", value);
    }
    text += '\n';
    date += std::chrono::days(1);
  }
  return text;
}

}  // namespace stoverturn
