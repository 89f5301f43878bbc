/// Weather generated from monthly normals, docs/model.md Eq. 38 to 40.
#include "scenarios/weather/weather_generator.hpp"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <numeric>

#include "engine/evapotranspiration.hpp"
#include "scenarios/text/calendar.hpp"
#include "scenarios/weather/climates.hpp"
#include "scenarios/weather/weather_reading.hpp"
#include "tests/ames_weather.hpp"
#include "tests/catch.hpp"

using namespace stoverturn;
using std::chrono::days;

namespace {

const ClimateRow& climate(const char* name) {
  const ClimateRow* row = find_climate(name);
  REQUIRE(row);
  return *row;
}

Weather generate(const ClimateRow& row, int first, int last, std::uint64_t seed = 1) {
  return generated_weather(row.normals, row.latitude_deg, row.elevation_m, first, last, seed);
}

bool same_bits(const WeatherDay& a, const WeatherDay& b) { return std::memcmp(&a, &b, sizeof a) == 0; }

double mean_of(const std::vector<double>& x) {
  return std::accumulate(x.begin(), x.end(), 0.0) / static_cast<double>(x.size());
}
double sd_of(const std::vector<double>& x) {
  const double mean = mean_of(x);
  double sum = 0.0;
  for (const double v : x) sum += (v - mean) * (v - mean);
  return std::sqrt(sum / static_cast<double>(x.size() - 1));
}

using MonthValues = std::array<std::vector<double>, 12>;

/// Statistics that are not told to the generator.
struct Habits {
  MonthValues mean_C;   ///< mean temperature of each month of each year
  MonthValues rain_mm;  ///< its rain
  std::vector<double> year_rain_mm;
  std::array<double, 12> wet_spell_d{}, dry_spell_d{};  ///< mean length, by the month of the spell's end
  double temperature_memory = 0.0;                      ///< correlation of one day's anomaly with the next
  double longest_dry_d = 0.0;
};

Habits habits_of(const Weather& weather, double wet_day_mm) {
  Habits h;
  const MonthlyNormals normals = normals_of(weather, wet_day_mm);
  Months mean{};
  for (std::size_t m = 0; m < 12; ++m) mean[m] = (normals.tmax_C[m] + normals.tmin_C[m]) / 2.0;
  const DaysOfYear usual = smooth_days(mean, Bounds::none);
  std::array<double, 12> wet_runs{}, dry_runs{};
  double month_C = 0.0, month_rain = 0.0, year_rain = 0.0, run = 0.0, before = 0.0, pairs = 0.0,
         squares = 0.0;
  bool was_wet = false;
  int month_days_seen = 0;
  for (std::size_t i = 0; i < weather.days.size(); ++i) {
    const std::chrono::sys_days date = weather.start + days(static_cast<int>(i));
    const std::chrono::year_month_day ymd(date);
    const std::size_t m = static_cast<unsigned>(ymd.month()) - 1U;
    const WeatherDay& day = weather.days[i];
    const double mean_C = (day.tmin_C + day.tmax_C) / 2.0;
    const double anomaly =
        (mean_C - usual[static_cast<std::size_t>(day_of_year(same_day_in(2001, date)) - 1)]) /
        normals.temperature_sd_C[m];
    pairs += anomaly * before;
    squares += anomaly * anomaly;
    before = anomaly;
    month_C += mean_C;
    month_rain += day.rain_mm;
    year_rain += day.rain_mm;
    ++month_days_seen;
    const bool wet = day.rain_mm >= wet_day_mm;
    if (i > 0 && wet != was_wet) {
      (was_wet ? h.wet_spell_d : h.dry_spell_d)[m] += run;
      (was_wet ? wet_runs : dry_runs)[m] += 1.0;
      if (!was_wet) h.longest_dry_d = std::max(h.longest_dry_d, run);
      run = 0.0;
    }
    run += 1.0;
    was_wet = wet;
    const std::chrono::year_month_day next(date + days(1));
    if (next.month() != ymd.month()) {
      h.mean_C[m].push_back(month_C / month_days_seen);
      h.rain_mm[m].push_back(month_rain);
      month_C = month_rain = 0.0;
      month_days_seen = 0;
    }
    if (next.year() != ymd.year()) {
      h.year_rain_mm.push_back(year_rain);
      year_rain = 0.0;
    }
  }
  for (std::size_t m = 0; m < 12; ++m) {
    h.wet_spell_d[m] /= wet_runs[m];
    h.dry_spell_d[m] /= dry_runs[m];
  }
  h.temperature_memory = pairs / squares;
  return h;
}

double total(const Months& months) { return std::accumulate(months.begin(), months.end(), 0.0); }

}  // namespace

