#include "engine/mulch.hpp"

#include <cmath>

namespace stoverturn {

void Mulch::apply(const MulchEvent& e) {
  surface_g_m2 = surface_g_m2 * e.surface_kept + standing_g_m2 * e.standing_flattened + e.surface_added;
  standing_g_m2 = standing_g_m2 * e.standing_kept + e.standing_added;
}

void Mulch::step(double loss_d, double fall_d) {
  const double fallen = standing_g_m2 * -std::expm1(-fall_d);
  standing_g_m2 = (standing_g_m2 - fallen) * std::exp(-loss_d);
  surface_g_m2 = (surface_g_m2 + fallen) * std::exp(-loss_d);
}

}  // namespace stoverturn
