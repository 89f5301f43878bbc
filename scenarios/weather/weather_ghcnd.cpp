#include "scenarios/weather/weather_ghcnd.hpp"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <optional>
#include <vector>

#include <fmt/format.h>

#include "engine/evapotranspiration.hpp"
#include "scenarios/text/calendar.hpp"
#include "scenarios/text/csv_text.hpp"
#include "scenarios/weather/station_choice.hpp"

namespace stoverturn {
namespace {

constexpr int missing_code = -9999;
constexpr int days_in_line = 31;
constexpr std::size_t head_width = 21, value_width = 5, day_width = 8;
constexpr std::size_t shortest_line = head_width + (days_in_line - 1) * day_width + value_width;

struct Element {
  std::string_view name;
  std::size_t field;
  double per_unit;  ///< counts in one unit of the WeatherDay value
  std::string_view unit;
};

const Element elements[] = {
    {"TMIN", 0, 10.0, "tenths of degC"}, {"TMAX", 1, 10.0, "tenths of degC"},
    {"PRCP", 2, 10.0, "tenths of mm"},   {"SNWD", 6, 1.0, "mm"},
    {"AWND", 4, 10.0, "tenths of m/s"},  {"RHAV", 5, 1.0, "%"},
};

const Element* element_named(std::string_view name) {
  const auto found = std::find_if(std::begin(elements), std::end(elements),
                                  [&](const Element& e) { return e.name == name; });
  return found == std::end(elements) ? nullptr : found;
}

bool all(std::string_view text, int (*is)(int)) {
  return std::all_of(text.begin(), text.end(), [is](unsigned char c) { return is(c) != 0; });
}

std::optional<int> whole_number(std::string_view text) {
  const auto value = number(trimmed(text));
  if (!value || *value != std::floor(*value) || std::abs(*value) > 1e6) return std::nullopt;
  return static_cast<int>(*value);
}

bool is_station(std::string_view text) {
  return text.size() == 11 && text.find_first_of(" ,") == std::string_view::npos &&
         std::isalpha(static_cast<unsigned char>(text[0])) != 0;
}

bool is_element(std::string_view text) { return text.size() == 4 && all(text, std::isalnum); }

bool looks_fixed_width(std::string_view line) {
  return line.size() >= head_width + value_width && is_station(line.substr(0, 11)) &&
         all(line.substr(11, 6), std::isdigit) && is_element(line.substr(17, 4));
}

bool is_header(const CsvRow& row) { return row.size() > 2 && row[0].text == "ID" && row[1].text == "DATE"; }

struct Line {
  std::string_view text;
  int number;
};

std::vector<Line> lines_of(std::string_view text) {
  std::vector<Line> lines;
  for (int count = 1; !text.empty(); ++count) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    std::string_view line = text.substr(0, end);
    if (!line.empty() && line.back() == '\r') line.remove_suffix(1);
    if (!trimmed(line).empty()) lines.push_back({line, count});
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  return lines;
}

struct Reading {
  const Element& element;
  int value;
  char quality_flag;
};

void take(const Reading& reading, std::chrono::sys_days day, const Position& at, RawWeather& raw,
          Mistakes& mistakes) {
  if (reading.quality_flag != ' ') {
    ++raw.flagged_values;
    return;
  }
  const double value = reading.value / reading.element.per_unit;
  store(raw, mistakes, day, reading.element.field,
        reading.element.name == "AWND" ? wind_at_2m_m_s(value, 10.0) : value,
        fmt::format("{} ({})", reading.value, reading.element.unit), at);
}

void read_month(const Line& line, const Element& element, const std::string& name, RawWeather& raw,
                Mistakes& mistakes) {
  if (line.text.size() < shortest_line) {
    mistakes.add({name, line.number, 1},
                 fmt::format("this line is cut: it has {} characters, 31 days need {}", line.text.size(),
                             shortest_line));
    return;
  }
  const int year = whole_number(line.text.substr(11, 4)).value_or(0);
  const int month = whole_number(line.text.substr(15, 2)).value_or(0);
  for (int day = 1; day <= days_in_line; ++day) {
    const std::size_t start = head_width + static_cast<std::size_t>(day - 1) * day_width;
    const Position at{name, line.number, static_cast<int>(start) + 1};
    const auto value = whole_number(line.text.substr(start, value_width));
    if (!value) {
      mistakes.add(at, fmt::format("{} '{}' of day {} is not a whole number", element.name,
                                   line.text.substr(start, value_width), day));
      continue;
    }
    if (*value == missing_code) continue;
    const char quality = line.text.size() > start + 6 ? line.text[start + 6] : ' ';
    try {
      take({element, *value, quality},
           date_of(year, month, day, fmt::format("{:04}-{:02}-{:02}", year, month, day)), at, raw, mistakes);
    } catch (const DateError& error) {
      mistakes.add(at, error.what());
    }
  }
}

void read_row(const CsvRow& row, const std::string& name, StationChoice& stations, RawWeather& raw,
              Mistakes& mistakes) {
  if (row.size() != 7 && row.size() != 8) {
    mistakes.add(
        {name, row.front().line, 1},
        fmt::format(
            "this row has {} cells; wanted are 8: station, date, element, value, three flags and time",
            row.size()));
    return;
  }
  if (!stations.is_wanted(row[0].text)) return;
  const Element* element = element_named(row[2].text);
  if (element == nullptr) return;
  const Position at{name, row[3].line, row[3].column};
  const auto value = whole_number(row[3].text);
  if (!value) {
    mistakes.add(at, fmt::format("{} '{}' is not a whole number", element->name, row[3].text));
    return;
  }
  if (*value == missing_code) return;
  try {
    take({*element, *value, row[5].text.empty() ? ' ' : row[5].text[0]}, parse_compact_date(row[1].text), at,
         raw, mistakes);
  } catch (const DateError& error) {
    mistakes.add({name, row[1].line, row[1].column}, error.what());
  }
}

}  // namespace

bool is_ghcnd_fixed_width(std::string_view text) {
  const auto lines = lines_of(text.substr(0, 1000));
  return !lines.empty() && looks_fixed_width(lines.front().text);
}

RawWeather read_ghcnd_fixed_width(std::string_view text, const std::string& name,
                                  const WeatherOptions& options, Mistakes& mistakes) {
  RawWeather raw;
  StationChoice stations(options.station);
  for (const Line& line : lines_of(text)) {
    if (!looks_fixed_width(line.text)) {
      mistakes.add(
          {name, line.number, 1},
          "this line does not begin with station (11 characters), year (4), month (2), element (4) and a "
          "value (5)");
      continue;
    }
    if (!stations.is_wanted(line.text.substr(0, 11))) continue;
    if (const Element* element = element_named(line.text.substr(17, 4))) {
      read_month(line, *element, name, raw, mistakes);
    }
  }
  stations.check(name, mistakes);
  return raw;
}

bool is_ghcnd_by_station(std::string_view text) {
  const std::size_t first_line = std::min(text.find('\n'), text.size());
  try {
    const CsvText csv = read_csv(text.substr(0, first_line), "");
    if (csv.rows.empty()) return false;
    const CsvRow& row = csv.rows.front();
    return is_header(row) || (row.size() >= 4 && is_station(row[0].text) && row[1].text.size() == 8 &&
                              all(row[1].text, std::isdigit) && is_element(row[2].text));
  } catch (const InputError&) {
    return false;
  }
}

RawWeather read_ghcnd_by_station(std::string_view text, const std::string& name,
                                 const WeatherOptions& options, Mistakes& mistakes) {
  const CsvText csv = read_csv(text, name);
  RawWeather raw;
  StationChoice stations(options.station);
  for (const CsvRow& row : csv.rows) {
    if (!is_header(row)) read_row(row, name, stations, raw, mistakes);
  }
  stations.check(name, mistakes);
  return raw;
}

}  // namespace stoverturn