TEST_CASE("generator: 500 years return their normals in every built-in climate",
          "[scenarios][weather][generator]") {
  for (const ClimateRow& row : climate_table()) {
    INFO(std::string(row.name));
    const Weather weather = generate(row, 1701, 2200);
    REQUIRE(weather.days.size() == 182621);  // 500 years of the Gregorian calendar from 1701, 121 leap days
    const MonthlyNormals back = normals_of(weather, row.normals.wet_day_mm);
    const Habits h = habits_of(weather, row.normals.wet_day_mm);
    for (std::size_t m = 0; m < 12; ++m) {
      INFO("month " << m + 1);
      // 4.5 standard errors of the mean of 500 independent months (15 climates x 12 months x 4 numbers: one
      // in 150,000 falls outside 4.5)
      const double error_C = 4.5 * sd_of(h.mean_C[m]) / std::sqrt(500.0);
      CHECK(std::abs((back.tmax_C[m] + back.tmin_C[m] - row.normals.tmax_C[m] - row.normals.tmin_C[m]) /
                     2.0) < error_C);
      // the range: CV 0.35 about states that differ by a quarter, at most 0.5 C of standard error a month
      const double range = row.normals.tmax_C[m] - row.normals.tmin_C[m];
      CHECK(back.tmax_C[m] - back.tmin_C[m] == Approx(range).margin(4.5 * 0.15 * range / std::sqrt(500.0)));
      const double rain_error = 4.5 * sd_of(h.rain_mm[m]) / std::sqrt(500.0);
      CHECK(std::abs(back.rain_mm[m] - row.normals.rain_mm[m]) <= rain_error);
      // variance of a count of days with correlation 0.25^lag: n f (1 - f) (1 + r)/(1 - r)
      const double f = row.normals.wet_days[m] / month_days[m];
      const double wet_error = 4.5 * std::sqrt(month_days[m] * f * (1.0 - f) * 1.25 / 0.75 / 500.0);
      CHECK(std::abs(back.wet_days[m] - row.normals.wet_days[m]) <= wet_error);
    }
    // the spread of temperature: what is told, else Eq. 40; 3 % is four standard errors of a standard
    // deviation from 15,000 days of memory 0.7, plus the change of the mean within the month
    const Months sd = std::isnan(row.normals.temperature_sd_C[0])
                          ? estimated_temperature_sd_C(row.normals, row.latitude_deg)
                          : row.normals.temperature_sd_C;
    for (std::size_t m = 0; m < 12; ++m) CHECK(back.temperature_sd_C[m] == Approx(sd[m]).epsilon(0.04));
  }
}

