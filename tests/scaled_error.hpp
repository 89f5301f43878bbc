#pragma once
#include <cmath>

/// |error| / (absolute + relative |value|), as error control weighs it.
inline double scaled_error(double error, double value, double absolute, double relative) {
  return std::abs(error) / (absolute + relative * std::abs(value));
}
