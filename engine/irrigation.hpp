#pragma once
#include <chrono>

#include "engine/soil.hpp"

namespace stoverturn {

/// Water given on a day of the run.                                  docs/model.md, Eq. 46
struct Irrigation {
  int day = 0;
  double water_mm = 0.0;
  bool operator==(const Irrigation&) const = default;
};

/// Water given whenever the topsoil is dry enough, between two days of each year (over New Year where the
/// first comes after the last).
struct IrrigationRule {
  std::chrono::month_day first{}, last{};
  double depleted = 0.5;  ///< share of the water between field capacity and wilting point that is gone
  double water_mm = 0.0;  ///< each time
  double most_mm = 0.0;   ///< in one season; NaN: no limit
  bool operator==(const IrrigationRule&) const = default;
};

/// Follows a rule from day to day.
class RuledIrrigation {
 public:
  explicit RuledIrrigation(const IrrigationRule& rule) : rule_(rule) {}
  /// Water of this day, given before it rains; `top_mm` is what the topsoil holds.
  double water_mm(std::chrono::sys_days day, const Soil& soil, double topsoil_mm, double top_mm);

 private:
  IrrigationRule rule_;
  double given_mm_ = 0.0;
  bool in_season_ = false;
};

}  // namespace stoverturn
