#pragma once
#include "engine/soil.hpp"

namespace stoverturn {

/// Surface layer of FAO-56 (Eq. 71 to 77, Ze = 100 mm) as it dries: depletion D_e, mm.  docs/model.md, Eq. 30
struct SurfaceDepletion {
  double depletion_mm = 0.0;
  /// Evaporation E = min(K_r (Kc_max - K_cb), Kc_max) ET_0 of a day without rain between, mm; adds it.
  ///   K_r = 1 for D_e <= REW, else (TEW - D_e)/(TEW - REW);  TEW = 1000 (FC - 0.5 WP) Ze
  double evaporate(double ET0_mm, double basal_coefficient, double largest_coefficient, double total_mm,
                   double readily_mm);
  void wet(double water_mm);
};
double total_evaporable_mm(const Soil& soil);

/// Bucket of the topsoil over a bucket to 1 m.                        docs/model.md, Eq. 29
struct SoilWater {
  double top_mm = 0.0, sub_mm = 0.0;
  SurfaceDepletion surface;

  struct Demand {
    double reference_ET_mm;
    double basal_coefficient;  ///< K_cb of a crop; 0 for bare soil
    double shaded;             ///< share of evaporation that mulch withholds
  };
  struct Day {
    double moisture;  ///< mean of the topsoil, m3 m-3
    double drained_top_mm, drained_sub_mm;
    double evaporated_mm, transpired_mm;
  };
  /// Water enters, drains above field capacity at `k_drain`, evaporates and is transpired, in that order.
  Day step(const Soil& soil, double topsoil_mm, double subsoil_mm, double k_drain_d, double infiltration_mm,
           const Demand& demand);
};

}  // namespace stoverturn
