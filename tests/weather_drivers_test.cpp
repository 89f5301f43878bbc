#include "engine/weather_drivers.hpp"

#include <algorithm>
#include <array>
#include <chrono>
#include <cmath>
#include <numbers>
#include <utility>
#include <vector>

#include <boost/random/mersenne_twister.hpp>
#include <boost/random/uniform_real_distribution.hpp>

#include "engine/drivers.hpp"
#include "engine/errors.hpp"
#include "engine/evapotranspiration.hpp"
#include "tests/catch.hpp"
#include "tests/crop_kinds.hpp"

using namespace stoverturn;
using namespace std::chrono;

namespace {

struct Uniform {
  boost::random::mt19937 engine{365};
  double operator()(double low, double high) {
    return boost::random::uniform_real_distribution<double>(low, high)(engine);
  }
  /// Rain on every third day, mostly little.
  double rain_mm() { return (*this)(0.0, 1.0) < 0.67 ? 0.0 : -12.0 * std::log((*this)(1e-6, 1.0)); }
};

constexpr int four_years = 1461;

double yearly_air_C(int day) { return 10.0 + 15.0 * std::sin(2.0 * std::numbers::pi * day / 365.25); }

WeatherDay plain_day(double tmin_C, double tmax_C, double rain_mm) {
  WeatherDay day;
  day.tmin_C = tmin_C;
  day.tmax_C = tmax_C;
  day.rain_mm = rain_mm;
  return day;
}

Weather weather_of(std::vector<WeatherDay> days, double latitude_deg = 42.0) {
  Weather weather;
  weather.start = sys_days{year{2021} / 1 / 1};
  weather.days = std::move(days);
  weather.latitude_deg = latitude_deg;
  weather.elevation_m = 300.0;
  return weather;
}

Weather yearly_weather(int days) {
  std::vector<WeatherDay> list;
  for (int d = 0; d < days; ++d) list.push_back(plain_day(yearly_air_C(d) - 5.0, yearly_air_C(d) + 5.0, 2.0));
  return weather_of(list);
}

Weather random_weather(int days) {
  Uniform random;
  std::vector<WeatherDay> list;
  for (int d = 0; d < days; ++d) {
    const double mean = yearly_air_C(d) - 5.0 + random(-6.0, 6.0), half = random(1.0, 8.0);
    list.push_back(plain_day(mean - half, mean + half, random.rain_mm()));
  }
  return weather_of(list);
}

/// Drivers of all of the weather, from its first day.
WeatherDriversInput whole_run(const Weather& weather) {
  WeatherDriversInput in;
  in.weather = &weather;
  in.start = weather.start;
  in.days = static_cast<int>(weather.days.size());
  in.parameters = default_parameters();
  return in;
}

std::vector<double> buried_C(const WeatherDrivers& w) {
  std::vector<double> T;
  for (const auto& day : w.drivers.days) T.push_back(day.temperature_C[2]);
  return T;
}

}  // namespace

TEST_CASE("drivers: constant conditions are alike in every placement and move no water",
          "[engine][drivers]") {
  const Drivers<double> jar = constant_drivers({15.0, 0.8, 0.5}, 30);
  REQUIRE(jar.days.size() == 30);
  for (const auto& day : jar.days) {
    for (std::size_t i = 0; i < placements; ++i) {
      CHECK(day.temperature_C[i] == 15.0);
      CHECK(day.water_mm_d[i] == 0.0);
    }
    CHECK(day.soil_temperature_C == 15.0);
    CHECK(day.standing_wetness == 0.8);
    CHECK(day.surface_wetness == 0.8);
    CHECK(day.pore_filling == 0.5);
    CHECK(day.drained_top_d + day.drained_sub_d + day.surface_water_mm_d + day.crop_demand_g_m2_d == 0.0);
  }
}

