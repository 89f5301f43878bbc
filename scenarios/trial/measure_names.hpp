#pragma once
#include <array>
#include <string_view>

#include "fitting/trial_model.hpp"

namespace stoverturn {

/// What people read and write for a measure.
struct MeasureName {
  std::string_view key;   ///< in fit files
  std::string_view noun;  ///< "error of mineral nitrogen"
  std::string_view name;  ///< of a number: "mass left"
  std::string_view unit;  ///< observations are in; "1" is a share
};

/// By Measure.
inline constexpr std::array<MeasureName, measures> measure_names = {{
    {"mass", "mass", "mass left", "1"},
    {"carbon", "carbon", "carbon left", "1"},
    {"nitrogen", "nitrogen", "nitrogen left", "1"},
    {"phosphorus", "phosphorus", "phosphorus left", "1"},
    {"potassium", "potassium", "potassium left", "1"},
    {"sulfur", "sulfur", "sulfur left", "1"},
    {"respired", "respired carbon", "respired carbon", "1"},
    {"mineral_nitrogen", "mineral nitrogen", "mineral nitrogen", "g/m2"},
    {"cover", "cover", "cover", "1"},
}};

constexpr const MeasureName& name_of(Measure m) { return measure_names[static_cast<std::size_t>(m)]; }

/// Of what a bag holds, not of the field.
constexpr bool is_share_left(Measure m) { return m <= Measure::sulfur_left; }

}  // namespace stoverturn
