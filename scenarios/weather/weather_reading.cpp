#include "scenarios/weather/weather_reading.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/text/calendar.hpp"
#include "scenarios/text/csv_text.hpp"
#include "scenarios/weather/weather_checks.hpp"
#include "scenarios/weather/weather_formats.hpp"
#include "scenarios/weather/weather_gaps.hpp"
#include "scenarios/weather/weather_raw.hpp"
#include "scenarios/weather/weather_years.hpp"

namespace stoverturn {
namespace {

using std::chrono::days;
using std::chrono::sys_days;

bool is_whole(const RawDay& day) {
  return std::none_of(day.values.begin(), day.values.begin() + required_fields,
                      [](const RawValue& v) { return std::isnan(v.value); });
}

/// Drops the days before the first and after the last whole one; their number.
int trim(RawWeather& raw) {
  const auto whole = [](const auto& entry) { return is_whole(entry.second); };
  const auto first = std::find_if(raw.days.begin(), raw.days.end(), whole);
  const auto last = std::find_if(raw.days.rbegin(), raw.days.rend(), whole).base();
  const auto before = raw.days.size();
  raw.days = first == raw.days.end() ? decltype(raw.days)() : decltype(raw.days)(first, last);
  return static_cast<int>(before - raw.days.size());
}

Weather series_of(const RawWeather& raw) {
  Weather weather;
  weather.start = raw.days.begin()->first;
  weather.days.resize(static_cast<std::size_t>((raw.days.rbegin()->first - weather.start).count()) + 1);
  for (const auto& [day, values] : raw.days) {
    WeatherDay& entry = weather.days[static_cast<std::size_t>((day - weather.start).count())];
    for (std::size_t field = 0; field < weather_fields.size(); ++field) {
      entry.*(weather_fields[field].member) = values.values[field].value;
    }
  }
  return weather;
}

void add(const std::vector<FilledGap>& more, std::vector<FilledGap>& list) {
  list.insert(list.end(), more.begin(), more.end());
}

void round_values(Weather& weather) {
  constexpr double decimals = 1e6;
  for (WeatherDay& day : weather.days) {
    for (const WeatherField& field : weather_fields) {
      double& value = day.*(field.member);
      value = std::round(value * decimals) / decimals + 0.0;  // no -0
    }
  }
}

}  // namespace

WeatherRecord read_weather(std::string_view text, const std::string& name, const WeatherOptions& options) {
  text = without_byte_order_mark(text);
  const WeatherFormat& format = format_of(text, name);
  Mistakes mistakes;
  RawWeather raw = format.read(text, name, options, mistakes);
  if (format.has_own_units && options.columns_in != ColumnsIn::header) {
    mistakes.add({name}, fmt::format("{} has units of its own; leave columns_in out", format.name));
  }
  check_days(raw, name, mistakes);
  mistakes.throw_if_any();

  WeatherRecord record;
  record.format = format.name;
  record.flagged_values = raw.flagged_values;
  record.trimmed_days = trim(raw);
  if (raw.days.empty()) {
    throw InputError({{{name}, "there is no day with tmin, tmax and rain"}});
  }
  record.years_of_365_days = raw.years_of_365_days;
  record.unread_columns = raw.unread_columns;
  record.weather = series_of(raw);
  record.filled = raw.filled_before;
  if (raw.years_of_365_days) add(fill_calendar(record.weather), record.filled);
  refuse_long_gaps(raw, record.weather, options.longest_gap_d, name, mistakes);
  mistakes.throw_if_any();

  const auto chosen = [](double option, double file) { return std::isnan(option) ? file : option; };
  record.weather.latitude_deg = chosen(options.latitude_deg, raw.latitude_deg);
  record.weather.elevation_m = chosen(chosen(options.elevation_m, raw.elevation_m), 0.0);
  record.suspicious = suspicious_days(raw, record.weather.latitude_deg);
  add(fill_gaps(record.weather), record.filled);
  round_values(record.weather);
  std::stable_sort(record.filled.begin(), record.filled.end(),
                   [](const FilledGap& a, const FilledGap& b) { return a.first < b.first; });
  return record;
}

std::vector<std::string> weather_notes(const WeatherRecord& record, const std::string& file) {
  std::vector<std::string> notes;
  int calendar_days = 0, gap_days = 0, gaps = 0;
  for (const FilledGap& gap : record.filled) {
    const bool of_calendar = gap.what.find(calendar_of_365_days) != std::string::npos;
    (of_calendar ? calendar_days : gap_days) += gap.days;
    gaps += of_calendar ? 0 : 1;
  }
  if (gaps > 0) {
    notes.push_back(fmt::format("{}: days filled: {} (in {} gap(s)); `stoverturn weather` lists them.", file,
                                gap_days, gaps));
  }
  if (calendar_days > 0) {
    notes.push_back(
        fmt::format("{}: its years have 365 days each; 31 December of leap years was filled ({} "
                    "day{}).",
                    file, calendar_days, calendar_days == 1 ? "" : "s"));
  }
  for (const std::string& doubt : doubts_of(record.weather))
    notes.push_back(fmt::format("{}: {}", file, doubt));
  return notes;
}

WeatherSummary summarise(const WeatherRecord& record) {
  const Weather& weather = record.weather;
  WeatherSummary summary;
  summary.first = weather.start;
  summary.days = static_cast<int>(weather.days.size());
  if (summary.days == 0) return summary;
  summary.last = weather.start + days(summary.days - 1);
  summary.whole_years = whole_years(weather);

  const int averaged =
      summary.whole_years > 0
          ? static_cast<int>((anniversary(weather.start, summary.whole_years) - weather.start).count())
          : summary.days;
  double temperature = 0.0, rain = 0.0;
  for (int i = 0; i < averaged; ++i) {
    const WeatherDay& day = weather.days[static_cast<std::size_t>(i)];
    temperature += (day.tmin_C + day.tmax_C) / 2.0;
    rain += day.rain_mm;
  }
  summary.mean_temperature_C = temperature / averaged;
  if (summary.whole_years > 0) summary.mean_annual_rain_mm = rain / summary.whole_years;

  const auto extreme = [&](double WeatherDay::*member, double sign) {
    const auto at = std::max_element(
        weather.days.begin(), weather.days.end(),
        [&](const WeatherDay& a, const WeatherDay& b) { return sign * (a.*member) < sign * (b.*member); });
    return WeatherExtreme{weather.start + days(at - weather.days.begin()), (*at).*member};
  };
  summary.hottest = extreme(&WeatherDay::tmax_C, 1.0);
  summary.coldest = extreme(&WeatherDay::tmin_C, -1.0);
  summary.wettest = extreme(&WeatherDay::rain_mm, 1.0);

  for (std::size_t field = required_fields; field < weather_fields.size(); ++field) {
    const auto member = weather_fields[field].member;
    const bool measured = std::any_of(weather.days.begin(), weather.days.end(),
                                      [&](const WeatherDay& day) { return !std::isnan(day.*member); });
    if (!measured) summary.not_measured_columns.emplace_back(weather_fields[field].name);
  }
  std::set<sys_days> touched;
  for (const FilledGap& gap : record.filled) {
    for (int i = 0; i < gap.days; ++i) touched.insert(gap.first + days(i));
  }
  summary.filled_days = static_cast<int>(touched.size());
  return summary;
}

}  // namespace stoverturn
