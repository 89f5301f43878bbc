#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/plan/harvest_material.hpp"
#include "scenarios/plan/prices_section.hpp"
#include "scenarios/plan/scenario_sections.hpp"

namespace stoverturn {

namespace {

double read_dry_matter(TableReader& in, const TreatmentParameters& parameters, std::size_t material) {
  const Parameters<double>& own = parameters.of_material[material];
  constexpr double bushel_moisture = 0.155;
  const std::optional<double> residue = in.amount("residue", Kind::mass_per_area, 1.0, 5000.0);
  const std::optional<Quantity> grain = in.quantity("grain_yield", Kind::grain_yield);
  const std::optional<double> moisture = in.amount("grain_moisture", Kind::fraction, 0.0, 0.5);
  if (in.has("residue") && in.has("grain_yield")) {
    in.mistake("residue", "found with `grain_yield`; keep one of the two");
    return 0.0;
  }
  if (!in.has("residue")) {
    in.require("grain_yield", "grain_yield = \"205 bu/acre\", or residue = \"9 t/ha\" (dry matter)");
  }
  if (residue) return *residue;
  if (!grain) return 0.0;
  if (grain->value <= 0.0 || grain->value > 3500.0) {
    in.mistake("grain_yield", "wanted more than 0 and at most 35 t/ha");
    return 0.0;
  }
  const bool bushels = grain->unit.find("bu") != std::string::npos;
  if (bushels && moisture)
    in.mistake("grain_moisture", "a bushel is already defined at 15.5 %; leave this key out");
  if (!grain_tells_residue(in, parameters, material, bushels)) return 0.0;
  const double dry_grain =
      grain->value * (1.0 - (bushels ? bushel_moisture : moisture.value_or(bushel_moisture)));
  return dry_grain * (1.0 - own.harvest_index) / own.harvest_index;
}

void read_placement(const Table* table, Position at, HarvestPlan& harvest, Mistakes& mistakes) {
  if (!table) return;
  TableReader in(*table, "placement", at, mistakes);
  double sum = 0.0;
  int i = 0;
  for (const char* place : {"standing", "surface", "buried"}) {
    const double share = in.amount(place, Kind::fraction, 0.0, 1.0).value_or(0.0);
    harvest.placement_shares[static_cast<std::size_t>(i++)] = share;
    sum += share;
  }
  in.finish();
  if (std::abs(sum - 1.0) > 0.005) {
    mistakes.add(at, fmt::format("placement: the shares add up to {:.4g} %; wanted 100 %", 100.0 * sum));
  }
}

// A cut at some height leaves as much of all stover standing as that height is of the plant's: about 1:1, r2
// 0.93 (Wilhelm et al. 2011). What stands is stalk.
void read_cutting_height(TableReader& in, const Treatment& t, std::size_t material, HarvestPlan& harvest) {
  const std::optional<double> height_mm = in.amount("cutting_height", Kind::length, 0.0, 4000.0);
  if (!height_mm) return;
  if (in.has("placement") && harvest.placement_shares[0] > 0.0) {
    in.mistake("cutting_height", "found with a standing share in `placement`; keep one of the two");
    return;
  }
  const auto stalk = std::find_if(t.components.begin(), t.components.end(), [&](const ComponentPlan& c) {
    return c.material == material && (c.part == "stalk" || c.part == "stem" || c.part == "straw");
  });
  if (stalk == t.components.end()) {
    in.mistake("cutting_height", "no component is called stalk, stem or straw; use `placement` instead");
    return;
  }
  const std::size_t component = static_cast<std::size_t>(stalk - t.components.begin());
  const double of_all = *height_mm / t.parameters.of_material[material].plant_height_mm;
  const double mass_share = t.share_of(harvest, component);
  if (*height_mm > 0.0 && mass_share > 0.0) {
    harvest.stubble = Stubble{component, std::min(1.0, of_all / mass_share), *height_mm};
  }
}

}  // namespace

HarvestPlan read_harvest(TableReader& in, const Treatment& t, const MaterialLibrary& library,
                         Mistakes& mistakes) {
  HarvestPlan harvest;
  harvest.material_shares = read_material_shares(in, t.materials, library, mistakes);
  const std::size_t material = largest(harvest.material_shares);
  for (const ComponentPlan& c : t.components) harvest.pieces.push_back(c.pieces);
  harvest.dry_matter_g_m2 =
      is_mixture(in) ? read_mixture_mass(in) : read_dry_matter(in, t.parameters, material);
  read_placement(in.table("placement"), in.at("placement"), harvest, mistakes);
  read_cutting_height(in, t, material, harvest);
  harvest.cost_m2 = in.amount("cost", Kind::money_per_area, 0.0, no_limit).value_or(0.0);
  return harvest;
}

const std::string& material_on(const Treatment& t, std::chrono::sys_days date) {
  return t.materials[largest(t.harvests[t.harvest_on(date)].material_shares)];
}

}  // namespace stoverturn
