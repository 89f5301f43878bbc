#include "fitting/power.hpp"

#include <algorithm>
#include <cmath>

#include <boost/math/distributions/non_central_t.hpp>
#include <boost/math/distributions/students_t.hpp>

namespace stoverturn {

double power_of_t(double shift, double freedom, double level) {
  if (std::abs(shift) > 30.0) return 1.0;
  const double limit = boost::math::quantile(boost::math::students_t(freedom), 0.5 + level / 2.0);
  const boost::math::non_central_t seen(freedom, std::abs(shift));
  return boost::math::cdf(boost::math::complement(seen, limit));
}

double power_of_units(double difference, double variance, bool paired, double level, int n) {
  return power_of_t(difference / std::sqrt(2.0 * variance / n), paired ? n - 1.0 : 2.0 * n - 2.0, level);
}

int units_needed(double difference, double variance, bool paired, double level, double power, int most) {
  if (!(std::abs(difference) > 0.0) || !(variance >= 0.0)) return 0;
  int low = 1, high = 2;
  while (power_of_units(difference, variance, paired, level, high) < power) {
    if (high >= most) return 0;
    low = high;
    high = std::min(2 * high, most);
  }
  while (high - low > 1) {
    const int middle = (low + high) / 2;
    (power_of_units(difference, variance, paired, level, middle) < power ? low : high) = middle;
  }
  return high;
}

}  // namespace stoverturn
