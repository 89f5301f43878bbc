#include "fitting/quantile.hpp"

#include <cmath>
#include <limits>

namespace stoverturn {

bool comes_before(double a, double b) { return a < b || (std::isnan(b) && !std::isnan(a)); }

double quantile_of_sorted(const std::vector<double>& sorted, double share) {
  if (sorted.empty()) return std::numeric_limits<double>::quiet_NaN();
  const double rank = share * static_cast<double>(sorted.size() - 1);
  const auto below = static_cast<std::size_t>(rank);
  const double part = rank - static_cast<double>(below);
  if (part == 0.0 || below + 1 >= sorted.size()) return sorted[below];
  if (sorted[below] == sorted[below + 1]) return sorted[below];  // both may be infinite
  return sorted[below] + part * (sorted[below + 1] - sorted[below]);
}

}  // namespace stoverturn
