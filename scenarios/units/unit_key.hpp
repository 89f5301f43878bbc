#pragma once
#include <string>
#include <string_view>

#include "scenarios/units/quantity.hpp"

namespace stoverturn {

/// One form for all the ways to write a unit: words become symbols, "per" and negative powers become "/",
/// spaces, "^" and a leading "1" go, superscripts and the degree sign become plain text:
///   "lbs per ac", "lb / acre", "LB/AC" -> "lb/acre";   "kg N ha-1" -> "kg/ha";   "m⁻²" -> "/m2".
/// Upper and lower case are one, except in a first letter m or t ("Mg" and "mg", "t" and "T" stay apart).
/// What is weighed ("N", "DM") is left out for kinds that weigh something. An unknown text gives some key
/// that is in no table.
std::string unit_key(std::string_view text, Kind kind);

}  // namespace stoverturn
