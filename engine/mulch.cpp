#include "engine/mulch.hpp"

#include <algorithm>
#include <cmath>

namespace stoverturn {

void Mulch::apply(const MulchEvent& e) {
  surface_g_m2 = surface_g_m2 * e.surface_kept + standing_g_m2 * e.standing_flattened + e.surface_added;
  standing_g_m2 = standing_g_m2 * e.standing_kept + e.standing_added;
  const double there = (e.from_standing ? standing_g_m2 : 0.0) + (e.from_surface ? surface_g_m2 : 0.0);
  if (there <= 0.0) return;
  const double kept = 1.0 - std::min(1.0, e.removed_g_m2 / there);
  if (e.from_standing) standing_g_m2 *= kept;
  if (e.from_surface) surface_g_m2 *= kept;
}

void Mulch::step(double loss_d, double fall_d) {
  const double fallen = standing_g_m2 * -std::expm1(-fall_d);
  standing_g_m2 = (standing_g_m2 - fallen) * std::exp(-loss_d);
  surface_g_m2 = (surface_g_m2 + fallen) * std::exp(-loss_d);
}

}  // namespace stoverturn
