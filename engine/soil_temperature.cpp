#include "engine/soil_temperature.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace stoverturn {

double damping_depth_mm(double diffusivity_mm2_s, double period_d) {
  return std::sqrt(diffusivity_mm2_s * period_d * 86400.0 / std::numbers::pi);
}

SoilTemperature::SoilTemperature(double depth_mm, double start_C)
    : layers_(std::clamp<std::size_t>(static_cast<std::size_t>(std::ceil(depth_mm / 200.0)), 1, 2)),
      thickness_mm_(depth_mm / static_cast<double>(layers_)) {
  layers_C_.fill(start_C);
}

double SoilTemperature::step(double air_C, double year_mean_C, double diffusivity_mm2_s, double insulation) {
  const double yearly = std::exp(-thickness_mm_ / damping_depth_mm(diffusivity_mm2_s, 365.25));
  const double daily = std::exp(-thickness_mm_ / damping_depth_mm(diffusivity_mm2_s, 1.0));
  double above_C = air_C, response = daily * insulation;
  for (std::size_t i = 0; i < layers_; ++i) {
    const double target_C = year_mean_C + (above_C - year_mean_C) * yearly;
    layers_C_[i] += (target_C - layers_C_[i]) * response;
    above_C = layers_C_[i];
    response = daily;
  }
  return value_C();
}

}  // namespace stoverturn
