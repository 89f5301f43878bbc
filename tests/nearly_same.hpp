#pragma once
/// Runs in lanes take the steps that the worst of eight needs: they differ from a run alone by its
/// integration error.
#include <algorithm>
#include <cmath>
#include <vector>

/// Ten times the relative tolerance of a run (1e-7); absolute for what is below 1.
inline constexpr double of_lanes = 1e-6;

inline bool nearly_same(double a, double b) {
  return (std::isnan(a) && std::isnan(b)) || std::abs(a - b) <= of_lanes * (1.0 + std::abs(b));
}
inline bool nearly_same(const std::vector<double>& a, const std::vector<double>& b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                    [](double x, double y) { return nearly_same(x, y); });
}
