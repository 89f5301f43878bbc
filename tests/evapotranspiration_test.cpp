#include "engine/evapotranspiration.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "engine/soil_water.hpp"
#include "tests/catch.hpp"

using namespace stoverturn;

// FAO Irrigation and Drainage Paper 56 (Allen et al. 1998), read in its full text. Its worked examples carry
// rounded intermediate values, so a result is right to half of its last printed digit unless said otherwise.

namespace {

Approx printed(double value, double last_digit) {
  return Approx(value).epsilon(0.0).margin(0.5 * last_digit);
}

/// 1 mm of water is 2.45 MJ m-2.
double as_mm(double MJ_m2) { return 0.408 * MJ_m2; }

constexpr double degrees(double whole, double minutes) { return whole + minutes / 60.0; }

}  // namespace

TEST_CASE("evapotranspiration: FAO-56 Example 8, extraterrestrial radiation", "[engine][fao56][golden]") {
  // 20 S on 3 September, day 246
  const Sun s = sun(-20.0, 246);
  CHECK(s.inverse_distance == printed(0.985, 0.001));
  CHECK(s.declination_rad == printed(0.120, 0.001));
  CHECK(s.sunset_angle_rad == printed(1.527, 0.001));
  const double Ra = extraterrestrial_radiation_MJ_m2(-20.0, 246);
  CHECK(Ra == printed(32.2, 0.1));
  CHECK(as_mm(Ra) == printed(13.1, 0.1));
}

TEST_CASE("evapotranspiration: FAO-56 Example 9, daylight hours", "[engine][fao56][golden]") {
  CHECK(daylight_h(-20.0, 246) == printed(11.7, 0.1));
}

TEST_CASE("evapotranspiration: FAO-56 Examples 10 to 12, radiation at Rio de Janeiro",
          "[engine][fao56][golden]") {
  // 22 deg 54' S in May (day 135), 220 hours of sun in 31 days, 25.1 and 19.1 C, vapour pressure 2.1 kPa
  const double latitude = -degrees(22, 54);
  const double Ra = extraterrestrial_radiation_MJ_m2(latitude, 135);
  const double N = daylight_h(latitude, 135);
  const double Rs = radiation_from_sunshine_MJ_m2(Ra, 220.0 / 31.0, N);
  CHECK(Ra == printed(25.1, 0.1));
  CHECK(N == printed(10.9, 0.1));
  CHECK(Rs == printed(14.5, 0.1));
  CHECK(as_mm(Rs) == printed(5.9, 0.1));

  const NetRadiation r = net_radiation({.tmin_C = 19.1,
                                        .tmax_C = 25.1,
                                        .vapour_kPa = 2.1,
                                        .wind_m_s = 0.0,
                                        .radiation_MJ_m2 = 14.5,
                                        .extraterrestrial_MJ_m2 = 25.1,
                                        .elevation_m = 0.0});
  CHECK(r.longwave == printed(3.5, 0.1));
  // The text prints 11.1 and 7.6; 0.77 x 14.5 is 11.17, cut and not rounded: a whole last digit.
  CHECK(r.shortwave == Approx(11.1).epsilon(0.0).margin(0.1));
  CHECK(r.net == Approx(7.6).epsilon(0.0).margin(0.1));
}

TEST_CASE("evapotranspiration: FAO-56 Example 14, wind at 2 m", "[engine][fao56][golden]") {
  CHECK(wind_at_2m_m_s(1.0, 10.0) == printed(0.75, 0.01));
  CHECK(wind_at_2m_m_s(3.2, 10.0) == printed(2.4, 0.1));
  CHECK(wind_at_2m_m_s(3.2, 2.0) == Approx(3.2).epsilon(1e-3));  // 4.87 in Eq. 47 is printed to three digits
}

