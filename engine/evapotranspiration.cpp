#include "engine/evapotranspiration.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace stoverturn {
namespace {
constexpr double pi = std::numbers::pi;
constexpr double mm_per_MJ_m2 = 0.408;
double square(double x) { return x * x; }
}  // namespace

Sun sun(double latitude_deg, int day_of_year) {
  const double year_angle = 2.0 * pi * day_of_year / 365.0;
  const double latitude_rad = latitude_deg * pi / 180.0;
  Sun s{};
  s.inverse_distance = 1.0 + 0.033 * std::cos(year_angle);
  s.declination_rad = 0.409 * std::sin(year_angle - 1.39);
  s.sunset_angle_rad =
      std::acos(std::clamp(-std::tan(latitude_rad) * std::tan(s.declination_rad), -1.0, 1.0));
  return s;
}

double extraterrestrial_radiation_MJ_m2(double latitude_deg, int day_of_year) {
  constexpr double solar_constant_MJ_m2_min = 0.0820;
  const Sun s = sun(latitude_deg, day_of_year);
  const double latitude_rad = latitude_deg * pi / 180.0;
  const double height = s.sunset_angle_rad * std::sin(latitude_rad) * std::sin(s.declination_rad) +
                        std::cos(latitude_rad) * std::cos(s.declination_rad) * std::sin(s.sunset_angle_rad);
  return std::max(0.0, 24.0 * 60.0 / pi * solar_constant_MJ_m2_min * s.inverse_distance * height);
}

double daylight_h(double latitude_deg, int day_of_year) {
  return 24.0 / pi * sun(latitude_deg, day_of_year).sunset_angle_rad;
}

double radiation_from_sunshine_MJ_m2(double Ra_MJ_m2, double sunshine_h, double possible_h) {
  return (0.25 + 0.50 * sunshine_h / possible_h) * Ra_MJ_m2;
}

double radiation_from_range_MJ_m2(double Ra_MJ_m2, double tmin_C, double tmax_C) {
  return 0.16 * std::sqrt(std::max(0.0, tmax_C - tmin_C)) * Ra_MJ_m2;
}

double saturation_vapour_kPa(double T) { return 0.6108 * std::exp(17.27 * T / (T + 237.3)); }

double vapour_slope_kPa_K(double T) { return 4098.0 * saturation_vapour_kPa(T) / square(T + 237.3); }

double pressure_kPa(double elevation_m) {
  return 101.3 * std::pow((293.0 - 0.0065 * elevation_m) / 293.0, 5.26);
}

double psychrometric_kPa_K(double elevation_m) { return 0.665e-3 * pressure_kPa(elevation_m); }

double wind_at_2m_m_s(double wind_m_s, double height_m) {
  return wind_m_s * 4.87 / std::log(67.8 * height_m - 5.42);
}

NetRadiation net_radiation(const PenmanMonteithDay& d) {
  constexpr double sigma = 4.903e-9, albedo = 0.23;
  NetRadiation r{};
  r.clear_sky = (0.75 + 2e-5 * d.elevation_m) * d.extraterrestrial_MJ_m2;
  r.shortwave = (1.0 - albedo) * d.radiation_MJ_m2;
  const double emitted =
      sigma * 0.5 * (square(square(d.tmax_C + 273.16)) + square(square(d.tmin_C + 273.16)));
  const double sky = r.clear_sky > 0.0 ? std::clamp(d.radiation_MJ_m2 / r.clear_sky, 0.3, 1.0) : 1.0;
  r.longwave = emitted * (0.34 - 0.14 * std::sqrt(d.vapour_kPa)) * (1.35 * sky - 0.35);
  r.net = r.shortwave - r.longwave;
  return r;
}

double penman_monteith_mm(const PenmanMonteithDay& d) {
  const double T = 0.5 * (d.tmin_C + d.tmax_C);
  const double e_s = 0.5 * (saturation_vapour_kPa(d.tmin_C) + saturation_vapour_kPa(d.tmax_C));
  const double delta = vapour_slope_kPa_K(T);
  const double gamma = psychrometric_kPa_K(d.elevation_m);
  const double radiation = mm_per_MJ_m2 * delta * (net_radiation(d).net - d.soil_heat_MJ_m2);
  const double wind = gamma * 900.0 / (T + 273.0) * d.wind_m_s * (e_s - d.vapour_kPa);
  return std::max(0.0, (radiation + wind) / (delta + gamma * (1.0 + 0.34 * d.wind_m_s)));
}

double hargreaves_mm(double tmin_C, double tmax_C, double Ra_MJ_m2) {
  const double T = 0.5 * (tmin_C + tmax_C);
  const double range_K = std::max(0.0, tmax_C - tmin_C);
  return std::max(0.0, 0.0023 * (T + 17.8) * std::sqrt(range_K) * mm_per_MJ_m2 * Ra_MJ_m2);
}

}  // namespace stoverturn
