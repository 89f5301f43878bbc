#include "engine/ammonia.hpp"

#include <algorithm>
#include <cmath>

namespace stoverturn {

double ammonia_share(double pH, double temperature_C) {
  const double pKa = 0.09018 + 2729.92 / (temperature_C + 273.15);
  return 1.0 / (1.0 + std::pow(10.0, pKa - pH));
}

double ammonia_pH(double pH) { return std::min(10.0, ammonia_share(pH, 25.0) / ammonia_share(7.5, 25.0)); }

double wind_factor(double wind_m_s, double power) {
  if (!std::isfinite(wind_m_s)) return 1.0;
  return std::pow(std::clamp(wind_m_s, 0.5, 2.5) / 2.0, power);
}

}  // namespace stoverturn
