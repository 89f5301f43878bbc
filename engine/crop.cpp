#include "engine/crop.hpp"

#include <cmath>

namespace stoverturn {
namespace {
constexpr int season_d = 150;
double taken_up(double day) {
  const auto logistic = [](double d) { return 1.0 / (1.0 + std::exp(-(d - 60.0) / 9.0)); };
  return (logistic(day) - logistic(0)) / (logistic(season_d) - logistic(0));
}
}  // namespace

CropDay crop_on(int day) {
  if (day < 0 || day >= season_d) return {};
  constexpr double early = 0.15, mid = 1.15, late = 0.50;
  const auto between = [&](double from, double to, int start, int length) {
    return from + (to - from) * (day - start) / length;
  };
  const double K_cb = day < 30    ? early
                      : day < 70  ? between(early, mid, 30, 40)
                      : day < 120 ? mid
                                  : between(mid, late, 120, 30);
  return {K_cb, taken_up(day + 1) - taken_up(day)};
}

}  // namespace stoverturn
