#pragma once
#include <span>
#include <string_view>

#include "engine/weather.hpp"
#include "scenarios/units/quantity.hpp"

/// Numbers that are found along the days of a run.
namespace stoverturn {

/// What they are found in, by day of the run.
struct RunCourse {
  std::span<const double> left;               ///< share of the first harvest's residue; NaN once merged
  std::span<const double> nitrogen_released;  ///< g m-2, net since the first harvest
  int harvest_day = 0;
};

struct FoundNumber {
  std::string_view name;
  Kind kind;
  std::string_view substance, meaning;
  double (*value)(const RunCourse&);
};
std::span<const FoundNumber> found_numbers();

/// Days from `from` until `left` falls to `share`, between days by a straight line; NaN when it does not.
double days_until(std::span<const double> left, int from, double share);

}  // namespace stoverturn
