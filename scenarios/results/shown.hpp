#pragma once
#include <string>

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

}  // namespace stoverturn
