#pragma once

namespace stoverturn {

/// Water that residue holds, mm.                                      docs/model.md, Eq. 28
///   rain and melt fill it to capacity (g water per g dry matter times mass); it then dries at
///   drying ET_0 W/capacity, so W falls exponentially within the day
struct ResidueWater {
  double water_mm = 0.0;
  struct Day {
    double wetness;         ///< mean W/capacity of the day, 0 to 1
    double intercepted_mm;  ///< kept from the soil; negative when a capacity that shrinks lets water drip
  };
  Day step(double water_in_mm, double capacity_mm, double drying_mm_d);
};

}  // namespace stoverturn
