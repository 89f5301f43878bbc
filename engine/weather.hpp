#pragma once
#include <chrono>
#include <limits>
#include <vector>

namespace stoverturn {

inline constexpr double not_measured = std::numeric_limits<double>::quiet_NaN();

/// One day at a weather station. What was not measured is NaN.
struct WeatherDay {
  double tmin_C = not_measured;
  double tmax_C = not_measured;
  double rain_mm = not_measured;  ///< rain and melted snow
  double radiation_MJ_m2 = not_measured;
  double wind_m_s = not_measured;          ///< at 2 m
  double humidity_percent = not_measured;  ///< daily mean relative humidity
  double snow_depth_mm = not_measured;
  double soil_temperature_C = not_measured;   ///< at 100 mm
  double soil_moisture_m3_m3 = not_measured;  ///< of the topsoil
};

/// Consecutive days, one entry a calendar day (leap days included).
struct Weather {
  std::chrono::sys_days start{};
  std::vector<WeatherDay> days;
  double latitude_deg = not_measured;  ///< south is negative
  double elevation_m = 0.0;
};

}  // namespace stoverturn
