#include "scenarios/stand/stand_response.hpp"

#include <array>
#include <cstddef>

namespace stoverturn {
namespace {

struct Point {
  double x, y;
};
constexpr std::array<Point, 3> stand_table = {{{20000.0, 0.89}, {25000.0, 0.95}, {30000.0, 1.0}}};
constexpr std::array<Point, 3> late_table = {{{0.0, 0.0}, {1.0, 0.12}, {last_published_leaves, 0.34}}};

/// Straight lines between points, level outside.
template <std::size_t n>
double between(const std::array<Point, n>& table, double x) {
  if (x <= table.front().x) return table.front().y;
  for (std::size_t i = 1; i < n; ++i) {
    if (x > table[i].x) continue;
    const Point &a = table[i - 1], &b = table[i];
    return a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x);
  }
  return table.back().y;
}

}  // namespace

std::optional<double> yield_share_of_stand(double plants_acre) {
  if (!(plants_acre >= stand_table.front().x)) return std::nullopt;
  return between(stand_table, plants_acre);
}

double loss_of_late_plant(double leaves) { return between(late_table, leaves); }

}  // namespace stoverturn
