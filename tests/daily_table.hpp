#pragma once
/// tests/reference/daily_drivers.txt: a climate that R and the engine read from one file, so that weather and
/// water are not part of what is compared. Lines with # are remarks.
#include <chrono>
#include <fstream>
#include <sstream>
#include <stdexcept>
#include <string>

#include "engine/drivers.hpp"

namespace stoverturn {

/// A day of the table, in its columns' order; nothing stands here.
inline DayDrivers<double> day_of_table(std::istringstream& numbers) {
  DayDrivers<double> day{};
  double T_surface = 0.0, T_buried = 0.0, w_surface = 0.0, w_buried = 0.0;
  numbers >> T_surface >> T_buried >> day.soil_temperature_C >> day.surface_wetness >> day.pore_filling >>
      w_surface >> w_buried >> day.surface_water_mm_d >> day.drained_top_d >> day.drained_sub_d >>
      day.crop_demand_g_m2_d >> day.wind_factor;
  if (!numbers) throw std::runtime_error("daily table: a line has fewer than 12 numbers");
  day.temperature_C = {T_surface, T_surface, T_buried};
  day.water_mm_d = {w_surface, w_surface, w_buried};
  day.water_potential_MPa = -0.033;
  return day;
}

inline Drivers<double> read_daily_table(const std::string& path) {
  std::ifstream in(path);
  if (!in) throw std::runtime_error("cannot read " + path);
  Drivers<double> drivers;
  for (std::string line; std::getline(in, line);) {
    if (line.empty() || line[0] == '#') continue;
    std::istringstream numbers(line);
    drivers.days.push_back(day_of_table(numbers));
  }
  return drivers;
}

}  // namespace stoverturn