TEST_CASE("generator: no day is impossible and extremes are those of the Earth",
          "[scenarios][weather][generator]") {
  for (const ClimateRow& row : climate_table()) {
    INFO(std::string(row.name));
    const Weather weather = generate(row, 1701, 2200, 7);
    double coldest = 99.0, hottest = -99.0, wettest = 0.0, widest = 0.0;
    bool in_order = true, rain_whole = true;
    for (const WeatherDay& day : weather.days) {
      in_order = in_order && day.tmin_C < day.tmax_C;
      rain_whole = rain_whole && (day.rain_mm == 0.0 || day.rain_mm >= row.normals.wet_day_mm);
      coldest = std::min(coldest, day.tmin_C);
      hottest = std::max(hottest, day.tmax_C);
      wettest = std::max(wettest, day.rain_mm);
      widest = std::max(widest, day.tmax_C - day.tmin_C);
    }
    CHECK(in_order);
    CHECK(rain_whole);
    // four and a half standard deviations, once in 150,000 days, beyond the warmest and coldest month
    const auto [lowest, highest] =
        std::pair(*std::min_element(row.normals.tmin_C.begin(), row.normals.tmin_C.end()),
                  *std::max_element(row.normals.tmax_C.begin(), row.normals.tmax_C.end()));
    CHECK(coldest > lowest - 36.0);
    CHECK(hottest < highest + 20.0);
    CHECK(hottest < 56.0);  // the Earth's record is 56.7 (from memory)
    CHECK(wettest < 400.0);
    CHECK(wettest > 40.0);
    CHECK(widest < 40.0);  // ranges above 50 C have been measured (from memory)
  }
}

TEST_CASE("generator: a year is the same whatever years are asked for, and another with another seed",
          "[scenarios][weather][generator]") {
  const ClimateRow& row = climate("Po valley");
  const Weather many = generate(row, 1990, 2030), again = generate(row, 1990, 2030);
  const Weather one = generate(row, 2012, 2012), other = generate(row, 2012, 2012, 2);
  REQUIRE(one.days.size() == 366);
  CHECK(format_date(one.start) == "2012-01-01");
  const auto begins = static_cast<std::size_t>((one.start - many.start).count());
  std::size_t alike = 0, with_other_seed = 0;
  for (std::size_t i = 0; i < many.days.size(); ++i) REQUIRE(same_bits(many.days[i], again.days[i]));
  for (std::size_t i = 0; i < 366; ++i) {
    alike += same_bits(one.days[i], many.days[begins + i]) ? 1U : 0U;
    with_other_seed += one.days[i].tmax_C == other.days[i].tmax_C ? 1U : 0U;
  }
  CHECK(alike == 366);
  CHECK(with_other_seed == 0);
}

TEST_CASE("generator: 1 January goes on from 31 December", "[scenarios][weather][generator]") {
  const ClimateRow& row = climate("central Iowa");
  const Weather weather = generate(row, 1701, 2200);
  // correlation of the last and first day's mean temperature over 499 turns of the year; without the memory
  // it would be 0 +- 0.045; within the year it is 0.69 (next test but one)
  std::vector<double> last, first;
  for (std::size_t i = 1; i < weather.days.size(); ++i) {
    if (day_of_year(weather.start + days(static_cast<int>(i))) != 1) continue;
    last.push_back(weather.days[i - 1].tmin_C + weather.days[i - 1].tmax_C);
    first.push_back(weather.days[i].tmin_C + weather.days[i].tmax_C);
  }
  const double a = mean_of(last), b = mean_of(first);
  double sum = 0.0;
  for (std::size_t i = 0; i < last.size(); ++i) sum += (last[i] - a) * (first[i] - b);
  const double r = sum / static_cast<double>(last.size() - 1) / sd_of(last) / sd_of(first);
  CHECK(r == Approx(0.69).margin(4 * (1 - 0.69 * 0.69) / std::sqrt(499.0)));
}

