#include "scenarios/weather/weather_years.hpp"

#include <algorithm>

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <boost/random/uniform_int_distribution.hpp>

#include "engine/random_stream.hpp"
#include "scenarios/text/calendar.hpp"
#include "scenarios/text/mistakes.hpp"

namespace stoverturn {
namespace {

using std::chrono::days;
using std::chrono::sys_days;

constexpr int fewest_days_to_repeat = 365;

sys_days last_day(const Weather& weather) {
  return weather.start + days(static_cast<int>(weather.days.size()) - 1);
}

/// Number of the record-year that holds `day`, 0 for the one that begins at `start`.
int year_since(sys_days start, sys_days day) {
  const int years = year_of(day) - year_of(start);
  return day < anniversary(start, years) ? years - 1 : years;
}

sys_days repeated_day(const Weather& weather, sys_days day, int years, YearsBeyond beyond) {
  const sys_days begins = anniversary(weather.start, year_for(year_since(weather.start, day), years, beyond));
  sys_days source = same_day_in(year_of(begins), day);
  if (source < begins) source = same_day_in(year_of(begins) + 1, day);
  return std::min(source, last_day(weather));
}

void require_a_year(const Weather& weather, sys_days first, sys_days last) {
  const auto held = static_cast<int>(weather.days.size());
  if (held >= fewest_days_to_repeat) return;
  throw InputError(
      {{{"weather"},
        fmt::format("the record holds {} days{}; weather is wanted for {}, and only a record of at "
                    "least {} days can be repeated",
                    held, held > 0 ? " (" + format_dates(weather.start, last_day(weather)) + ")" : "",
                    format_dates(first, last), fewest_days_to_repeat)}});
}

/// That of the record on the day, else of the one that stands for it.
const WeatherDay& weather_on(const Weather& weather, sys_days day, int years, YearsBeyond beyond) {
  const bool inside = day >= weather.start && day <= last_day(weather);
  const sys_days source = inside ? day : repeated_day(weather, day, years, beyond);
  return weather.days[static_cast<std::size_t>((source - weather.start).count())];
}

}  // namespace

sys_days anniversary(sys_days start, int years) {
  const std::chrono::year_month_day date(start);
  const auto moved = date + std::chrono::years(years);
  return moved.ok() ? sys_days(moved) : sys_days(moved.year() / std::chrono::March / 1);
}

int whole_years(const Weather& weather) {
  if (weather.days.empty()) return 0;
  return year_since(weather.start, last_day(weather) + days(1));
}

int year_for(int number, int years, YearsBeyond beyond) {
  if (!beyond) return (number % years + years) % years;
  RandomStream stream =
      random_stream(*beyond, "weather years", static_cast<std::uint64_t>(static_cast<std::int64_t>(number)));
  return boost::random::uniform_int_distribution<int>(0, years - 1)(stream);
}

Weather extended(const Weather& weather, sys_days first, sys_days last, bool& looped, YearsBeyond beyond) {
  looped = weather.days.empty() || first < weather.start || last > last_day(weather);
  if (looped) require_a_year(weather, first, last);
  const int years = std::max(whole_years(weather), 1);
  Weather longer = weather;
  longer.start = first;
  longer.days.clear();
  for (sys_days day = first; day <= last; day += days(1)) {
    longer.days.push_back(weather_on(weather, day, years, beyond));
  }
  return longer;
}

Weather weather_of_years_on(const Weather& weather, sys_days first, sys_days last, int years,
                            YearsBeyond beyond) {
  require_a_year(weather, first, last);
  const int held = std::max(whole_years(weather), 1);
  Weather moved = weather;
  moved.start = first;
  moved.days.clear();
  for (sys_days day = first; day <= last; day += days(1)) {
    moved.days.push_back(weather_on(weather, same_day_in(year_of(day) + years, day), held, beyond));
  }
  return moved;
}

std::string drawn_years(const Weather& weather, sys_days first, sys_days last, std::uint64_t seed) {
  const int years = std::max(whole_years(weather), 1), begins = year_of(weather.start);
  std::vector<std::string> pairs;
  for (int number = year_since(weather.start, first); number <= year_since(weather.start, last); ++number) {
    const sys_days from = anniversary(weather.start, number), to = anniversary(weather.start, number + 1);
    const bool inside = from >= weather.start && to <= last_day(weather) + days(1);
    if (!inside) {
      pairs.push_back(fmt::format("{} as {}", begins + number, begins + year_for(number, years, seed)));
    }
  }
  const std::string begin = format_date(weather.start).substr(5);
  return fmt::format("{}{}", begin == "01-01" ? "" : fmt::format("years from {} on, ", begin),
                     fmt::join(pairs, ", "));
}

}  // namespace stoverturn