TEST_CASE("drivers: a log keeps its dates and its water", "[engine][drivers]") {
  const sys_days start = year{2024} / 2 / 28;
  const Drivers<double> tub = logged_drivers(start, {{10.0, 0.5, 0.4, 0.0}, {12.0, 1.0, 0.7, 25.0}});
  REQUIRE(tub.days.size() == 2);
  CHECK(tub.start == start);
  CHECK(tub.days[0].temperature_C[1] == 10.0);
  CHECK(tub.days[1].water_mm_d == std::array{25.0, 25.0, 25.0});
  CHECK(tub.days[1].surface_water_mm_d == 25.0);
  CHECK(tub.days[1].drained_top_d == 0.0);
}

TEST_CASE("drivers: eight climates side by side stay themselves", "[engine][drivers]") {
  std::array<Drivers<double>, 8> climates;
  std::array<const Drivers<double>*, 8> lanes{};
  for (std::size_t i = 0; i < 8; ++i) {
    const auto shift = static_cast<double>(i);
    Weather weather = random_weather(40);
    for (WeatherDay& day : weather.days) {
      day.tmax_C += shift;
      day.rain_mm += shift;
    }
    climates[i] = weather_drivers(whole_run(weather)).drivers;
    lanes[i] = &climates[i];
  }
  const Drivers<Lanes> joined = in_lanes(lanes);
  REQUIRE(joined.days.size() == 40);
  CHECK(joined.start == climates[0].start);
  for (std::size_t d = 0; d < 40; ++d) {
    for (int i = 0; i < 8; ++i) {
      const DayDrivers<double>& one = climates[static_cast<std::size_t>(i)].days[d];
      const DayDrivers<Lanes>& all = joined.days[d];
      for (std::size_t place = 0; place < placements; ++place) {
        CHECK(all.temperature_C[place][i] == one.temperature_C[place]);
        CHECK(all.water_mm_d[place][i] == one.water_mm_d[place]);
      }
      CHECK(all.standing_wetness[i] == one.standing_wetness);
      CHECK(all.surface_wetness[i] == one.surface_wetness);
      CHECK(all.soil_temperature_C[i] == one.soil_temperature_C);
      CHECK(all.pore_filling[i] == one.pore_filling);
      CHECK(all.water_potential_MPa[i] == one.water_potential_MPa);
      CHECK(all.surface_water_mm_d[i] == one.surface_water_mm_d);
      CHECK(all.drained_top_d[i] == one.drained_top_d);
      CHECK(all.drained_sub_d[i] == one.drained_sub_d);
      CHECK(all.crop_demand_g_m2_d[i] == one.crop_demand_g_m2_d);
      CHECK(all.cover_demand_g_m2_d[i] == one.cover_demand_g_m2_d);
      CHECK(all.wind_factor[i] == one.wind_factor);
    }
  }
}

TEST_CASE("weather drivers: constant weather gives constant temperatures", "[engine][weather_drivers]") {
  const double mulch_g_m2 = GENERATE(0.0, 900.0);
  const Weather weather = weather_of(std::vector<WeatherDay>(400, plain_day(10.0, 20.0, 3.0)));
  WeatherDriversInput in = whole_run(weather);
  in.mulch = {{.day = 0, .surface_added = mulch_g_m2}};
  const WeatherDrivers out = weather_drivers(in);
  REQUIRE(out.drivers.days.size() == 400);
  for (const auto& day : out.drivers.days) {
    for (const double T : day.temperature_C) CHECK(T == Approx(15.0).epsilon(1e-13));
    CHECK(day.soil_temperature_C == Approx(15.0).epsilon(1e-13));
    CHECK(day.water_mm_d[1] == 3.0);
  }
}

