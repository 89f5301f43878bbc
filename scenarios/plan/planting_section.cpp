#include <cmath>

#include "scenarios/plan/scenario_sections.hpp"

namespace stoverturn {

void read_planting_section(TableReader& top, Scenario& scenario, Mistakes& mistakes) {
  const Table* table = top.table("planting");
  if (!table) return;
  TableReader in(*table, "[planting]", top.at("planting"), mistakes);
  PlantingPlan& plan = scenario.planting;
  plan.short_mm = in.amount("short_pieces", Kind::length, 1.0, 2000.0).value_or(plan.short_mm);
  plan.seed_mm = in.amount("seed_depth", Kind::length, 10.0, 200.0).value_or(plan.seed_mm);
  if (const auto years = in.number("build_up_years", 4.0, 30.0)) {
    plan.build_up_years = static_cast<int>(*years);
    if (*years != std::floor(*years)) in.mistake("build_up_years", "wanted whole years, such as 10");
  }
  in.finish();
}

}  // namespace stoverturn
