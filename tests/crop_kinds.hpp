#pragma once
#include "engine/crop.hpp"

namespace stoverturn {

/// Corn in the 86/50 degF form. Degree days of degF: emergence 115, V6 and V12 by 82 a leaf to V10 and 50
/// after (Nielsen 2019, Purdue University, read), silking 1400, maturity 2700 (from memory).
inline CropKind maize() {
  CropKind k;
  k.base_C = 10.0;
  k.cap_C = 30.0;
  k.stage_Kd = {115 / 1.8, 607 / 1.8, 1035 / 1.8, 1400 / 1.8, 2700 / 1.8};
  k.uptake_midpoint_Kd = 1240 / 1.8;
  k.uptake_width_Kd = 244 / 1.8;
  k.basal_Kd = {600 / 1.8, 1400 / 1.8, 2200 / 1.8};
  k.killed_C = -2.2;
  return k;
}

/// A season under days all alike: 10 K d a day, 150 days to maturity.
inline CropCourse even_season(double nitrogen_g_m2, int planting_day) {
  const std::vector<DayRange> days(200, {14.0, 26.0});
  return crop_course(maize(), nitrogen_g_m2, planting_day, days);
}

}  // namespace stoverturn
