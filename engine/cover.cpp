#include "engine/cover.hpp"

#include <cmath>

namespace stoverturn {

double soil_cover(double cover_m2_g, double mass_g_m2) { return -std::expm1(-cover_m2_g * mass_g_m2); }

}  // namespace stoverturn
