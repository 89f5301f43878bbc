#include "engine/soil_water.hpp"

#include <algorithm>
#include <cmath>

namespace stoverturn {
namespace {
constexpr double evaporating_layer_m = 0.10;
constexpr double largest_crop_coefficient = 1.20;
constexpr double easily_available = 0.55;  // p of maize, FAO-56 Table 22

/// Drains a bucket: all above saturation at once, what exceeds field capacity at k_drain.
double drain(double& water_mm, double capacity_mm, double saturated_mm, double k_drain_d) {
  const double overflow = std::max(0.0, water_mm - saturated_mm);
  water_mm -= overflow;
  const double drained = std::max(0.0, water_mm - capacity_mm) * -std::expm1(-k_drain_d);
  water_mm -= drained;
  return overflow + drained;
}
}  // namespace

double total_evaporable_mm(const Soil& soil) {
  return 1000.0 * (soil.field_capacity - 0.5 * soil.wilting_point) * evaporating_layer_m;
}

double SurfaceDepletion::evaporate(double ET0_mm, double basal, double largest, double total_mm,
                                   double readily_mm) {
  const double K_r = depletion_mm <= readily_mm ? 1.0 : (total_mm - depletion_mm) / (total_mm - readily_mm);
  const double K_e = std::clamp(K_r * (largest - basal), 0.0, largest);
  const double E = std::min(K_e * ET0_mm, total_mm - depletion_mm);
  depletion_mm += E;
  return E;
}

void SurfaceDepletion::wet(double water_mm) { depletion_mm = std::max(0.0, depletion_mm - water_mm); }

SoilWater::Day SoilWater::step(const Soil& soil, double topsoil_mm, double subsoil_mm, double k_drain_d,
                               double infiltration_mm, const Demand& demand) {
  const double lower_mm = subsoil_mm - topsoil_mm;
  Day day{};
  surface.wet(infiltration_mm);
  top_mm += infiltration_mm;
  const double wettest_mm = std::min(top_mm, soil.porosity * topsoil_mm);
  day.drained_top_mm = drain(top_mm, soil.field_capacity * topsoil_mm, soil.porosity * topsoil_mm, k_drain_d);
  sub_mm += day.drained_top_mm;
  day.drained_sub_mm = drain(sub_mm, soil.field_capacity * lower_mm, soil.porosity * lower_mm, k_drain_d);

  const double air_dry_mm = 0.5 * soil.wilting_point * topsoil_mm;
  const double E =
      surface.evaporate(demand.reference_ET_mm * (1.0 - demand.shaded), demand.basal_coefficient,
                        largest_crop_coefficient, total_evaporable_mm(soil), soil.readily_evaporable_mm);
  day.evaporated_mm = std::min(E, std::max(0.0, top_mm - air_dry_mm));
  surface.depletion_mm -= E - day.evaporated_mm;
  top_mm -= day.evaporated_mm;

  const double top_available = std::max(0.0, top_mm - soil.wilting_point * topsoil_mm);
  const double sub_available = std::max(0.0, sub_mm - soil.wilting_point * lower_mm);
  const double available = top_available + sub_available;
  const double most = (soil.field_capacity - soil.wilting_point) * subsoil_mm;
  const double K_s = std::min(1.0, available / ((1.0 - easily_available) * most));
  day.transpired_mm = std::min(K_s * demand.basal_coefficient * demand.reference_ET_mm, available);
  if (available > 0.0) {
    top_mm -= day.transpired_mm * top_available / available;
    sub_mm -= day.transpired_mm * sub_available / available;
  }
  day.moisture = 0.5 * (wettest_mm + top_mm) / topsoil_mm;
  return day;
}

}  // namespace stoverturn
