#pragma once
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "scenarios/weather/weather_normals.hpp"

namespace stoverturn {

/// A built-in climate of a region where corn grows: one station's normals, for weather_generator.hpp.
struct ClimateRow {
  std::string_view name;
  std::string_view station;
  double latitude_deg, elevation_m;
  MonthlyNormals normals;
  std::string_view source;  ///< figures recalled and not looked up are marked "from memory"
};

std::span<const ClimateRow> climate_table();

/// Row of that name, in upper or lower case; nullptr when there is none.
const ClimateRow* find_climate(std::string_view name);

std::vector<std::string> climate_names();

}  // namespace stoverturn
