#pragma once
#include <utility>

#include "engine/scalar.hpp"

namespace stoverturn {

/// Applies a function of plain numbers to a driver, lane by lane; once where all lanes have the same weather.
/// Drivers may have kinks and branches; states may not, so there is no overload for Dual.
template <class Function, class... More>
double per_lane(Function&& f, double x, More... more) {
  return f(x, more...);
}
template <class Function, class... More>
Lanes per_lane(Function&& f, const Lanes& x, const More&... more) {
  if ((x == x[0]).all() && ((more == more[0]).all() && ...)) return Lanes::Constant(f(x[0], more[0]...));
  Lanes result;
  for (Eigen::Index i = 0; i < x.size(); ++i) result[i] = f(x[i], more[i]...);
  return result;
}

}  // namespace stoverturn
