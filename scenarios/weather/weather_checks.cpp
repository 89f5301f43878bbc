#include "scenarios/weather/weather_checks.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/text/calendar.hpp"
#include "scenarios/weather/weather_years.hpp"

namespace stoverturn {
namespace {

using std::chrono::sys_days;
using Why = SuspiciousDay::Why;

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
constexpr double coldest_warmest_month_C = 10.0, hottest_month_C = 45.0;
constexpr double least_rain_mm_a_year = 60.0, most_rain_mm_a_year = 6000.0;

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
    const auto add = [&, date = day, line = values.line](Why why, double value) {
      SuspiciousDay& entry = list.emplace_back();
      entry.day = date;
      entry.line = line;
      entry.why = why;
      entry.value = value;
    };
    const double radiation = value_of(values, field_radiation);
    if (tmax - tmin > widest_range_C) add(Why::wide_range, tmax - tmin);
    if (tmax == tmin) add(Why::no_range, tmin);
    if (rain > most_rain_mm) add(Why::much_rain, rain);
    if (radiation == 0.0 && std::abs(latitude_deg) < polar_night_deg) add(Why::no_radiation, radiation);
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
      list.push_back({day, values.line, Why::out_of_season, value_of(values, field), distance, field, 0});
    }
  }
}

void list_repetitions(const RawWeather& raw, std::vector<SuspiciousDay>& list) {
  auto first = raw.days.begin();
  int length = 1;
  const auto finish = [&] {
    if (length <= longest_repetition_d) return;
    list.push_back(
        {first->first, first->second.line, Why::repetition, not_measured, not_measured, field_tmin, length});
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

struct MonthMean {
  std::chrono::sys_days first{};
  double temperature_C = not_measured;
};

/// Of the whole calendar months, the one with the highest mean temperature.
MonthMean warmest_month(const Weather& weather) {
  MonthMean warmest;
  double sum = 0.0;
  int days = 0;
  sys_days date = weather.start;
  for (const WeatherDay& day : weather.days) {
    const std::chrono::year_month_day ymd(date);
    if (ymd.day() == std::chrono::day(1)) sum = days = 0;
    sum += 0.5 * (day.tmin_C + day.tmax_C);
    ++days;
    date += std::chrono::days(1);
    const bool ends = std::chrono::year_month_day(date).month() != ymd.month();
    const double mean = sum / days;
    if (ends && days == static_cast<int>(static_cast<unsigned>(ymd.day())) &&
        !(mean <= warmest.temperature_C)) {
      warmest = {date - std::chrono::days(days), mean};
    }
  }
  return warmest;
}

std::string temperature_text(double C, bool us) {
  return us ? fmt::format("{:.1f} degF", in_unit(C, "degF", Kind::temperature))
            : fmt::format("{:.1f} degC", C);
}

}  // namespace

std::string to_string(const SuspiciousDay& day, bool us) {
  const auto difference = [us](double C) {
    return fmt::format("{:.1f} {}", us ? 1.8 * C : C, us ? "F" : "C");
  };
  switch (day.why) {
    case Why::wide_range:
      return "daily range " + difference(day.value);
    case Why::no_range:
      return "tmin and tmax are both " + temperature_text(day.value, us);
    case Why::much_rain:
      return us ? fmt::format("rain {:.2f} in", in_unit(day.value, "in", Kind::length))
                : fmt::format("rain {:.1f} mm", day.value);
    case Why::no_radiation:
      return "radiation 0";
    case Why::out_of_season:
      return fmt::format("{} {} is {} {} the mean of that fortnight", weather_fields[day.field].name,
                         temperature_text(day.value, us), difference(std::abs(day.distance)),
                         day.distance > 0.0 ? "above" : "below");
    case Why::repetition:
      return fmt::format("the same tmin and tmax on {} days in a row", day.days);
  }
  return "";
}

std::vector<std::string> doubts_of(const Weather& weather, bool us) {
  std::vector<std::string> doubts;
  const int years = whole_years(weather);
  if (years == 0) return doubts;
  const auto doubt = [&](std::string_view what, std::string_view which) {
    doubts.push_back(fmt::format("{}; are the units of {} the right ones?", what, which));
  };
  const MonthMean warmest = warmest_month(weather);
  const std::string mean =
      fmt::format("the warmest month, {}, has a mean of {}", format_date(warmest.first).substr(0, 7),
                  temperature_text(warmest.temperature_C, us));
  if (warmest.temperature_C < coldest_warmest_month_C) doubt(mean + ", too cold for corn", "tmin and tmax");
  if (warmest.temperature_C > hottest_month_C) doubt(mean + ", hotter than any known", "tmin and tmax");

  const auto days = static_cast<std::size_t>((anniversary(weather.start, years) - weather.start).count());
  double rain_mm = 0.0;
  for (std::size_t i = 0; i < days; ++i) rain_mm += weather.days[i].rain_mm / years;
  const std::string rain = us ? fmt::format("{:.1f} in of rain a year", in_unit(rain_mm, "in", Kind::length))
                              : fmt::format("{:.0f} mm of rain a year", rain_mm);
  if (rain_mm < least_rain_mm_a_year) doubt(rain + " is a desert's", "rain");
  if (rain_mm > most_rain_mm_a_year) doubt(rain + " is more than fields get", "rain");
  return doubts;
}

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
