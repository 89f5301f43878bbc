#include "scenarios/weather/weather_checks.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/text/calendar.hpp"

namespace stoverturn {
namespace {

using std::chrono::sys_days;

constexpr double widest_range_C = 35.0;
constexpr double most_rain_mm = 250.0;
constexpr double farthest_from_season_C = 15.0;
constexpr double farthest_in_deviations = 3.0;
constexpr double least_days_for_season = 5 * 365.0;
constexpr double polar_night_deg = 60.0;
constexpr int longest_repetition_d = 10;
constexpr int fortnights = 26;
constexpr int earliest_year = 1700, latest_year = 2200;
constexpr std::size_t field_radiation = 3;

double value_of(const RawDay& day, std::size_t field) { return day.values[field].value; }

/// 0 to 25; the last one takes the odd days of the year.
std::size_t fortnight_of(sys_days day) {
  return static_cast<std::size_t>(std::min((day_of_year(day) - 1) / 14, fortnights - 1));
}

struct Season {
  double count = 0.0, sum = 0.0, squares = 0.0;

  void add(double value) {
    count += 1.0;
    sum += value;
    squares += value * value;
  }
  double mean() const { return sum / count; }
  double deviation() const { return std::sqrt(std::max(squares / count - mean() * mean(), 0.0)); }
};

void list_single_days(const RawWeather& raw, double latitude_deg, std::vector<SuspiciousDay>& list) {
  for (const auto& [day, values] : raw.days) {
    const double tmin = value_of(values, field_tmin), tmax = value_of(values, field_tmax);
    const double rain = value_of(values, field_rain);
    const auto add = [&, date = day, line = values.line](std::string what) {
      list.push_back({date, line, std::move(what)});
    };
    if (tmax - tmin > widest_range_C) add(fmt::format("daily range {:.1f} C", tmax - tmin));
    if (tmax == tmin) add(fmt::format("tmin and tmax are both {:.1f} degC", tmin));
    if (rain > most_rain_mm) add(fmt::format("rain {:.1f} mm", rain));
    if (value_of(values, field_radiation) == 0.0 && std::abs(latitude_deg) < polar_night_deg)
      add("radiation 0");
  }
}

void list_out_of_season(const RawWeather& raw, std::size_t field, std::vector<SuspiciousDay>& list) {
  std::array<Season, fortnights> seasons;
  for (const auto& [day, values] : raw.days) {
    if (!std::isnan(value_of(values, field))) seasons[fortnight_of(day)].add(value_of(values, field));
  }
  for (const auto& [day, values] : raw.days) {
    const Season& season = seasons[fortnight_of(day)];
    const double distance = value_of(values, field) - season.mean();
    const double limit = std::max(farthest_from_season_C, farthest_in_deviations * season.deviation());
    if (std::abs(distance) > limit) {
      list.push_back(
          {day, values.line,
           fmt::format("{} {:.1f} degC is {:.1f} C {} the mean of that fortnight", weather_fields[field].name,
                       value_of(values, field), std::abs(distance), distance > 0.0 ? "above" : "below")});
    }
  }
}

void list_repetitions(const RawWeather& raw, std::vector<SuspiciousDay>& list) {
  auto first = raw.days.begin();
  int length = 1;
  const auto finish = [&] {
    if (length <= longest_repetition_d) return;
    list.push_back({first->first, first->second.line,
                    fmt::format("the same tmin and tmax on {} days in a row", length)});
  };
  for (auto day = std::next(raw.days.begin()); day != raw.days.end(); ++day) {
    const bool next_day = day->first - std::prev(day)->first == std::chrono::days(1);
    const bool same = next_day && value_of(day->second, field_tmin) == value_of(first->second, field_tmin) &&
                      value_of(day->second, field_tmax) == value_of(first->second, field_tmax);
    if (same) {
      ++length;
      continue;
    }
    finish();
    first = day;
    length = 1;
  }
  finish();
}

}  // namespace

void check_days(const RawWeather& raw, const std::string& name, Mistakes& mistakes) {
  for (const auto& [day, values] : raw.days) {
    if (year_of(day) < earliest_year || year_of(day) > latest_year) {
      mistakes.add({name, values.line, 1}, fmt::format("the year of {} is impossible; possible are {} to {}",
                                                       format_date(day), earliest_year, latest_year));
    }
    const RawValue &low = values.values[field_tmin], &high = values.values[field_tmax];
    if (low.value > high.value) {
      mistakes.add({name, low.line, low.column},
                   fmt::format("tmin {:.1f} degC of {} is above tmax {:.1f} degC", low.value,
                               format_date(day), high.value));
    }
  }
}

std::vector<SuspiciousDay> suspicious_days(const RawWeather& raw, double latitude_deg) {
  std::vector<SuspiciousDay> list;
  list_single_days(raw, latitude_deg, list);
  if (static_cast<double>(raw.days.size()) >= least_days_for_season) {
    list_out_of_season(raw, field_tmin, list);
    list_out_of_season(raw, field_tmax, list);
  }
  if (!raw.days.empty()) list_repetitions(raw, list);
  std::stable_sort(list.begin(), list.end(),
                   [](const SuspiciousDay& a, const SuspiciousDay& b) { return a.day < b.day; });
  return list;
}

}  // namespace stoverturn
