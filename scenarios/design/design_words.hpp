#pragma once
#include <string>
#include <string_view>

#include "fitting/covariance.hpp"

/// Numbers of a trial's plan as print and page say them.
namespace stoverturn {

std::string percent_words(double share, int digits = 0);
std::string wider_words(double ratio);                  ///< "+12 %" for 1.12, "-" where it is not known
std::string share_with_error(double share, double se);  ///< "64 +- 5"
std::string interval_words(const Interval& interval, std::string_view word = "to");

}  // namespace stoverturn
