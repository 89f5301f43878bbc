#include "scenarios/weather/weather_normals.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "scenarios/text/calendar.hpp"

namespace stoverturn {
namespace {

constexpr std::array<int, 13> month_starts = {0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334, 365};

/// A year of days, with 31 December beside 1 January, each replaced by the mean of three.
DaysOfYear blurred(const DaysOfYear& days) {
  DaysOfYear out{};
  for (std::size_t d = 0; d < 365; ++d) {
    out[d] = (days[(d + 364) % 365] + days[d] + days[(d + 1) % 365]) / 3.0;
  }
  return out;
}

double weighted_mean(const DaysOfYear& days, const DaysOfYear* weights, std::size_t first, std::size_t end) {
  double sum = 0.0, weight = 0.0;
  for (std::size_t d = first; d < end; ++d) {
    const double w = weights ? (*weights)[d] : 1.0;
    sum += w * days[d];
    weight += w;
  }
  return weight > 0.0 ? sum / weight : 0.0;
}

void restore(DaysOfYear& days, const DaysOfYear* weights, std::size_t first, std::size_t end, double wanted,
             Bounds bounds) {
  const double mean = weighted_mean(days, weights, first, end);
  for (std::size_t d = first; d < end; ++d) {
    if (bounds == Bounds::none) {
      days[d] += wanted - mean;
    } else if (bounds == Bounds::fraction && wanted > 0.5) {
      days[d] = mean < 1.0 ? 1.0 - (1.0 - days[d]) * (1.0 - wanted) / (1.0 - mean) : wanted;
    } else {
      days[d] = mean > 0.0 ? days[d] * wanted / mean : wanted;
    }
    if (bounds == Bounds::fraction) days[d] = std::clamp(days[d], 0.0, 1.0);
  }
}

/// Sums of one quantity by month.
struct MonthlySums {
  std::array<double, 12> sum{}, square{}, count{};
  void add(std::size_t month, double value) {
    if (std::isnan(value)) return;
    sum[month] += value;
    square[month] += value * value;
    count[month] += 1.0;
  }
  Months means() const {
    Months out{};
    for (std::size_t m = 0; m < 12; ++m) out[m] = sum[m] / count[m];  // 0/0 is NaN: not measured
    return out;
  }
};

std::size_t month_index(std::chrono::sys_days day) {
  return static_cast<unsigned>(std::chrono::year_month_day(day).month()) - 1U;
}

}  // namespace

const Months month_days = {31, 28.2425, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};

int month_of(int day_of_year) {
  const auto after = std::upper_bound(month_starts.begin(), month_starts.end(), day_of_year);
  return static_cast<int>(after - month_starts.begin()) - 1;
}

DaysOfYear smooth_days(const Months& months, Bounds bounds, const DaysOfYear* weights) {
  DaysOfYear days{};
  for (std::size_t d = 0; d < 365; ++d) {
    days[d] = months[static_cast<std::size_t>(month_of(static_cast<int>(d)))];
  }
  constexpr int rounds = 365;  // a blur over rounds^(1/2) days: half a month
  for (int round = 0; round < rounds; ++round) {
    days = blurred(days);
    for (std::size_t m = 0; m < 12; ++m) {
      restore(days, weights, static_cast<std::size_t>(month_starts[m]),
              static_cast<std::size_t>(month_starts[m + 1]), months[m], bounds);
    }
  }
  return days;
}

Months estimated_temperature_sd_C(const MonthlyNormals& normals, double latitude_deg) {
  Months mean_C{}, sd_C{};
  for (std::size_t m = 0; m < 12; ++m) mean_C[m] = (normals.tmax_C[m] + normals.tmin_C[m]) / 2.0;
  const auto [coldest, warmest] = std::minmax_element(mean_C.begin(), mean_C.end());
  const double calm = std::min(1.0, std::abs(latitude_deg) / 40.0);
  for (std::size_t m = 0; m < 12; ++m) {
    sd_C[m] = std::max(1.0, calm * (0.8 + 0.20 * (*warmest - *coldest) - 0.12 * (mean_C[m] - *coldest)));
  }
  return sd_C;
}

MonthlyNormals normals_of(const Weather& weather, double wet_day_mm) {
  MonthlySums tmax, tmin, mean, rain, wet, radiation, wind, humidity, spread;
  for (std::size_t i = 0; i < weather.days.size(); ++i) {
    const WeatherDay& day = weather.days[i];
    const std::size_t m = month_index(weather.start + std::chrono::days(static_cast<int>(i)));
    tmax.add(m, day.tmax_C);
    tmin.add(m, day.tmin_C);
    mean.add(m, (day.tmin_C + day.tmax_C) / 2.0);
    rain.add(m, day.rain_mm);
    wet.add(m, day.rain_mm >= wet_day_mm ? 1.0 : 0.0);
    radiation.add(m, day.radiation_MJ_m2);
    wind.add(m, day.wind_m_s);
    humidity.add(m, day.humidity_percent);
  }
  MonthlyNormals normals;
  normals.wet_day_mm = wet_day_mm;
  normals.tmax_C = tmax.means();
  normals.tmin_C = tmin.means();
  normals.radiation_MJ_m2 = radiation.means();
  normals.wind_m_s = wind.means();
  normals.humidity_percent = humidity.means();
  for (std::size_t m = 0; m < 12; ++m) {
    normals.rain_mm[m] = rain.means()[m] * month_days[m];
    normals.wet_days[m] = wet.means()[m] * month_days[m];
  }
  const DaysOfYear climate = smooth_days(mean.means(), Bounds::none);
  for (std::size_t i = 0; i < weather.days.size(); ++i) {
    const WeatherDay& day = weather.days[i];
    const std::chrono::sys_days date = weather.start + std::chrono::days(static_cast<int>(i));
    const int day_of_any_year = day_of_year(same_day_in(2001, date)) - 1;
    spread.add(month_index(date),
               (day.tmin_C + day.tmax_C) / 2.0 - climate[static_cast<std::size_t>(day_of_any_year)]);
  }
  for (std::size_t m = 0; m < 12; ++m) {
    const double n = spread.count[m], about = spread.sum[m] / n;
    if (n > 1.0) normals.temperature_sd_C[m] = std::sqrt((spread.square[m] - n * about * about) / (n - 1.0));
  }
  return normals;
}

}  // namespace stoverturn