TEST_CASE("weather drivers: one value for every day of the run, within bounds",
          "[engine][weather_drivers][property]") {
  const Weather weather = random_weather(1200);
  WeatherDriversInput in = whole_run(weather);
  in.mulch = {{.day = 10, .standing_added = 300.0, .surface_added = 600.0},
              {.day = 150, .standing_kept = 0.2, .standing_flattened = 0.7, .surface_kept = 0.5}};
  in.crops = {even_season(18.0, 120), even_season(20.0, 485)};
  const WeatherDrivers out = weather_drivers(in);
  CHECK(out.drivers.start == in.start);
  CHECK(out.drivers.days.size() == 1200);
  for (const auto* series : {&out.mulch_g_m2, &out.reference_ET_mm, &out.snow_mm, &out.soil_moisture}) {
    CHECK(series->size() == 1200);
    CHECK(*std::min_element(series->begin(), series->end()) >= 0.0);
  }
  double demand = 0.0;
  for (std::size_t d = 0; d < 1200; ++d) {
    const DayDrivers<double>& day = out.drivers.days[d];
    for (const double wetness : {day.standing_wetness, day.surface_wetness, day.pore_filling}) {
      CHECK(wetness >= 0.0);
      CHECK(wetness <= 1.0);
    }
    for (const double T : day.temperature_C) CHECK(std::abs(T) < 40.0);
    for (const double w : {day.water_mm_d[0], day.water_mm_d[2], day.drained_top_d, day.drained_sub_d})
      CHECK(w >= 0.0);
    CHECK(day.water_mm_d[0] <= day.water_mm_d[1]);
    // what mulch intercepts does not enter the soil; mulch that loses 0.35 % a day of 3 mm lets 0.01 mm drip
    CHECK(day.water_mm_d[2] <= day.water_mm_d[1] + 0.01);
    CHECK(day.water_potential_MPa < 0.0);
    demand += day.crop_demand_g_m2_d;
  }
  CHECK(demand == Approx(38.0).epsilon(1e-12));
  CHECK_FALSE(out.penman_monteith);
}

TEST_CASE("weather drivers: rain and snow all reach the residue in the end", "[engine][weather_drivers]") {
  const Weather weather = random_weather(1100);
  const WeatherDrivers out = weather_drivers(whole_run(weather));
  double in = 0.0, through = 0.0;
  for (std::size_t d = 0; d < weather.days.size(); ++d) {
    in += weather.days[d].rain_mm;
    through += out.drivers.days[d].water_mm_d[1];
    CHECK(in == Approx(through + out.snow_mm[d]).epsilon(1e-12));
  }
}

TEST_CASE("weather drivers: a run within its weather is the same run", "[engine][weather_drivers]") {
  const Weather weather = random_weather(700);
  constexpr int lead = 200;
  WeatherDriversInput in = whole_run(weather);
  in.crops = {even_season(18.0, 300)};
  const WeatherDrivers all = weather_drivers(in);
  in.start += days{lead};
  in.days -= lead;
  in.crops[0].planting_day -= lead;
  const WeatherDrivers later = weather_drivers(in);
  REQUIRE(later.drivers.days.size() == 500);
  for (std::size_t d = 0; d < 500; ++d) {
    const DayDrivers<double>&a = all.drivers.days[d + lead], &b = later.drivers.days[d];
    CHECK(a.temperature_C == b.temperature_C);
    CHECK(a.water_mm_d == b.water_mm_d);
    CHECK(a.surface_wetness == b.surface_wetness);
    CHECK(a.pore_filling == b.pore_filling);
    CHECK(a.crop_demand_g_m2_d == b.crop_demand_g_m2_d);
    CHECK(all.reference_ET_mm[d + lead] == later.reference_ET_mm[d]);
  }
}

TEST_CASE("weather drivers: weather that does not cover the run is refused", "[engine][weather_drivers]") {
  const Weather weather = random_weather(100);
  WeatherDriversInput in = whole_run(weather);
  CHECK_NOTHROW(weather_drivers(in));
  in.days = 101;  // ends a day late
  CHECK_THROWS_AS(weather_drivers(in), JobError);
  in.days = 50;
  in.start -= days{1};  // starts a day early
  CHECK_THROWS_AS(weather_drivers(in), JobError);
  in.start += days{52};  // a day too late for 50 days
  CHECK_THROWS_AS(weather_drivers(in), JobError);
  in.start -= days{1};
  CHECK_NOTHROW(weather_drivers(in));
}

