#include "scenarios/weather/weather_reading.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <set>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/text/calendar.hpp"
#include "scenarios/text/csv_text.hpp"
#include "scenarios/weather/weather_checks.hpp"
#include "scenarios/weather/weather_ghcnd.hpp"
#include "scenarios/weather/weather_plain.hpp"
#include "scenarios/weather/weather_raw.hpp"
#include "scenarios/weather/weather_years.hpp"

namespace stoverturn {
namespace {

using std::chrono::days;
using std::chrono::sys_days;

// The first that recognises the text reads it.
constexpr WeatherFormat formats[] = {
    {"GHCN-Daily, fixed width", is_ghcnd_fixed_width, read_ghcnd_fixed_width},
    {"GHCN-Daily, by station", is_ghcnd_by_station, read_ghcnd_by_station},
    {"plain CSV", is_plain_weather, read_plain_weather},
};

std::string first_line_of(std::string_view text) {
  const std::size_t start = std::min(text.find_first_not_of(" \t\r\n"), text.size());
  const std::size_t end = std::min(text.find_first_of("\r\n", start), text.size());
  constexpr std::size_t shown = 60;
  const std::string_view line = text.substr(start, end - start);
  return fmt::format("{}{}", line.substr(0, shown), line.size() > shown ? "..." : "");
}

const WeatherFormat& format_of(std::string_view text, const std::string& name) {
  if (text.find('\0') != std::string_view::npos) {
    throw InputError(
        {{{name}, "this is not a text file in UTF-8 (it holds NUL bytes); save it as CSV UTF-8"}});
  }
  if (text.find_first_not_of(" \t\r\n") == std::string_view::npos) {
    throw InputError({{{name}, "the file is empty; wanted is daily weather"}});
  }
  for (const WeatherFormat& format : formats) {
    if (format.recognises(text)) return format;
  }
  std::vector<std::string_view> names;
  for (const WeatherFormat& format : formats) names.push_back(format.name);
  throw InputError(
      {{{name, 1, 1},
        fmt::format("this is none of the known weather formats ({}); the file begins with '{}'; a plain "
                    "CSV begins with a header such as: date,tmin [degC],tmax [degC],rain [mm]",
                    fmt::join(names, "; "), first_line_of(text))}});
}

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

}  // namespace

WeatherRecord read_weather(std::string_view text, const std::string& name, const WeatherOptions& options) {
  text = without_byte_order_mark(text);
  const WeatherFormat& format = format_of(text, name);
  Mistakes mistakes;
  RawWeather raw = format.read(text, name, options.station, mistakes);
  check_days(raw, name, mistakes);
  mistakes.throw_if_any();

  WeatherRecord record;
  record.format = format.name;
  record.flagged_values = raw.flagged_values;
  record.trimmed_days = trim(raw);
  if (raw.days.empty()) {
    throw InputError({{{name}, "there is no day with tmin, tmax and rain"}});
  }
  record.weather = series_of(raw);
  refuse_long_gaps(raw, record.weather, options.longest_gap_d, name, mistakes);
  mistakes.throw_if_any();

  const auto chosen = [](double option, double file) { return std::isnan(option) ? file : option; };
  record.weather.latitude_deg = chosen(options.latitude_deg, raw.latitude_deg);
  record.weather.elevation_m = chosen(chosen(options.elevation_m, raw.elevation_m), 0.0);
  record.suspicious = suspicious_days(raw, record.weather.latitude_deg);
  record.filled = fill_gaps(record.weather);
  return record;
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