TEST_CASE("evapotranspiration: FAO-56 Example 17, monthly at Bangkok", "[engine][fao56][golden]") {
  // 13 deg 44' N in April (day 105), 2 m, 34.8 and 25.6 C, e_a 2.85 kPa, wind 2 m/s, 8.5 h of sun, G 0.14
  const double latitude = degrees(13, 44);
  const double Ra = extraterrestrial_radiation_MJ_m2(latitude, 105);
  const double Rs = radiation_from_sunshine_MJ_m2(Ra, 8.5, daylight_h(latitude, 105));
  CHECK(Ra == printed(38.06, 0.01));
  CHECK(Rs == printed(22.65, 0.01));
  const PenmanMonteithDay day{.tmin_C = 25.6,
                              .tmax_C = 34.8,
                              .vapour_kPa = 2.85,
                              .wind_m_s = 2.0,
                              .radiation_MJ_m2 = Rs,
                              .extraterrestrial_MJ_m2 = Ra,
                              .elevation_m = 2.0,
                              .soil_heat_MJ_m2 = 0.14};
  const NetRadiation r = net_radiation(day);
  CHECK(r.clear_sky == printed(28.54, 0.01));
  CHECK(r.shortwave == printed(17.44, 0.01));
  CHECK(r.longwave == printed(3.11, 0.01));
  CHECK(r.net == printed(14.33, 0.01));
  CHECK(penman_monteith_mm(day) == printed(5.72, 0.01));
}

TEST_CASE("evapotranspiration: FAO-56 Example 18, daily at Brussels", "[engine][fao56][golden]") {
  // 50 deg 48' N on 6 July (day 187), 100 m, 21.5 and 12.3 C, humidity 84 and 63 %, 10 km/h at 10 m, 9.25 h
  // of sun
  const double latitude = degrees(50, 48), elevation = 100.0, tmax = 21.5, tmin = 12.3;
  CHECK(pressure_kPa(elevation) == printed(100.1, 0.1));
  CHECK(psychrometric_kPa_K(elevation) == printed(0.0666, 0.0001));
  CHECK(vapour_slope_kPa_K(0.5 * (tmin + tmax)) == printed(0.122, 0.001));
  const double e_min = saturation_vapour_kPa(tmin), e_max = saturation_vapour_kPa(tmax);
  CHECK(0.5 * (e_min + e_max) == printed(1.997, 0.001));
  const double e_a = 0.5 * (e_min * 0.84 + e_max * 0.63);
  CHECK(e_a == printed(1.409, 0.001));
  const double u2 = wind_at_2m_m_s(10.0 / 3.6, 10.0);
  CHECK(u2 == Approx(2.078).epsilon(0.0).margin(0.001));  // 2.78 m/s and 0.748 as printed there

  const double Ra = extraterrestrial_radiation_MJ_m2(latitude, 187), N = daylight_h(latitude, 187);
  const double Rs = radiation_from_sunshine_MJ_m2(Ra, 9.25, N);
  CHECK(Ra == printed(41.09, 0.01));
  CHECK(N == printed(16.1, 0.1));
  CHECK(Rs == printed(22.07, 0.01));
  const PenmanMonteithDay day{.tmin_C = tmin,
                              .tmax_C = tmax,
                              .vapour_kPa = e_a,
                              .wind_m_s = u2,
                              .radiation_MJ_m2 = Rs,
                              .extraterrestrial_MJ_m2 = Ra,
                              .elevation_m = elevation};
  const NetRadiation r = net_radiation(day);
  CHECK(r.clear_sky == printed(30.90, 0.01));
  CHECK(r.shortwave == printed(17.00, 0.01));
  CHECK(r.longwave == printed(3.71, 0.01));
  CHECK(r.net == printed(13.28, 0.01));
  CHECK(penman_monteith_mm(day) == printed(3.88, 0.01));
}

