#include "scenarios/weather/filled_gap.hpp"

#include <fmt/format.h>

#include "scenarios/text/calendar.hpp"
#include "scenarios/text/csv_text.hpp"

namespace stoverturn {

using std::chrono::days;

std::string to_string(const FilledGap& gap) {
  const std::string dates =
      gap.days == 1 ? format_date(gap.first) : format_dates(gap.first, gap.first + days(gap.days - 1));
  return fmt::format("{} {}", dates, gap.what);
}

std::optional<FilledGap> read_filled_gap(std::string_view text) {
  constexpr std::size_t date = 10;
  constexpr std::string_view to = " to ";
  try {
    FilledGap gap{parse_date(text.substr(0, date)), 1, ""};
    std::string_view rest = text.substr(date);
    if (rest.substr(0, to.size()) == to) {
      gap.days = static_cast<int>((parse_date(rest.substr(to.size(), date)) - gap.first).count()) + 1;
      rest = rest.substr(to.size() + date);
    }
    gap.what = std::string(trimmed(rest));
    if (gap.days < 1 || gap.what.empty()) return std::nullopt;
    return gap;
  } catch (const DateError&) {
    return std::nullopt;
  }
}

}  // namespace stoverturn
