#include "engine/soil.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace stoverturn {
namespace {
constexpr std::string_view table_19 = "FAO-56 Table 19, middle of the range";
constexpr auto textures = std::to_array<TextureRow>({
    {"sand", 0.12, 0.045, 0.395, 4.5, table_19},
    {"loamy sand", 0.15, 0.065, 0.410, 6.0, table_19},
    {"sandy loam", 0.23, 0.11, 0.435, 8.0, table_19},
    {"loam", 0.25, 0.12, 0.451, 9.0, table_19},
    {"silt loam", 0.29, 0.15, 0.485, 9.5, table_19},
    {"silt", 0.32, 0.17, 0.485, 9.5, table_19},
    {"clay loam", 0.32, 0.19, 0.476, 9.5, "not in FAO-56 Table 19; from memory"},
    {"silty clay loam", 0.335, 0.205, 0.477, 9.5, table_19},
    {"silty clay", 0.36, 0.23, 0.492, 10.0, table_19},
    {"clay", 0.36, 0.22, 0.482, 10.0, table_19},
});
}  // namespace

double Soil::water_potential_MPa(double moisture) const {
  constexpr double at_capacity = 0.033, at_wilting = 1.5;
  const double b = std::log(at_wilting / at_capacity) / std::log(field_capacity / wilting_point);
  return -at_capacity * std::pow(std::max(moisture, 0.01) / field_capacity, -b);
}

std::span<const TextureRow> texture_table() { return textures; }

}  // namespace stoverturn
