#include "engine/thermal_time.hpp"

#include <algorithm>

namespace stoverturn {

double degree_days(double tmin_C, double tmax_C, double base_C, double cap_C) {
  return 0.5 * (std::clamp(tmin_C, base_C, cap_C) + std::clamp(tmax_C, base_C, cap_C)) - base_C;
}

}  // namespace stoverturn
