#pragma once
#include <string>
#include <string_view>

#include "scenarios/results/results.hpp"

namespace stoverturn {

/// How people are shown a variable: `shown = value * scale + offset`. In US units P and K appear as P2O5 and
/// K2O, as the trade buys them; in SI as elements.
struct Shown {
  std::string unit;       ///< "lb/acre", "kg/ha", "%"
  std::string substance;  ///< "N", "P2O5", ...
  double scale = 1.0;
  double offset = 0.0;
  double operator()(double value) const { return value * scale + offset; }
};
Shown shown(const Variable& variable, const Results& results);

/// A number with as many digits as its size deserves, thousands apart by commas; "-" for NaN.
std::string shown_number(double value, int decimals);

/// "2 to 4": smaller first, one number where both look alike.
std::string range_text(double a, double b, int decimals = 0);

/// A key number or series; nullptr where there is none of that name.
const Variable* find_variable(const Results& results, std::string_view name);

/// "48.1 to 56.2", of the band of a key number or series at an index of its values; "" where it has none or
/// the two look alike.
std::string shown_range(const Results& results, std::string_view name, std::size_t index, const Shown& unit,
                        int decimals);

}  // namespace stoverturn