TEST_CASE("generator: the recalled matrices agree with the recalled correlations",
          "[scenarios][weather][generator]") {
  // Richardson and Wright 1984 derive A and B from correlations (both from memory): same day tmax-tmin 0.633,
  // tmax-radiation 0.186, tmin-radiation -0.193. In the long run M0 = A M0 A' + B B' must give them back,
  // with a diagonal of 1, to the rounding of three digits.
  std::array<std::array<double, 3>, 3> M{};
  for (int step = 0; step < 200; ++step) {
    std::array<std::array<double, 3>, 3> next{};
    for (std::size_t i = 0; i < 3; ++i) {
      for (std::size_t j = 0; j < 3; ++j) {
        for (std::size_t k = 0; k < 3; ++k) {
          next[i][j] += residual_noise[i][k] * residual_noise[j][k];
          for (std::size_t l = 0; l < 3; ++l)
            next[i][j] += residual_memory[i][k] * M[k][l] * residual_memory[j][l];
        }
      }
    }
    M = next;
  }
  for (std::size_t i = 0; i < 3; ++i) CHECK(M[i][i] == Approx(1.0).margin(0.005));
  CHECK(M[0][1] == Approx(0.633).margin(0.005));
  CHECK(M[0][2] == Approx(0.186).margin(0.005));
  CHECK(M[1][2] == Approx(-0.193).margin(0.005));
}

TEST_CASE("generator: a wet day follows by the rule of Geng, Penning de Vries and Supit",
          "[scenarios][weather][generator]") {
  MonthlyNormals n;
  n.tmax_C.fill(20.0);
  n.tmin_C.fill(10.0);
  n.wet_days = month_days;
  for (double& d : n.wet_days) d *= 0.4;
  for (std::size_t m = 0; m < 12; ++m) n.rain_mm[m] = 7.0 * n.wet_days[m];
  const Weather weather = generated_weather(n, 45.0, 0.0, 1701, 2200, 3);
  double after_dry = 0.0, after_wet = 0.0, dry = 0.0, wet = 0.0;
  for (std::size_t i = 1; i < weather.days.size(); ++i) {
    const bool before = weather.days[i - 1].rain_mm > 0.0, now = weather.days[i].rain_mm > 0.0;
    (before ? wet : dry) += 1.0;
    (before ? after_wet : after_dry) += now ? 1.0 : 0.0;
  }
  // 4 standard errors of a share of 70,000 days or more: 0.0075
  CHECK(after_dry / dry == Approx(0.75 * 0.4).margin(0.0075));
  CHECK(after_wet / wet == Approx(0.25 + 0.75 * 0.4).margin(0.0075));
  // amounts beyond the first mm: gamma of mean 6, scale -2.16 + 1.83 x 6 = 8.82, so variance 6 x 8.82
  std::vector<double> amounts;
  for (const WeatherDay& day : weather.days) {
    if (day.rain_mm > 0.0) amounts.push_back(day.rain_mm);
  }
  CHECK(mean_of(amounts) == Approx(7.0).epsilon(0.02));  // 4 x 7.3/sqrt(73,000) is 0.11
  CHECK(sd_of(amounts) == Approx(std::sqrt(6.0 * 8.82)).epsilon(0.02));
}

TEST_CASE("generator: days between months are smooth and keep every month's mean",
          "[scenarios][weather][generator]") {
  const Months cases[] = {climate("central Iowa").normals.tmin_C,
                          climate("Bihar").normals.rain_mm,
                          {0.02, 0.03, 0, 0, 0.1, 0.5, 0.95, 0.98, 0.6, 0.2, 0, 0}};
  const Bounds bounds[] = {Bounds::none, Bounds::positive, Bounds::fraction};
  for (std::size_t c = 0; c < 3; ++c) {
    const DaysOfYear daily = smooth_days(cases[c], bounds[c]);
    const double span = *std::max_element(cases[c].begin(), cases[c].end()) -
                        *std::min_element(cases[c].begin(), cases[c].end());
    Months mean{}, count{};
    for (std::size_t d = 0; d < 365; ++d) {
      const auto m = static_cast<std::size_t>(month_of(static_cast<int>(d)));
      mean[m] += daily[d];
      count[m] += 1.0;
      // a month's step would be up to the whole span; 8 % of it a day is two weeks from end to end
      CHECK(std::abs(daily[(d + 1) % 365] - daily[d]) < 0.08 * span);
      if (bounds[c] != Bounds::none) CHECK(daily[d] >= 0.0);
      if (bounds[c] == Bounds::fraction) CHECK(daily[d] <= 1.0);
    }
    for (std::size_t m = 0; m < 12; ++m) CHECK(mean[m] / count[m] == Approx(cases[c][m]).margin(1e-9 * span));
  }
}

