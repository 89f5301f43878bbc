#include "scenarios/weather/weather_generator.hpp"

#include <algorithm>
#include <cmath>

#include <boost/random/gamma_distribution.hpp>
#include <boost/random/normal_distribution.hpp>
#include <boost/random/uniform_01.hpp>

#include "engine/evapotranspiration.hpp"
#include "engine/random_stream.hpp"
#include "scenarios/text/calendar.hpp"

namespace stoverturn {

const std::array<std::array<double, 3>, 3> residual_memory = {
    {{0.567, 0.086, -0.002}, {0.253, 0.504, -0.050}, {-0.006, -0.039, 0.244}}};
const std::array<std::array<double, 3>, 3> residual_noise = {
    {{0.781, 0.0, 0.0}, {0.328, 0.637, 0.0}, {0.238, -0.341, 0.873}}};

namespace {

using Triple = std::array<double, 3>;
constexpr std::size_t of_tmax = 0, of_tmin = 1, of_radiation = 2;

/// What a calendar day brings on average.
struct Climate {
  DaysOfYear mean_C{}, range_C{}, sd_C{}, wet{}, beyond_mm{};
  DaysOfYear radiation{}, wind{}, humidity{};
  double wet_day_mm = 0.0;
};

DaysOfYear smooth_or_unknown(const Months& months, Bounds bounds) {
  if (std::none_of(months.begin(), months.end(), [](double x) { return std::isnan(x); }))
    return smooth_days(months, bounds);
  DaysOfYear unknown{};
  unknown.fill(not_measured);
  return unknown;
}

Climate climate_of(const MonthlyNormals& normals, double latitude_deg) {
  Months mean{}, range{}, sd = normals.temperature_sd_C, wet{}, beyond{};
  const Months estimated = estimated_temperature_sd_C(normals, latitude_deg);
  for (std::size_t m = 0; m < 12; ++m) {
    mean[m] = (normals.tmax_C[m] + normals.tmin_C[m]) / 2.0;
    range[m] = normals.tmax_C[m] - normals.tmin_C[m];
    if (std::isnan(sd[m])) sd[m] = estimated[m];
    wet[m] = normals.wet_days[m] / month_days[m];
    if (wet[m] > 0.0) beyond[m] = normals.rain_mm[m] / normals.wet_days[m] - normals.wet_day_mm;
  }
  Climate c;
  c.mean_C = smooth_days(mean, Bounds::none);
  c.range_C = smooth_days(range, Bounds::positive);
  c.sd_C = smooth_days(sd, Bounds::positive);
  c.wet = smooth_days(wet, Bounds::fraction);
  c.beyond_mm = smooth_days(beyond, Bounds::positive, &c.wet);
  c.radiation = smooth_or_unknown(normals.radiation_MJ_m2, Bounds::positive);
  c.wind = smooth_or_unknown(normals.wind_m_s, Bounds::positive);
  c.humidity = smooth_or_unknown(normals.humidity_percent, Bounds::positive);
  c.wet_day_mm = normals.wet_day_mm;
  return c;
}

/// What one day hands to the next.
struct Memory {
  bool wet = false;
  Triple e{};
};

/// Occurrence and residuals take the same numbers from `stream` every day, whatever the state.
void next_day(Memory& memory, double wet_today, double wet_yesterday, RandomStream& stream) {
  const double r = std::min({generator::persistence, wet_today / wet_yesterday,
                             (1.0 - wet_today) / (1.0 - wet_yesterday)});  // less where f leaps
  const double after_dry = wet_today - r * wet_yesterday;
  memory.wet = boost::random::uniform_01<double>()(stream) < after_dry + (memory.wet ? r : 0.0);
  Triple noise{}, e{};
  boost::random::normal_distribution<double> normal;
  for (double& x : noise) x = normal(stream);
  for (std::size_t i = 0; i < 3; ++i) {
    for (std::size_t j = 0; j < 3; ++j) {
      e[i] += residual_memory[i][j] * memory.e[j] + residual_noise[i][j] * noise[j];
    }
  }
  memory.e = e;
}

/// Standard deviations, in the long run, of what is made of the residuals.
struct Spread {
  double sum = 0.0, difference = 0.0, radiation = 0.0;
};

Spread long_run_spread() {
  std::array<Triple, 3> S{};
  for (int step = 0; step < 200; ++step) {  // A's largest eigenvalue is 0.69: 0.69^400 is nothing
    std::array<Triple, 3> next{};
    for (std::size_t i = 0; i < 3; ++i) {
      for (std::size_t j = 0; j < 3; ++j) {
        for (std::size_t k = 0; k < 3; ++k) {
          next[i][j] += residual_noise[i][k] * residual_noise[j][k];
          for (std::size_t l = 0; l < 3; ++l)
            next[i][j] += residual_memory[i][k] * S[k][l] * residual_memory[j][l];
        }
      }
    }
    S = next;
  }
  return {std::sqrt(S[of_tmax][of_tmax] + S[of_tmin][of_tmin] + 2.0 * S[of_tmax][of_tmin]),
          std::sqrt(S[of_tmax][of_tmax] + S[of_tmin][of_tmin] - 2.0 * S[of_tmax][of_tmin]),
          std::sqrt(S[of_radiation][of_radiation])};
}

double cut(double z) { return std::clamp(z, -generator::range_limit, generator::range_limit); }

/// Means of dry and wet days that together make `mean`, when wet days have `ratio` times as much.
double by_state(double mean, double share_wet, double ratio, bool wet) {
  const double dry = mean / (1.0 - share_wet * (1.0 - ratio));
  return wet ? ratio * dry : dry;
}

double rain_mm(const Climate& c, std::size_t d, RandomStream& stream) {
  const double beyond = c.beyond_mm[d];
  if (beyond <= 0.0) return c.wet_day_mm;
  const double scale = std::max(beyond, -2.16 + 1.83 * beyond);
  return c.wet_day_mm + boost::random::gamma_distribution<double>(beyond / scale, scale)(stream);
}

/// `brightest`: no day may have more. The spread shrinks below it on both sides, so that the mean stays.
double radiation_MJ_m2(const Climate& c, std::size_t d, bool wet, double z, double most) {
  const double mean = std::min(most, by_state(c.radiation[d], c.wet[d], generator::wet_radiation, wet));
  const double cv = std::min(generator::radiation_cv, (most / mean - 1.0) / generator::range_limit);
  return mean * (1.0 + cv * cut(z));
}

double humidity_percent(const Climate& c, std::size_t d, bool wet, double z) {
  const double mean = c.humidity[d], share = c.wet[d];
  const double step = std::min(generator::humidity_step_percent, std::min(mean, 100.0 - mean));
  const double of_state = wet ? mean + (1.0 - share) * step : mean - share * step;
  const double sd =
      std::min(generator::humidity_sd_percent, std::min(of_state, 100.0 - of_state) / generator::range_limit);
  return of_state + sd * cut(z);
}

class Generator {
 public:
  Generator(const MonthlyNormals& normals, double latitude_deg, std::uint64_t seed)
      : climate_(climate_of(normals, latitude_deg)),
        spread_(long_run_spread()),
        latitude_deg_(latitude_deg),
        seed_(seed) {}

