#pragma once
#include "engine/weather.hpp"

namespace stoverturn {

/// What a climate does to residue, a year on average: days at 25 C and best moisture that would decay as much
/// (sum of the climate factor f). For a stated soil and residue: silt loam, 9 t/ha of corn residue lying flat
/// (renewed every autumn), or buried at 100 mm.
struct WeatherSums {
  double surface_d = 0.0, buried_d = 0.0, standing_d = 0.0;
  double reference_ET_mm = 0.0;
  double drained_mm = 0.0;  ///< below the topsoil
  bool penman_monteith = false;
};

/// Over the whole years of the record, or all of it when shorter. The latitude must be known.
WeatherSums weather_sums(const Weather& weather);

}  // namespace stoverturn
