#include "engine/crop.hpp"

#include <algorithm>
#include <cmath>

#include "engine/thermal_time.hpp"

namespace stoverturn {
namespace {

double basal_coefficient(const CropKind& k, double G_Kd) {
  const auto between = [&](double from, double to, double start, double end) {
    return from + (to - from) * (G_Kd - start) / (end - start);
  };
  if (G_Kd < k.basal_Kd[0]) return k.basal_early;
  if (G_Kd < k.basal_Kd[1]) return between(k.basal_early, k.basal_mid, k.basal_Kd[0], k.basal_Kd[1]);
  if (G_Kd < k.basal_Kd[2]) return k.basal_mid;
  return between(k.basal_mid, k.basal_late, k.basal_Kd[2], k.stage_Kd.back());
}

/// Degree days at the start of each day, the first 0, one more than days.
std::vector<double> degree_days_from(const CropKind& k, std::span<const DayRange> days,
                                     std::span<const StageSeen> seen) {
  std::vector<double> G = {0.0};
  for (const DayRange& d : days) {
    G.push_back(G.back() + degree_days(d.tmin_C, d.tmax_C, k.base_C, k.cap_C));
  }
  const std::vector<double> as_measured = G;
  std::size_t from = 0;
  double G_from = 0.0;
  for (const StageSeen& s : seen) {
    const std::size_t to = static_cast<std::size_t>(s.day);
    if (to >= G.size() || to <= from) continue;
    const double span = as_measured[to] - as_measured[from];
    for (std::size_t i = from; i <= to; ++i) {
      const double share = span > 0.0 ? (as_measured[i] - as_measured[from]) / span
                                      : static_cast<double>(i - from) / static_cast<double>(to - from);
      G[i] = G_from + share * (k.stage_Kd[s.stage] - G_from);
    }
    from = to;
    G_from = k.stage_Kd[s.stage];
  }
  for (std::size_t i = from; i < G.size(); ++i) G[i] = G_from + as_measured[i] - as_measured[from];
  return G;
}

}  // namespace

double nitrogen_share(const CropKind& k, double G_Kd) {
  const auto logistic = [&](double G) {
    return 1.0 / (1.0 + std::exp((k.uptake_midpoint_Kd - G) / k.uptake_width_Kd));
  };
  const double start = logistic(0.0);
  return (logistic(std::min(G_Kd, k.stage_Kd.back())) - start) / (logistic(k.stage_Kd.back()) - start);
}

CropCourse crop_course(const CropKind& kind, double nitrogen_g_m2, int planting_day,
                       std::span<const DayRange> days, std::span<const StageSeen> seen) {
  CropCourse course;
  course.planting_day = planting_day;
  course.stage_day.fill(-1);
  const std::vector<double> G = degree_days_from(kind, days, seen);
  std::size_t next = 0;
  for (std::size_t i = 0;; ++i) {
    constexpr double rounding_Kd = 1e-9;  // a stage seen is reached on its day
    for (; next < crop_stages && G[i] + rounding_Kd >= kind.stage_Kd[next]; ++next) {
      course.stage_day[next] = planting_day + static_cast<int>(i);
    }
    course.degree_days_Kd = G[i];
    const bool frozen = next > 1 && i > 0 && days[i - 1].tmin_C < kind.killed_C;
    if (next == crop_stages || frozen || i == days.size()) return course;
    course.days.push_back({basal_coefficient(kind, G[i]),
                           nitrogen_g_m2 * (nitrogen_share(kind, G[i + 1]) - nitrogen_share(kind, G[i]))});
  }
}

}  // namespace stoverturn
