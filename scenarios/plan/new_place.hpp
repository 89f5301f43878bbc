#pragma once
#include <cstddef>
#include <cstdint>
#include <string_view>
#include <vector>

#include "engine/parameters.hpp"

/// Draws of a new place: what parameters may be where no trial was made (docs/statistics.md).
namespace stoverturn {

/// The spreads of the parameter table, by row.
std::vector<double> table_spreads();

/// Where a place stands among all places, as a share of them, 0 < share < 1: one for each parameter.
/// The number depends on seed, draw and name alone, not on the other parameters nor on how many draws there
/// are.
double share_of_places(std::uint64_t seed, std::size_t draw, std::string_view parameter);

/// The value that this share of places lies below: quantile of a normal distribution around `value` with
/// standard deviation `spread`, both on the row's fit scale, cut off at the row's bounds (as if a place
/// outside them were drawn again). Increases with `share`. `value` itself where the spread is 0, and where it
/// stands at an open end of its scale (0 of log, 0 or 1 of logit: by definition, like a cob's `rind`).
double value_of_places(const ParameterRow& row, double spread, double value, double share);

/// A place: every parameter that has a spread is moved by as many standard deviations in all components and
/// treatments.
struct NewPlace {
  std::vector<double> spreads, shares;  ///< by row of the parameter table
};
NewPlace new_place(std::uint64_t seed, std::size_t draw, std::vector<double> spreads = table_spreads());

/// The parameters at that place, around what they are: those of the field, or of a component.
void move_to(const NewPlace& place, bool of_component, Parameters<double>& parameters);

}  // namespace stoverturn
