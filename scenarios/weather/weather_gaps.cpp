#include "scenarios/weather/weather_gaps.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/text/calendar.hpp"

namespace stoverturn {
namespace {

using std::chrono::days;
using std::chrono::sys_days;

struct Gap {
  std::size_t first = 0;
  std::size_t days = 0;
};

std::vector<Gap> gaps_of(const std::vector<WeatherDay>& series, double WeatherDay::*member) {
  std::vector<Gap> gaps;
  for (std::size_t i = 0; i < series.size(); ++i) {
    if (!std::isnan(series[i].*member)) continue;
    const bool continues = !gaps.empty() && gaps.back().first + gaps.back().days == i;
    if (continues) ++gaps.back().days;
    if (!continues) gaps.push_back({i, 1});
  }
  return gaps;
}

void fill_line(std::vector<WeatherDay>& series, const Gap& gap, double WeatherDay::*member) {
  const double before = series[gap.first - 1].*member;
  const double after = series[gap.first + gap.days].*member;
  for (std::size_t i = 0; i < gap.days; ++i) {
    const double share = static_cast<double>(i + 1) / static_cast<double>(gap.days + 1);
    series[gap.first + i].*member = before + (after - before) * share;
  }
}

double usual_rain(const Weather& measured, const Gap& gap) {
  const auto count = static_cast<int>(measured.days.size());
  const int first_year = year_of(measured.start);
  const int last_year = year_of(measured.start + days(count - 1));
  double sum = 0.0;
  int found = 0;
  for (std::size_t i = 0; i < gap.days; ++i) {
    const sys_days day = measured.start + days(gap.first + i);
    for (int year = first_year; year <= last_year; ++year) {
      const auto at = (same_day_in(year, day) - measured.start).count();
      if (year == year_of(day) || at < 0 || at >= count) continue;
      const double rain = measured.days[static_cast<std::size_t>(at)].rain_mm;
      if (std::isnan(rain)) continue;
      sum += rain;
      ++found;
    }
  }
  return found > 0 ? sum / found : 0.0;
}

using GapNames = std::map<std::pair<std::size_t, std::size_t>, std::vector<std::string_view>>;

GapNames find_gaps(const Weather& weather) {
  GapNames names;
  for (std::size_t field = 0; field < required_fields; ++field) {
    for (const Gap& gap : gaps_of(weather.days, weather_fields[field].member)) {
      names[{gap.first, gap.days}].push_back(weather_fields[field].name);
    }
  }
  return names;
}

bool is_last_of_leap_year(sys_days day) { return day_of_year(day) == 366; }

bool has_required(const WeatherDay& day) {
  return std::none_of(weather_fields.begin(), weather_fields.begin() + required_fields,
                      [&](const WeatherField& field) { return std::isnan(day.*field.member); });
}

bool has_none_required(const WeatherDay& day) {
  return std::all_of(weather_fields.begin(), weather_fields.begin() + required_fields,
                     [&](const WeatherField& field) { return std::isnan(day.*field.member); });
}

}  // namespace

std::vector<FilledGap> fill_calendar(Weather& weather) {
  if (is_last_of_leap_year(weather.start + days(weather.days.size()))) weather.days.emplace_back();
  std::vector<FilledGap> filled;
  for (std::size_t i = 1; i < weather.days.size(); ++i) {
    WeatherDay& day = weather.days[i];
    if (!is_last_of_leap_year(weather.start + days(i)) || !has_none_required(day)) continue;
    const WeatherDay& before = weather.days[i - 1];
    const WeatherDay& after = i + 1 < weather.days.size() ? weather.days[i + 1] : before;
    if (!has_required(before) || !has_required(after)) continue;
    day.tmin_C = 0.5 * (before.tmin_C + after.tmin_C);
    day.tmax_C = 0.5 * (before.tmax_C + after.tmax_C);
    day.rain_mm = usual_rain(weather, {i, 1});
    filled.push_back(
        {weather.start + days(i), 1, fmt::format("tmin, tmax, rain ({})", calendar_of_365_days)});
  }
  return filled;
}

void refuse_long_gaps(const RawWeather& raw, const Weather& weather, int longest_d, const std::string& name,
                      Mistakes& mistakes) {
  for (const auto& [gap, what] : find_gaps(weather)) {
    if (static_cast<int>(gap.second) <= longest_d) continue;
    const sys_days first = weather.start + days(gap.first);
    const RawDay& row = std::prev(raw.days.upper_bound(first))->second;  // that day or the last one before it
    const sys_days last = first + days(gap.second - 1);
    const std::string when = first == last ? "on " + format_date(first) : "from " + format_dates(first, last);
    mistakes.add({name, row.line, 1}, fmt::format("no {} {}; a gap of {} day{} is longer than the {} allowed",
                                                  fmt::join(what, ", "), when, gap.second,
                                                  gap.second == 1 ? "" : "s", std::max(longest_d, 0)));
  }
}

std::vector<FilledGap> fill_gaps(Weather& weather) {
  std::vector<FilledGap> filled;
  for (const auto& [gap, what] : find_gaps(weather)) {
    filled.push_back({weather.start + days(gap.first), static_cast<int>(gap.second),
                      fmt::format("{}", fmt::join(what, ", "))});
  }
  const Weather measured = weather;
  for (const auto member : {&WeatherDay::tmin_C, &WeatherDay::tmax_C}) {
    for (const Gap& gap : gaps_of(measured.days, member)) fill_line(weather.days, gap, member);
  }
  for (const Gap& gap : gaps_of(measured.days, &WeatherDay::rain_mm)) {
    const double rain = usual_rain(measured, gap);
    for (std::size_t i = 0; i < gap.days; ++i) weather.days[gap.first + i].rain_mm = rain;
  }
  for (std::size_t i = 0; i < weather.days.size(); ++i) {
    WeatherDay& day = weather.days[i];
    if (std::isnan(measured.days[i].tmin_C)) day.tmin_C = std::min(day.tmin_C, day.tmax_C);
    if (std::isnan(measured.days[i].tmax_C)) day.tmax_C = std::max(day.tmax_C, day.tmin_C);
  }
  return filled;
}

}  // namespace stoverturn
