#pragma once
#include <utility>

#include "engine/scalar.hpp"

namespace stoverturn {

/// Applies a function of plain numbers to a driver, lane by lane. Drivers may have kinks and branches; states
/// may not, so there is no overload for Dual.
template <class Function, class... More>
double per_lane(Function&& f, double x, More... more) {
  return f(x, more...);
}
template <class Function, class... More>
Lanes per_lane(Function&& f, const Lanes& x, const More&... more) {
  Lanes result;
  for (Eigen::Index i = 0; i < x.size(); ++i) result[i] = f(x[i], more[i]...);
  return result;
}

}  // namespace stoverturn