TEST_CASE("evapotranspiration: FAO-56 Example 20, missing data at Lyon", "[engine][fao56][golden]") {
  // 45 deg 43' N in July (day 196), 200 m, 26.6 and 14.8 C; vapour pressure from the minimum, wind assumed
  const double tmax = 26.6, tmin = 14.8;
  const double Ra = extraterrestrial_radiation_MJ_m2(degrees(45, 43), 196);
  const double Rs = radiation_from_range_MJ_m2(Ra, tmin, tmax);
  CHECK(Ra == printed(40.55, 0.01));
  CHECK(Rs == printed(22.29, 0.01));
  PenmanMonteithDay day{.tmin_C = tmin,
                        .tmax_C = tmax,
                        .vapour_kPa = saturation_vapour_kPa(tmin),
                        .wind_m_s = 2.0,
                        .radiation_MJ_m2 = Rs,
                        .extraterrestrial_MJ_m2 = Ra,
                        .elevation_m = 200.0};
  CHECK(net_radiation(day).net == printed(13.48, 0.01));
  CHECK(penman_monteith_mm(day) == printed(4.56, 0.01));
  day.wind_m_s = 1.0;
  CHECK(penman_monteith_mm(day) == printed(4.2, 0.1));
  day.wind_m_s = 3.0;
  CHECK(penman_monteith_mm(day) == printed(4.8, 0.1));
  CHECK(hargreaves_mm(tmin, tmax, Ra) == printed(5.0, 0.1));
}

TEST_CASE("evapotranspiration: FAO-56 Example 31, drying of bare soil", "[engine][fao56][golden]") {
  // TEW 20 mm, REW 9 mm, K_cb 0.15, K_c max 1.20, ET_0 4.5 mm/d, all of the soil exposed (f_ew = 1)
  SurfaceDepletion soil;
  const std::vector<double> end_of_day = {4.73, 9.45, 13.98, 16.57, 18.04};
  const std::vector<double> with_crop = {5.4, 5.4, 5.2, 3.3, 2.1};  // (K_cb + K_e) ET_0
  for (std::size_t i = 0; i < end_of_day.size(); ++i) {
    INFO("day " << i + 1);
    const double E = soil.evaporate(4.5, 0.15, 1.20, 20.0, 9.0);
    CHECK(soil.depletion_mm == Approx(end_of_day[i]).epsilon(0.0).margin(0.005 + 1e-12));
    CHECK(E + 0.15 * 4.5 == printed(with_crop[i], 0.1));
  }
  for (const double expected : {18.88, 19.36, 19.64, 19.79, 19.88}) {  // days 6 to 10: derived here
    soil.evaporate(4.5, 0.15, 1.20, 20.0, 9.0);
    CHECK(soil.depletion_mm == printed(expected, 0.01));
  }
  soil.wet(6.0);
  CHECK(soil.depletion_mm == printed(13.88, 0.01));
  soil.wet(50.0);  // more rain than was missing
  CHECK(soil.depletion_mm == 0.0);
}

TEST_CASE("evapotranspiration: the surface layer never gives more than it holds", "[engine][fao56]") {
  SurfaceDepletion soil;
  double given = 0.0;
  for (int day = 0; day < 50; ++day) {
    const double E = soil.evaporate(30.0, 0.0, 1.20, 20.0, 9.0);  // far beyond any weather
    CHECK(E >= 0.0);
    given += E;
  }
  CHECK(given == Approx(20.0).epsilon(1e-12));
  CHECK(soil.depletion_mm <= 20.0);
}

TEST_CASE("evapotranspiration: polar night and polar day", "[engine][fao56]") {
  constexpr int june = 172, december = 355;
  for (const double latitude : {70.0, 80.0, 90.0}) {
    INFO("latitude " << latitude);
    CHECK(daylight_h(latitude, december) == 0.0);
    CHECK(extraterrestrial_radiation_MJ_m2(latitude, december) == Approx(0.0).margin(1e-12));
    CHECK(daylight_h(latitude, june) == Approx(24.0).epsilon(1e-14));
    CHECK(extraterrestrial_radiation_MJ_m2(latitude, june) > 35.0);
    CHECK(daylight_h(-latitude, june) == 0.0);
    CHECK(daylight_h(-latitude, december) == Approx(24.0).epsilon(1e-14));
    // clear of the sun the pole still has a defined day: no NaN, nothing negative
    const double Ra = extraterrestrial_radiation_MJ_m2(latitude, december);
    CHECK(hargreaves_mm(-30.0, -20.0, Ra) == 0.0);
    const PenmanMonteithDay night{.tmin_C = -30.0,
                                  .tmax_C = -20.0,
                                  .vapour_kPa = 0.05,
                                  .wind_m_s = 3.0,
                                  .radiation_MJ_m2 = 0.0,
                                  .extraterrestrial_MJ_m2 = Ra,
                                  .elevation_m = 0.0};
    CHECK(std::isfinite(penman_monteith_mm(night)));
    CHECK(penman_monteith_mm(night) >= 0.0);
  }
}

