#include "engine/residue_water.hpp"

#include <algorithm>
#include <cmath>

namespace stoverturn {

ResidueWater::Day ResidueWater::step(double water_in_mm, double capacity_mm, double drying_mm_d) {
  const double before = water_mm;
  const double filled = std::min(capacity_mm, before + water_in_mm);
  const double dries = drying_mm_d / capacity_mm;
  const double mean = dries > 1e-9 ? -std::expm1(-dries) / dries : 1.0;
  water_mm = filled * std::exp(-dries);
  return {filled / capacity_mm * mean, std::min(filled - before, water_in_mm)};
}

}  // namespace stoverturn
