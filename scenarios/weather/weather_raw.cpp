#include "scenarios/weather/weather_raw.hpp"

#include <cmath>

#include <fmt/format.h>

#include "scenarios/text/calendar.hpp"

namespace stoverturn {

void store(RawWeather& raw, Mistakes& mistakes, std::chrono::sys_days day, std::size_t field, double value,
           std::string_view found, const Position& at, std::string_view advice) {
  const WeatherField& row = weather_fields[field];
  if (value < row.lowest || value > row.highest) {
    mistakes.add(at, fmt::format("{} {} is impossible; possible are {} to {} {}{}", row.name, found,
                                 row.lowest, row.highest, row.unit, advice));
  }
  RawDay& stored = raw.days[day];
  RawValue& slot = stored.values[field];
  if (!std::isnan(slot.value)) {
    mistakes.add(
        at, fmt::format("{} of {} stands twice; first in line {}", row.name, format_date(day), slot.line));
    return;
  }
  if (stored.line == 0) stored.line = at.line;
  slot = {value, at.line, at.column};
}

}  // namespace stoverturn
