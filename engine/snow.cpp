#include "engine/snow.hpp"

#include <algorithm>
#include <utility>

namespace stoverturn {

double SnowPack::step(double mean_C, double precipitation_mm, double snow_C, double melt_mm_per_K) {
  const bool snows = mean_C < snow_C;
  if (snows) water_mm += precipitation_mm;
  const double melt = std::min(water_mm, melt_mm_per_K * std::max(0.0, mean_C));
  water_mm -= melt;
  return melt + (snows ? 0.0 : precipitation_mm);
}

double SnowPack::gone() { return std::exchange(water_mm, 0.0); }

}  // namespace stoverturn