TEST_CASE("generator: radiation, wind and humidity come when the normals have them, and return",
          "[scenarios][weather][generator]") {
  MonthlyNormals n = climate("Hungary").normals;
  const Weather without = generated_weather(n, 47.5, 108.0, 2001, 2002, 1);
  CHECK(std::isnan(without.days[100].radiation_MJ_m2));
  CHECK(std::isnan(without.days[100].wind_m_s));
  CHECK(std::isnan(without.days[100].humidity_percent));
  n.radiation_MJ_m2 = {4, 7, 11, 16, 20, 22, 22, 19, 14, 9, 5, 3};
  n.wind_m_s = {2.5, 2.7, 3.0, 2.9, 2.6, 2.4, 2.3, 2.2, 2.2, 2.2, 2.4, 2.5};
  n.humidity_percent = {84, 79, 71, 64, 65, 66, 65, 66, 71, 77, 84, 87};
  const Weather with = generated_weather(n, 47.5, 108.0, 1701, 2200, 1);
  const MonthlyNormals back = normals_of(with);
  // standard errors over 500 months: radiation 0.5, wind 0.25, humidity 1.5 % each over sqrt(500); times 4.5
  for (std::size_t m = 0; m < 12; ++m) {
    CHECK(back.radiation_MJ_m2[m] == Approx(n.radiation_MJ_m2[m]).margin(0.2));
    CHECK(back.wind_m_s[m] == Approx(n.wind_m_s[m]).margin(0.1));
    CHECK(back.humidity_percent[m] == Approx(n.humidity_percent[m]).margin(0.4));
  }
  double brightest = 0.0, darkest = 1.0;
  for (std::size_t i = 0; i < with.days.size(); ++i) {
    const WeatherDay& day = with.days[i];
    const double Ra =
        extraterrestrial_radiation_MJ_m2(47.5, day_of_year(with.start + days(static_cast<int>(i))));
    brightest = std::max(brightest, day.radiation_MJ_m2 / Ra);
    darkest = std::min(darkest, day.radiation_MJ_m2 / Ra);
    REQUIRE(day.humidity_percent <= 100.0);
    REQUIRE(day.humidity_percent > 0.0);
    REQUIRE(day.wind_m_s >= 0.0);
  }
  CHECK(brightest <= generator::brightest + 1e-12);
  CHECK(darkest > 0.0);
  // tmin, tmax and rain do not depend on the other columns
  const Weather same_years = generated_weather(n, 47.5, 108.0, 2001, 2002, 1);
  for (std::size_t i = 0; i < without.days.size(); ++i) {
    REQUIRE(without.days[i].tmax_C == same_years.days[i].tmax_C);
    REQUIRE(without.days[i].rain_mm == same_years.days[i].rain_mm);
  }
}

TEST_CASE("generator: months without rain, and rain on every day", "[scenarios][weather][generator]") {
  MonthlyNormals n;
  n.tmax_C.fill(30.0);
  n.tmin_C.fill(29.9);  // hardly any range
  n.wet_days = {31, 28.2425, 0, 0, 0, 0, 0, 0, 0, 0, 15, 31};
  n.rain_mm = {31, 300, 0, 0, 0, 0, 0, 0, 0, 0, 80, 200};
  const Weather weather = generated_weather(n, 5.0, 0.0, 2001, 2050, 1);
  const MonthlyNormals back = normals_of(weather);
  for (std::size_t m = 2; m < 10; ++m) CHECK(back.rain_mm[m] == 0.0);
  CHECK(back.wet_days[0] == Approx(31.0));
  CHECK(back.rain_mm[0] == Approx(31.0));  // a millimetre a day and no more
  for (const WeatherDay& day : weather.days) REQUIRE(day.tmin_C < day.tmax_C);
}