TEST_CASE("weather drivers: the southern hemisphere has its summer in January", "[engine][weather_drivers]") {
  // The same air on every day: evaporation then follows the sun alone, Hargreaves' R_a (FAO-56 Eq. 52)
  const std::vector<WeatherDay> same(365, plain_day(10.0, 20.0, 0.0));
  const Weather north = weather_of(same, 42.0), south = weather_of(same, -42.0);
  const auto ET_north = weather_drivers(whole_run(north)).reference_ET_mm;
  const auto ET_south = weather_drivers(whole_run(south)).reference_ET_mm;
  CHECK(ET_south[0] > 2.0 * ET_north[0]);
  CHECK(ET_north[181] > 2.0 * ET_south[181]);
  for (int day = 1; day <= 182; day += 13) {  // mirrored half a year later, but for the sun's distance
    const auto by_distance = [](const std::vector<double>& ET, int when) {
      return ET[static_cast<std::size_t>(when - 1)] / sun(0.0, when).inverse_distance;
    };
    const double mirrored = 0.5 * (by_distance(ET_north, day + 182) + by_distance(ET_north, day + 183));
    CHECK(by_distance(ET_south, day) == Approx(mirrored).epsilon(1e-3));  // 182.5 days are not a whole number
  }
}

TEST_CASE("weather drivers: Penman-Monteith as soon as its inputs are there",
          "[engine][weather_drivers][golden]") {
  // FAO-56 Example 18, read in the full text: 6 July at 50 deg 48' N, 100 m; ET_0 3.88 mm. The daily mean
  // humidity that gives its vapour pressure is 1.409/1.9975 of saturation (derived here).
  Weather weather = weather_of({plain_day(12.3, 21.5, 0.0), plain_day(12.3, 21.5, 0.0)}, 50.0 + 48.0 / 60.0);
  weather.start = year{2021} / 7 / 6;
  weather.elevation_m = 100.0;
  weather.days[0].radiation_MJ_m2 = 22.07;
  weather.days[0].wind_m_s = 2.078;
  weather.days[0].humidity_percent = 100.0 * 1.409 / 1.9975;
  const WeatherDrivers out = weather_drivers(whole_run(weather));
  CHECK(out.penman_monteith);
  CHECK(out.reference_ET_mm[0] == Approx(3.88).epsilon(0.0).margin(0.005));
  const double Ra = extraterrestrial_radiation_MJ_m2(weather.latitude_deg, 188);
  CHECK(out.reference_ET_mm[1] == Approx(hargreaves_mm(12.3, 21.5, Ra)).epsilon(1e-14));  // nothing but air
}

TEST_CASE(
    "weather drivers: Penman-Monteith without wind takes 2 m/s, without humidity or radiation Hargreaves",
    "[engine][weather_drivers][golden]") {
  // FAO-56 Example 20, read in the full text: 45 deg 43' N, 200 m, July (mean day 196), 26.6 and 14.8 degC,
  // no other measurement. Its estimates: vapour pressure e0(tmin), R_s 0.16 sqrt(range) R_a = 22.29, wind 2
  // m/s; ET_0 then 4.56 mm, 4.2 with 1 m/s, 4.8 with 3 m/s; by Hargreaves 5.0.
  WeatherDay day = plain_day(14.8, 26.6, 0.0);
  day.radiation_MJ_m2 = 22.29;
  day.humidity_percent = 100.0 * saturation_vapour_kPa(14.8) /
                         (0.5 * (saturation_vapour_kPa(14.8) + saturation_vapour_kPa(26.6)));
  std::vector<WeatherDay> days(6, day);
  days[1].wind_m_s = 2.0;
  days[2].wind_m_s = 1.0;
  days[3].wind_m_s = 3.0;
  days[4].humidity_percent = not_measured;
  days[5].radiation_MJ_m2 = not_measured;
  std::vector<double> ET;
  for (const WeatherDay& d : days) {
    Weather weather = weather_of({d}, 45.72);
    weather.start = year{2021} / 7 / 15;
    weather.elevation_m = 200.0;
    const WeatherDrivers out = weather_drivers(whole_run(weather));
    CHECK(out.penman_monteith == (ET.size() < 4));
    ET.push_back(out.reference_ET_mm[0]);
  }
  CHECK(ET[0] == Approx(4.56).margin(0.005));  // the printed digits
  CHECK(ET[0] == ET[1]);
  CHECK(ET[2] == Approx(4.2).margin(0.05));
  CHECK(ET[3] == Approx(4.8).margin(0.05));
  CHECK(ET[4] == Approx(5.0).margin(0.05));
  CHECK(ET[5] == ET[4]);
}

