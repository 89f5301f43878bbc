#pragma once
#include <array>

namespace stoverturn {

/// Daily mean soil temperature at one depth, from air.                docs/model.md, Eq. 31
///   target = T_year + (T_above - T_year) exp(-dz/d_year)
///   T(J) = T(J-1) + [target - T(J-1)] exp(-dz/d_day) insulation
/// down equal layers of at most 200 mm, the first under the air and the insulation, each under the one above;
/// with the damping depths d = sqrt(2 D/omega) of a daily and a yearly wave. Form of Kang et al. 2000;
/// damping of the exact sinusoid, e.g. Hillel.
class SoilTemperature {
 public:
  /// `depth_mm` up to 400.
  SoilTemperature(double depth_mm, double start_C);
  double step(double air_C, double year_mean_C, double diffusivity_mm2_s, double insulation);
  double value_C() const { return layers_C_[layers_ - 1]; }
  /// A measured value in place of the estimate.
  void measured(double value_C) { layers_C_[layers_ - 1] = value_C; }

 private:
  std::size_t layers_;
  double thickness_mm_;
  std::array<double, 2> layers_C_;
};

/// sqrt(2 D/omega) of a wave of that period, mm.
double damping_depth_mm(double diffusivity_mm2_s, double period_d);

}  // namespace stoverturn
