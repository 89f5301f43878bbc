#include "scenarios/plan/scenario_sections.hpp"

namespace stoverturn {

void read_weather_plan(TableReader& top, Scenario& scenario, Mistakes& mistakes) {
  const Table* table = top.table("weather");
  if (!table) return;
  TableReader in(*table, "[weather]", top.at("weather"), mistakes);
  WeatherPlan plan;
  in.require("file", "file = \"weather.csv\"");
  plan.file = in.text("file").value_or("");
  plan.at = in.at("file");
  plan.latitude_deg = in.amount("latitude", Kind::angle, -90.0, 90.0).value_or(not_measured);
  if (const auto elevation_mm = in.amount("elevation", Kind::length, -5e5, 6e6)) {
    plan.elevation_m = *elevation_mm / 1000.0;
  }
  plan.longest_gap_d = static_cast<int>(in.amount("longest_gap", Kind::time, 0.0, 60.0).value_or(7.0));
  plan.station = in.text("station").value_or("");
  in.finish();
  scenario.weather = plan;
}

}  // namespace stoverturn