TEST_CASE("weather drivers: measured soil temperature and moisture replace the estimates",
          "[engine][weather_drivers]") {
  Weather weather = random_weather(60);
  const WeatherDrivers estimated = weather_drivers(whole_run(weather));
  weather.days[30].soil_temperature_C = 7.5;
  weather.days[40].soil_moisture_m3_m3 = 0.19;
  const WeatherDriversInput in = whole_run(weather);
  const WeatherDrivers measured = weather_drivers(in);
  CHECK(measured.drivers.days[30].soil_temperature_C == 7.5);
  CHECK(measured.drivers.days[30].temperature_C[2] == 7.5);
  CHECK(estimated.drivers.days[30].temperature_C[2] != 7.5);
  CHECK(measured.drivers.days[29].temperature_C == estimated.drivers.days[29].temperature_C);
  CHECK(measured.drivers.days[40].pore_filling == Approx(0.19 / in.soil.porosity).epsilon(1e-14));
  CHECK(measured.drivers.days[40].water_potential_MPa == in.soil.water_potential_MPa(0.19));
  CHECK(measured.soil_moisture[40] == 0.19);
  CHECK(measured.soil_moisture[39] == estimated.soil_moisture[39]);
}

TEST_CASE("weather drivers: snow insulates the soil", "[engine][weather_drivers]") {
  // Mild, then a fortnight of hard frost, with 200 mm of snow measured or with none
  std::vector<WeatherDay> days(60, plain_day(2.0, 8.0, 0.0));
  for (std::size_t d = 40; d < 54; ++d) days[d] = plain_day(-20.0, -10.0, 0.0);
  const Weather open = weather_of(days);
  for (std::size_t d = 40; d < 54; ++d) days[d].snow_depth_mm = 200.0;
  const Weather covered = weather_of(days);
  const auto bare = weather_drivers(whole_run(open)), snowy = weather_drivers(whole_run(covered));
  const DayDrivers<double>&cold = bare.drivers.days[53], &warm = snowy.drivers.days[53];
  CHECK(cold.temperature_C[2] < -12.0);  // follows the air
  CHECK(warm.temperature_C[2] > cold.temperature_C[2] + 5.0);
  CHECK(warm.temperature_C[1] > cold.temperature_C[1] + 5.0);
  CHECK(warm.temperature_C[0] == cold.temperature_C[0]);  // standing residue is in the air
}

TEST_CASE("weather drivers: snow lies until it melts, and no water moves meanwhile",
          "[engine][weather_drivers]") {
  std::vector<WeatherDay> days(60, plain_day(-12.0, -4.0, 2.0));
  for (std::size_t d = 30; d < 60; ++d) days[d] = plain_day(0.0, 8.0, 0.0);
  const Weather weather = weather_of(days);
  const WeatherDrivers out = weather_drivers(whole_run(weather));
  for (std::size_t d = 0; d < 30; ++d) {
    CHECK(out.drivers.days[d].water_mm_d[1] == 0.0);
    CHECK(out.snow_mm[d] == Approx(2.0 * static_cast<double>(d + 1)).epsilon(1e-13));
  }
  CHECK(out.drivers.days[30].water_mm_d[1] == Approx(4.0 * default_parameters().snow_melt_mm).epsilon(1e-13));
  CHECK(out.snow_mm[59] == 0.0);
}

