#pragma once
#include "scenarios/text/table_reader.hpp"
#include "scenarios/weather/weather_normals.hpp"

namespace stoverturn {

/// [weather.normals]: tmax, tmin, rain, wet_days and, where known, temperature_sd, radiation, wind, humidity;
/// each twelve values, January to December, as one text with the unit behind ("-2 0 8 ... 1 degC") or a list
/// of quantities. `wet_day` is the least rain of a wet day. Adds its mistakes; what is wrong stays 0 or NaN.
MonthlyNormals read_normals(const Table& table, Position at, Mistakes& mistakes);

}  // namespace stoverturn
