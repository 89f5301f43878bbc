#include <cmath>

#include <nlohmann/json.hpp>

#include "scenarios/results/shown.hpp"
#include "scenarios/results/table_print.hpp"
#include "scenarios/text/calendar.hpp"

namespace stoverturn {
namespace {

using Json = nlohmann::ordered_json;

/// Values as lists in lists, outermost dimension first; NaN becomes null.
Json nested(const Variable& v, const Shown& unit, const Results& r, std::size_t dimension,
            std::size_t& next) {
  if (dimension == v.dimensions.size()) {
    const double value = unit(v.values[next++]);
    return std::isfinite(value) ? Json(value) : Json(nullptr);
  }
  Json list = Json::array();
  for (std::size_t i = 0; i < r.extent(v.dimensions[dimension]); ++i) {
    list.push_back(nested(v, unit, r, dimension + 1, next));
  }
  return list;
}

}  // namespace

std::string json_key_numbers(const Results& r) {
  Json out;
  out["program"] = r.program;
  out["title"] = r.title;
  out["start"] = format_date(r.start);
  if (r.sites.empty()) out["days"] = r.days - 1;
  for (const SiteLabel& site : r.sites) out["site"].push_back(site.name);
  if (!r.sites.empty()) out["quantile"] = r.quantiles;
  out["treatment"] = r.treatments;
  if (!r.components.empty()) out["component"] = r.components;
  if (!r.placements.empty()) out["placement"] = r.placements;
  if (!r.harvests.empty()) out["harvest"] = r.harvests;
  out["checkpoint"] = r.checkpoints;
  if (!r.stages.empty()) out["stage"] = r.stages;
  for (const Variable& v : r.key_numbers) {
    const Shown unit = shown(v, r);
    Json key;
    key["unit"] = unit.unit;
    if (!unit.substance.empty()) key["of"] = unit.substance;
    key["meaning"] = v.meaning;
    for (const Dimension d : v.dimensions) key["dimensions"].push_back(to_string(d));
    std::size_t next = 0;
    key["values"] = nested(v, unit, r, 0, next);
    out["key_numbers"][v.name] = std::move(key);
  }
  out["notes"] = r.notes;
  return out.dump(1, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace stoverturn
