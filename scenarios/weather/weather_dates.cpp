#include "scenarios/weather/weather_dates.hpp"

#include <array>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/text/calendar.hpp"

namespace stoverturn {
namespace {

using Slashed = std::array<int, 3>;

/// The three numbers of 5/31/2012; nothing for other text.
std::optional<Slashed> slashed(const std::string& text) {
  const std::size_t first = text.find('/'), second = text.find('/', first + 1);
  if (first == std::string::npos || second == std::string::npos || first > 2) return std::nullopt;
  Slashed parts{};
  const std::string_view texts[] = {std::string_view(text).substr(0, first),
                                    std::string_view(text).substr(first + 1, second - first - 1),
                                    std::string_view(text).substr(second + 1, 4)};
  for (std::size_t i = 0; i < parts.size(); ++i) {
    const auto value = number(texts[i]);
    if (!value || *value != std::floor(*value) || *value < 0.0 || *value > 9999.0) return std::nullopt;
    parts[i] = static_cast<int>(*value);
  }
  return texts[2].size() == 4 ? std::optional(parts) : std::nullopt;
}

}  // namespace

RowDates::RowDates(const std::vector<WeatherColumn>& columns, const std::vector<const CsvRow*>& rows,
                   const std::string& name, Mistakes& mistakes)
    : date_(place_of(columns, date_column)),
      year_(place_of(columns, year_column)),
      month_(place_of(columns, month_column)),
      day_(place_of(columns, day_column)),
      day_of_year_(place_of(columns, day_of_year_column)),
      name_(name),
      mistakes_(mistakes) {
  const std::size_t none = columns.size();
  if (date_ == none && day_of_year_ == none && month_ == none) day_of_year_ = day_;
  if (day_of_year_ == none) day_of_year_ = std::string::npos;
  if (date_ == none) {
    date_ = std::string::npos;
    return;
  }
  bool day_first = false, month_first = false;
  for (const CsvRow* row : rows) {
    const auto parts = slashed((*row)[date_].text);
    if (!parts) continue;
    day_first = day_first || (*parts)[0] > 12;
    month_first = month_first || (*parts)[1] > 12;
  }
  if (day_first != month_first) slashed_ = day_first ? Order::day_first : Order::month_first;
}

std::optional<std::chrono::sys_days> RowDates::read(const CsvRow& row) {
  const CsvCell& cell = cell_of(row);
  const Position at{name_, cell.line, cell.column};
  std::chrono::sys_days day;
  try {
    day = date_of_row(row);
  } catch (const DateError& error) {
    mistakes_.add(at, error.what());
    return std::nullopt;
  }
  const auto [place, is_new] = lines_.emplace(day, cell.line);
  if (!is_new) {
    mistakes_.add(at, fmt::format("{} stands twice; first in line {}", format_date(day), place->second));
    return std::nullopt;
  }
  if (previous_ && day < *previous_) {
    mistakes_.add(at, fmt::format("{} comes after {}; dates must be in order", format_date(day),
                                  format_date(*previous_)));
  }
  previous_ = day;
  return day;
}

const CsvCell& RowDates::cell_of(const CsvRow& row) const {
  return row[date_ != std::string::npos ? date_ : year_];
}

int RowDates::whole(const CsvRow& row, std::size_t column, const char* what) const {
  const auto value = number(row[column].text);
  if (!value || *value != std::floor(*value) || std::abs(*value) > 1e6) {
    throw DateError(fmt::format("{} '{}' is not a whole number", what, row[column].text));
  }
  return static_cast<int>(*value);
}

std::chrono::sys_days RowDates::date_of_row(const CsvRow& row) const {
  if (date_ != std::string::npos) return date_in(row[date_].text);
  const int year = whole(row, year_, "year");
  if (day_of_year_ != std::string::npos) return date_of_day(year, whole(row, day_of_year_, "day of year"));
  const int month = whole(row, month_, "month"), day = whole(row, day_, "day");
  return date_of(year, month, day, fmt::format("{:04}-{:02}-{:02}", year, month, day));
}

std::chrono::sys_days RowDates::date_in(const std::string& text) const {
  constexpr std::size_t iso = 10;
  if (const auto parts = slashed(text)) {
    if (slashed_ == Order::none) {
      throw DateError(fmt::format("'{}' does not tell day from month; write yyyy-mm-dd", text));
    }
    const bool day_first = slashed_ == Order::day_first;
    return date_of((*parts)[2], (*parts)[day_first ? 1 : 0], (*parts)[day_first ? 0 : 1], text);
  }
  if (text.size() == 8 && text.find_first_not_of("0123456789") == std::string::npos) {
    return parse_compact_date(text);
  }
  std::string date = text;
  if (date.size() > iso && (date[iso] == 'T' || date[iso] == ' ')) date.resize(iso);
  if (date.size() == iso && date[4] == '/' && date[7] == '/') date[4] = date[7] = '-';
  return parse_date(date);
}

void each_value(
    const std::vector<WeatherColumn>& columns, const std::vector<const CsvRow*>& rows,
    const std::string& name, Mistakes& mistakes,
    const std::function<void(const CsvCell&, const WeatherColumn&, std::chrono::sys_days)>& read) {
  RowDates dates(columns, rows, name, mistakes);
  for (const CsvRow* row : rows) {
    const auto day = dates.read(*row);
    if (!day) continue;
    for (std::size_t c = 0; c < columns.size(); ++c) {
      if (columns[c].meaning < weather_fields.size()) read((*row)[c], columns[c], *day);
    }
  }
}

}  // namespace stoverturn
