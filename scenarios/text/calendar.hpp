#pragma once
#include <chrono>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>

namespace stoverturn {

/// Text that names no day. The message says what was found and what was wanted.
struct DateError : std::runtime_error {
  using std::runtime_error::runtime_error;
};

/// Reads an ISO 8601 calendar date, yyyy-mm-dd and nothing else. Throws DateError.
std::chrono::sys_days parse_date(std::string_view text);

/// The day of year, month, day; throws DateError naming `found` when there is no such day.
std::chrono::sys_days date_of(int year, int month, int day, std::string_view found);

/// Reads yyyymmdd. Throws DateError.
std::chrono::sys_days parse_compact_date(std::string_view text);

/// Day 1 to 365, or 366, of `year`; throws DateError when the year has no such day.
std::chrono::sys_days date_of_day(int year, int day_of_year);

/// "05-05" as a month and day; nothing when it is none.
std::optional<std::chrono::month_day> parse_month_day(std::string_view text);

/// The first such day on or after `from`. 29 February counts as 1 March where there is none.
std::chrono::sys_days next_on_or_after(std::chrono::sys_days from, std::chrono::month_day day);

/// "2012-02-29"
std::string format_date(std::chrono::sys_days day);

/// "2012-02-29 to 2012-03-04"
std::string format_dates(std::chrono::sys_days first, std::chrono::sys_days last);

int year_of(std::chrono::sys_days day);

/// 1 on 1 January, 366 on 31 December of a leap year.
int day_of_year(std::chrono::sys_days day);

/// The same month and day in `year`; 29 February becomes 28 February where there is none.
std::chrono::sys_days same_day_in(int year, std::chrono::sys_days day);

}  // namespace stoverturn
