#include "engine/irrigation.hpp"

#include <algorithm>

namespace stoverturn {

double RuledIrrigation::water_mm(std::chrono::sys_days day, const Soil& soil, double topsoil_mm,
                                 double top_mm) {
  const std::chrono::year_month_day date{day};
  const std::chrono::month_day here{date.month(), date.day()};
  const bool inside = rule_.first <= rule_.last ? rule_.first <= here && here <= rule_.last
                                                : rule_.first <= here || here <= rule_.last;
  if (inside && !in_season_) given_mm_ = 0.0;
  in_season_ = inside;
  const double available_mm = (soil.field_capacity - soil.wilting_point) * topsoil_mm;
  const double gone = (soil.field_capacity * topsoil_mm - top_mm) / available_mm;
  if (!inside || gone < rule_.depleted) return 0.0;
  const double left_mm = rule_.most_mm - given_mm_;  // NaN: no limit
  const double water = left_mm < rule_.water_mm ? std::max(0.0, left_mm) : rule_.water_mm;
  given_mm_ += water;
  return water;
}

}  // namespace stoverturn