TEST_CASE("evapotranspiration: days around the year", "[engine][fao56][property]") {
  for (double latitude = -90.0; latitude <= 90.0; latitude += 7.5) {
    for (int day = 1; day <= 366; ++day) {
      const double N = daylight_h(latitude, day), Ra = extraterrestrial_radiation_MJ_m2(latitude, day);
      INFO("latitude " << latitude << ", day " << day);
      CHECK((N >= 0.0 && N <= 24.0 + 1e-12));
      // most at the pole at midsummer: 1440 x 0.0820 x 1.033 sin(0.409) = 48.5 (derived here)
      CHECK((Ra >= 0.0 && Ra < 48.6));
      CHECK(daylight_h(-latitude, day) == Approx(24.0 - N).margin(1e-9));  // day here is night there
    }
  }
  for (int day = 1; day <= 366; ++day) CHECK(daylight_h(0.0, day) == Approx(12.0).epsilon(1e-14));
}

TEST_CASE("evapotranspiration: the south mirrors the north half a year later", "[engine][fao56]") {
  // Same height of the sun, other distance: R_a/d_r agrees. 182.5 days later lie between two days, whose mean
  // is right to the curvature, (pi/365)^2/2 = 4e-5 of the yearly wave and four times that of a half-yearly
  // one.
  for (const double latitude : {15.0, 42.0, 60.0}) {
    for (int day = 1; day <= 182; day += 13) {
      const auto by_distance = [&](double where, int when) {
        return extraterrestrial_radiation_MJ_m2(where, when) / sun(where, when).inverse_distance;
      };
      const double north = 0.5 * (by_distance(latitude, day + 182) + by_distance(latitude, day + 183));
      CHECK(by_distance(-latitude, day) == Approx(north).epsilon(0.0).margin(2e-4 * 45.0));
    }
  }
}

TEST_CASE("evapotranspiration: never negative, finite without a daily range", "[engine][fao56]") {
  CHECK(hargreaves_mm(-25.0, -20.0, 10.0) == 0.0);  // below -17.8 C
  CHECK(hargreaves_mm(10.0, 10.0, 30.0) == 0.0);
  CHECK(hargreaves_mm(12.0, 10.0, 30.0) == 0.0);  // minimum above maximum: no NaN
  CHECK(radiation_from_range_MJ_m2(30.0, 12.0, 10.0) == 0.0);
  const PenmanMonteithDay dewy{.tmin_C = -10.0,  // loses more radiation than it gains, in saturated air
                               .tmax_C = -5.0,
                               .vapour_kPa = 0.35,
                               .wind_m_s = 1.0,
                               .radiation_MJ_m2 = 3.0,
                               .extraterrestrial_MJ_m2 = 6.0,
                               .elevation_m = 0.0};
  CHECK(net_radiation(dewy).net < 0.0);
  CHECK(penman_monteith_mm(dewy) == 0.0);
}

TEST_CASE("evapotranspiration: slope of the vapour curve is its derivative", "[engine][fao56]") {
  for (double T = -20.0; T <= 45.0; T += 5.0) {
    const double difference = (saturation_vapour_kPa(T + 0.01) - saturation_vapour_kPa(T - 0.01)) / 0.02;
    CHECK(vapour_slope_kPa_K(T) ==
          Approx(difference).epsilon(5e-5));  // 17.27 x 237.3 is 4098.17, printed 4098
  }
}