TEST_CASE("weather drivers: a measured snow depth replaces the estimated pack", "[engine][weather_drivers]") {
  // Snow falls on ten cold days, then it grows colder. The estimate keeps all of it; the station saw it blown
  // off on day 20, or never deep enough to cover (50 mm).
  std::vector<WeatherDay> days(40, plain_day(-12.0, -4.0, 0.0));
  for (std::size_t d = 0; d < 10; ++d) days[d].rain_mm = 2.0;
  for (std::size_t d = 20; d < 40; ++d) days[d] = plain_day(-24.0, -16.0, 0.0);
  const Weather estimated = weather_of(days);
  for (std::size_t d = 20; d < 40; ++d) days[d].snow_depth_mm = 0.0;
  const Weather blown_off = weather_of(days);
  for (std::size_t d = 20; d < 40; ++d) days[d].snow_depth_mm = 49.0;
  const Weather thin = weather_of(days);
  const auto by_pack = weather_drivers(whole_run(estimated)), by_none = weather_drivers(whole_run(blown_off)),
             by_thin = weather_drivers(whole_run(thin));
  CHECK(by_pack.snow_mm[39] == Approx(20.0).epsilon(1e-13));
  CHECK(by_none.snow_mm[19] == by_pack.snow_mm[19]);
  CHECK(by_none.snow_mm[20] == 0.0);
  CHECK(by_none.drivers.days[20].water_mm_d[1] == Approx(20.0).epsilon(1e-13));  // nothing is lost
  CHECK(by_none.drivers.days[21].water_mm_d[1] == 0.0);
  CHECK(by_thin.snow_mm[39] == by_pack.snow_mm[39]);
  CHECK(by_none.drivers.days[25].temperature_C[2] < by_pack.drivers.days[25].temperature_C[2] - 2.0);
  CHECK(by_thin.drivers.days[25].temperature_C[2] == by_none.drivers.days[25].temperature_C[2]);

  // snow of the very day is not taken for old snow
  std::vector<WeatherDay> fresh(3, plain_day(-12.0, -4.0, 0.0));
  for (WeatherDay& d : fresh) d.snow_depth_mm = 0.0;
  fresh[1].rain_mm = 5.0;
  const Weather snowy = weather_of(fresh);
  const auto out = weather_drivers(whole_run(snowy));
  CHECK(out.drivers.days[1].water_mm_d[1] == 0.0);
  CHECK(out.drivers.days[2].water_mm_d[1] == 5.0);
}

TEST_CASE("weather drivers: mulch keeps spring soil cooler and early winter soil warmer",
          "[engine][weather_drivers]") {
  // Maize residue: weekly mean at 100 mm 0 to 1.9 C cooler after planting (Shen et al. 2018), warmer in
  // winter (study of 1984 to 1987); both read in the abstract. Air is a smooth yearly wave here, warmest on
  // day 91.
  const Weather weather = yearly_weather(four_years);
  const auto bare = buried_C(weather_drivers(whole_run(weather)));
  WeatherDriversInput in = whole_run(weather);
  in.mulch = {{.day = 0, .surface_added = 900.0}};
  const auto mulched = buried_C(weather_drivers(in));
  const std::size_t rising = 365, falling = 365 + 183;  // air passes its mean
  CHECK(mulched[rising] < bare[rising]);
  CHECK(mulched[rising] > bare[rising] - 1.5);
  CHECK(mulched[falling] > bare[falling]);
  CHECK(mulched[falling] < bare[falling] + 1.5);
}

TEST_CASE("weather drivers: mulch holds back water and keeps the soil moist", "[engine][weather_drivers]") {
  std::vector<WeatherDay> days(30, plain_day(15.0, 28.0, 0.0));
  days[0].rain_mm = 20.0;
  const Weather weather = weather_of(days);
  WeatherDriversInput in = whole_run(weather);
  const WeatherDrivers bare = weather_drivers(in);
  in.mulch = {{.day = 0, .surface_added = 900.0}};
  const WeatherDrivers mulched = weather_drivers(in);
  const double kept = in.parameters.residue_capacity * 0.9;  // 3.4 g/g of 0.9 kg m-2: 3.06 mm, dry before
  CHECK(bare.drivers.days[0].water_mm_d[2] == 20.0);
  CHECK(mulched.drivers.days[0].water_mm_d[2] == Approx(20.0 - kept).epsilon(1e-13));
  CHECK(mulched.soil_moisture[20] > bare.soil_moisture[20]);
  CHECK(mulched.mulch_g_m2[0] == 900.0);
  CHECK(mulched.mulch_g_m2[29] == Approx(900.0 * std::exp(-29 * in.parameters.mulch_loss)).epsilon(1e-12));
}
