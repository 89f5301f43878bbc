#include "scenarios/text/calendar.hpp"

#include <algorithm>
#include <array>
#include <cctype>

#include <fmt/format.h>

namespace stoverturn {
namespace {

using std::chrono::sys_days;
using std::chrono::year_month_day;

constexpr std::array<const char*, 12> month_names = {"January",   "February", "March",    "April",
                                                     "May",       "June",     "July",     "August",
                                                     "September", "October",  "November", "December"};

bool is_digits(std::string_view text) {
  return std::all_of(text.begin(), text.end(), [](unsigned char c) { return std::isdigit(c) != 0; });
}

int digits(std::string_view text) {
  int value = 0;
  for (const char c : text) value = 10 * value + (c - '0');
  return value;
}

int days_in(std::chrono::year_month month) {
  return static_cast<int>(static_cast<unsigned>((month / std::chrono::last).day()));
}

year_month_day split(sys_days day) { return year_month_day(day); }

}  // namespace

sys_days parse_date(std::string_view text) {
  const bool iso = text.size() == 10 && text[4] == '-' && text[7] == '-' && is_digits(text.substr(0, 4)) &&
                   is_digits(text.substr(5, 2)) && is_digits(text.substr(8, 2));
  if (!iso) throw DateError(fmt::format("'{}' is not a date in the form yyyy-mm-dd", text));
  return date_of(digits(text.substr(0, 4)), digits(text.substr(5, 2)), digits(text.substr(8, 2)), text);
}

sys_days date_of(int year, int month, int day, std::string_view found) {
  if (month < 1 || month > 12) {
    throw DateError(fmt::format("there is no day '{}': a month is 01 to 12", found));
  }
  const std::chrono::year_month in = std::chrono::year(year) / month;
  if (day < 1 || day > days_in(in)) {
    throw DateError(fmt::format("there is no day '{}': {} {} has {} days", found,
                                month_names[static_cast<std::size_t>(month - 1)], year, days_in(in)));
  }
  return sys_days(in / day);
}

sys_days parse_compact_date(std::string_view text) {
  if (text.size() != 8 || !is_digits(text)) {
    throw DateError(fmt::format("'{}' is not a date in the form yyyymmdd", text));
  }
  return date_of(digits(text.substr(0, 4)), digits(text.substr(4, 2)), digits(text.substr(6, 2)), text);
}

sys_days date_of_day(int year, int day) {
  const std::chrono::year in(year);
  if (day < 1 || day > (in.is_leap() ? 366 : 365)) {
    throw DateError(
        fmt::format("there is no day {} in {}: that year has {} days", day, year, in.is_leap() ? 366 : 365));
  }
  return sys_days(in / std::chrono::January / 1) + std::chrono::days(day - 1);
}

std::optional<std::chrono::month_day> parse_month_day(std::string_view text) {
  if (text.size() != 5 || text[2] != '-') return std::nullopt;
  if (!is_digits(text.substr(0, 2)) || !is_digits(text.substr(3))) return std::nullopt;
  const std::chrono::month_day day{std::chrono::month(static_cast<unsigned>(digits(text.substr(0, 2)))),
                                   std::chrono::day(static_cast<unsigned>(digits(text.substr(3))))};
  return day.ok() ? std::optional(day) : std::nullopt;
}

sys_days next_on_or_after(sys_days from, std::chrono::month_day day) {
  const sys_days same_year{split(from).year() / day};
  return same_year >= from ? same_year : sys_days{(split(from).year() + std::chrono::years(1)) / day};
}

std::string format_date(sys_days day) {
  const auto date = split(day);
  return fmt::format("{:04}-{:02}-{:02}", static_cast<int>(date.year()), static_cast<unsigned>(date.month()),
                     static_cast<unsigned>(date.day()));
}

std::string format_dates(sys_days first, sys_days last) {
  return fmt::format("{} to {}", format_date(first), format_date(last));
}

int year_of(sys_days day) { return static_cast<int>(split(day).year()); }

int day_of_year(sys_days day) {
  return static_cast<int>((day - sys_days(split(day).year() / std::chrono::January / 1)).count()) + 1;
}

sys_days same_day_in(int year, sys_days day) {
  const auto date = std::chrono::year(year) / split(day).month() / split(day).day();
  return date.ok() ? sys_days(date)
                   : sys_days(std::chrono::year(year) / split(day).month() / std::chrono::last);
}

}  // namespace stoverturn
