#pragma once
#include "scenarios/charts/chart.hpp"

namespace stoverturn {

/// Points of a chart on a map, without a base map: a grid of parallels and meridians, Mercator's projection,
/// so that distances north and east are in proportion. Fields "longitude" and "latitude" (degrees), `value`
/// (number), told by size and lightness and written below each point, the text `name` above or below it;
/// beyond thirty sites neither is written. Rows without coordinates are left out by the caller.
struct SiteMapForm {
  std::string_view value, name;
  int decimals = 0;  ///< of the value
};
nlohmann::json site_map(const Chart& chart, const SiteMapForm& form);

}  // namespace stoverturn
