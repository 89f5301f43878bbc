#pragma once
#include <optional>

#include "engine/crop.hpp"
#include "engine/drivers.hpp"
#include "engine/irrigation.hpp"
#include "engine/mulch.hpp"
#include "engine/parameters.hpp"
#include "engine/soil.hpp"
#include "engine/weather.hpp"

namespace stoverturn {

/// From daily weather to the residue's climate.                      docs/model.md, Eq. 25 to 33
struct WeatherDriversInput {
  const Weather* weather = nullptr;  ///< may start before `start`: the days before spin the soil up
  std::chrono::sys_days start{};
  int days = 0;
  Soil soil;
  double burial_depth_mm = 100.0;
  std::vector<MulchEvent> mulch;        ///< by day of the run, in order
  std::vector<CropCourse> crops;        ///< that transpire and take N out of the field
  std::vector<CropCourse> covers;       ///< cover crops: their N stays in the field
  std::vector<Irrigation> irrigations;  ///< by day of the run, in order
  std::optional<IrrigationRule> irrigation_rule;
  Parameters<double> parameters;
  bool operator==(const WeatherDriversInput&) const = default;
};

/// The drivers and, for reports, what they were made of (one value a day).
struct WeatherDrivers {
  Drivers<double> drivers;
  std::vector<double> mulch_g_m2;  ///< prescribed, flat on the surface
  std::vector<double> reference_ET_mm;
  std::vector<double> snow_mm;        ///< as water
  std::vector<double> soil_moisture;  ///< of the topsoil, m3 m-3
  std::vector<double> irrigation_mm;
  bool penman_monteith = false;  ///< some days had radiation and humidity; the others took Hargreaves
};

/// Throws JobError when the weather does not cover the run.
WeatherDrivers weather_drivers(const WeatherDriversInput& input);

}  // namespace stoverturn