  /// The year, added to `days`; returns what 31 December leaves.
  Memory year(int number, Memory memory, std::vector<WeatherDay>* days) const {
    RandomStream states = stream("weather", number);
    RandomStream amounts = stream("weather: rain", number);
    RandomStream others = stream("weather: wind and humidity", number);
    const bool leap = std::chrono::year{number}.is_leap();
    std::size_t yesterday = 364;
    for (std::size_t i = 0; i < (leap ? 366U : 365U); ++i) {
      const std::size_t d = leap && i >= 59 ? i - 1 : i;  // 29 February is as 28 February
      next_day(memory, climate_.wet[d], climate_.wet[yesterday], states);
      yesterday = d;
      if (days) days->push_back(day_of(memory, d, static_cast<int>(i) + 1, amounts, others));
    }
    return memory;
  }

 private:
  RandomStream stream(const char* purpose, int number) const {
    return random_stream(seed_, purpose, static_cast<std::uint64_t>(static_cast<std::int64_t>(number)));
  }

  WeatherDay day_of(const Memory& m, std::size_t d, int day_of_this_year, RandomStream& amounts,
                    RandomStream& others) const {
    const Climate& c = climate_;
    const double mean_C = c.mean_C[d] + c.sd_C[d] * (m.e[of_tmax] + m.e[of_tmin]) / spread_.sum;
    const double z = cut((m.e[of_tmax] - m.e[of_tmin]) / spread_.difference);
    const double range_C =
        by_state(c.range_C[d], c.wet[d], generator::wet_range, m.wet) * (1.0 + generator::range_cv * z);
    WeatherDay day;
    day.tmin_C = mean_C - range_C / 2.0;
    day.tmax_C = mean_C + range_C / 2.0;
    day.rain_mm = m.wet ? rain_mm(c, d, amounts) : 0.0;
    if (!std::isnan(c.radiation[d])) {
      const double most =
          generator::brightest * extraterrestrial_radiation_MJ_m2(latitude_deg_, day_of_this_year);
      day.radiation_MJ_m2 =
          most > 0.0 ? radiation_MJ_m2(c, d, m.wet, m.e[of_radiation] / spread_.radiation, most) : 0.0;
    }
    if (!std::isnan(c.wind[d])) {
      constexpr double shape = 1.0 / (generator::wind_cv * generator::wind_cv);
      day.wind_m_s = boost::random::gamma_distribution<double>(shape, c.wind[d] / shape)(others);
    }
    if (!std::isnan(c.humidity[d])) {
      boost::random::normal_distribution<double> normal;
      day.humidity_percent = humidity_percent(c, d, m.wet, normal(others));
    }
    return day;
  }

  Climate climate_;
  Spread spread_;
  double latitude_deg_;
  std::uint64_t seed_;
};

}  // namespace

Weather generated_weather(const MonthlyNormals& normals, double latitude_deg, double elevation_m,
                          int first_year, int last_year, std::uint64_t seed) {
  const Generator generator(normals, latitude_deg, seed);
  Weather weather;
  weather.start = date_of(first_year, 1, 1, "first year");
  weather.latitude_deg = latitude_deg;
  weather.elevation_m = elevation_m;
  for (int number = first_year; number <= last_year; ++number) {
    const Memory before = generator.year(number - 1, Memory{}, nullptr);  // forgets its own start in weeks
    generator.year(number, before, &weather.days);
  }
  return weather;
}

}  // namespace stoverturn
