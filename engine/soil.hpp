#pragma once
#include <span>
#include <string_view>

namespace stoverturn {

/// Water held by a soil, m3 m-3, and what bare soil gives up freely.
struct Soil {
  double field_capacity = 0.29;
  double wilting_point = 0.15;
  double porosity = 0.485;
  double readily_evaporable_mm = 9.5;  ///< REW of FAO-56 Table 19
  double pH = 6.5;

  /// Water potential, MPa, log-linear through -0.033 MPa at field capacity and -1.5 MPa at the wilting point.
  double water_potential_MPa(double moisture) const;

  bool operator==(const Soil&) const = default;
};

/// Middle of the ranges of FAO-56 Table 19; porosity of Clapp and Hornberger 1978 (from memory).
struct TextureRow {
  std::string_view name;
  double field_capacity, wilting_point, porosity, readily_evaporable_mm;
  std::string_view source;
};
std::span<const TextureRow> texture_table();

}  // namespace stoverturn