TEST_CASE("generator: against 41 years of days at Ames, in what it is not told",
          "[scenarios][weather][generator]") {
  NEEDS_SHARED("weather-ames-iowa");
  Weather record = read_weather(ames_plain_weather(), "Ames").weather;
  for (WeatherDay& day : record.days) day.radiation_MJ_m2 = not_measured;
  const MonthlyNormals normals = normals_of(record);
  const Weather made = generated_weather(normals, record.latitude_deg, 0.0, 1701, 2200, 1);
  const Habits seen = habits_of(record, 1.0), drawn = habits_of(made, 1.0);

  // Published memory of temperature: 0.62 to 0.67 for tmax and tmin (Richardson 1982, from memory); the mean
  // of the two here, 0.73 seen
  CHECK(drawn.temperature_memory == Approx(seen.temperature_memory).margin(0.06));
  double wet_seen = 0.0, wet_drawn = 0.0, dry_seen = 0.0, dry_drawn = 0.0, cold_seen = 0.0, cold_drawn = 0.0,
         rain_seen = 0.0, rain_drawn = 0.0;
  for (std::size_t m = 0; m < 12; ++m) {
    INFO("month " << m + 1);
    // single months: spells within a quarter, the sampling error of some 200 spells in 41 years being 10 %
    CHECK(drawn.wet_spell_d[m] == Approx(seen.wet_spell_d[m]).epsilon(0.25));
    CHECK(drawn.dry_spell_d[m] == Approx(seen.dry_spell_d[m]).epsilon(0.25));
    // monthly sums of rain and means of temperature differ from year to year: a standard deviation from 41
    // years has an error of 11 %; three of them
    CHECK(sd_of(drawn.rain_mm[m]) == Approx(sd_of(seen.rain_mm[m])).epsilon(0.33));
    wet_seen += seen.wet_spell_d[m] / 12.0;
    wet_drawn += drawn.wet_spell_d[m] / 12.0;
    dry_seen += seen.dry_spell_d[m] / 12.0;
    dry_drawn += drawn.dry_spell_d[m] / 12.0;
    cold_seen += sd_of(seen.mean_C[m]) / 12.0;
    cold_drawn += sd_of(drawn.mean_C[m]) / 12.0;
    rain_seen += sd_of(seen.rain_mm[m]) / 12.0;
    rain_drawn += sd_of(drawn.rain_mm[m]) / 12.0;
  }
  // over all months the sampling errors shrink to some 3 %; what is left is the published persistence (0.25
  // where Ames has 0.15 to 0.2), so that spells are a tenth too long
  CHECK(wet_drawn == Approx(wet_seen).epsilon(0.13));
  CHECK(dry_drawn == Approx(dry_seen).epsilon(0.13));
  CHECK(cold_drawn == Approx(cold_seen).epsilon(0.13));
  CHECK(rain_drawn == Approx(rain_seen).epsilon(0.10));
  // What it does not reproduce, said in docs/model.md: wet and dry years. The standard deviation of a year's
  // rain is 210 mm in 41 years (error 11 %) and about 150 generated.
  CHECK(sd_of(drawn.year_rain_mm) > 0.60 * sd_of(seen.year_rain_mm));
  CHECK(sd_of(drawn.year_rain_mm) < 0.90 * sd_of(seen.year_rain_mm));
  // the longest drought of 500 years is longer than that of 41, not beyond belief
  CHECK(drawn.longest_dry_d > seen.longest_dry_d);
  CHECK(drawn.longest_dry_d < 3.0 * seen.longest_dry_d);
  CHECK(total(normals.rain_mm) == Approx(842.0).epsilon(0.01));  // the folder's own figure
}
