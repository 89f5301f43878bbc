#include "scenarios/plan/scenario_sections.hpp"

#include <fmt/format.h>

namespace stoverturn {

void read_model(TableReader& top, Scenario& scenario, Mistakes& mistakes) {
  const Table* table = top.table("model");
  if (!table) return;
  TableReader in(*table, "[model]", top.at("model"), mistakes);
  ModelChoices& m = scenario.model;
  const auto temperature = in.one_of("temperature", {"lloyd_taylor", "q10", "yan_hunt"});
  if (temperature == "q10") m.forms.temperature = TemperatureForm::q10;
  if (temperature == "yan_hunt") m.forms.temperature = TemperatureForm::yan_hunt;
  if (in.one_of("moisture", {"pore_space", "water_potential"}) == "water_potential") {
    m.forms.moisture = MoistureForm::water_potential;
  }
  m.merge_after_d = in.amount("merge_after", Kind::time, 365.0, 40.0 * 365.25).value_or(m.merge_after_d);
  m.tolerance.relative = in.number("relative_tolerance", 1e-12, 1e-3).value_or(m.tolerance.relative);
  m.tolerance.absolute = in.number("absolute_tolerance", 1e-12, 1e-3).value_or(m.tolerance.absolute);
  in.finish();
}

void read_soil(const Table* table, Position at, Treatment& treatment, Mistakes& mistakes) {
  treatment.soil_start = {0.5, 1.5, 2.0};
  if (!table) return;
  TableReader in(*table, "[soil]", at, mistakes);
  std::vector<std::string> textures;
  for (const TextureRow& row : texture_table()) textures.emplace_back(row.name);
  if (const auto texture = in.one_of("texture", textures)) {
    for (const TextureRow& row : texture_table()) {
      if (row.name != *texture) continue;
      treatment.soil.field_capacity = row.field_capacity;
      treatment.soil.wilting_point = row.wilting_point;
      treatment.soil.porosity = row.porosity;
      treatment.soil.readily_evaporable_mm = row.readily_evaporable_mm;
    }
  }
  Soil& soil = treatment.soil;
  soil.field_capacity = in.amount("field_capacity", Kind::fraction, 0.02, 0.6).value_or(soil.field_capacity);
  soil.wilting_point = in.amount("wilting_point", Kind::fraction, 0.005, 0.5).value_or(soil.wilting_point);
  soil.porosity = in.amount("porosity", Kind::fraction, 0.2, 0.8).value_or(soil.porosity);
  soil.pH = in.number("pH", 3.0, 10.0).value_or(soil.pH);
  if (!(soil.wilting_point < soil.field_capacity && soil.field_capacity < soil.porosity)) {
    in.mistake("field_capacity",
               fmt::format("wanted wilting_point < field_capacity < porosity; they are {:.3g}, "
                           "{:.3g} and {:.3g}",
                           soil.wilting_point, soil.field_capacity, soil.porosity));
  }
  SoilStart<double>& start = treatment.soil_start;
  start.ammonium_N = in.amount("ammonium", Kind::mass_per_area, 0.0, 50.0).value_or(start.ammonium_N);
  start.nitrate_N = in.amount("nitrate", Kind::mass_per_area, 0.0, 50.0).value_or(start.nitrate_N);
  start.subsoil_nitrate_N =
      in.amount("subsoil_nitrate", Kind::mass_per_area, 0.0, 50.0).value_or(start.subsoil_nitrate_N);
  treatment.burial_depth_mm =
      in.amount("burial_depth", Kind::length, 10.0, 400.0).value_or(treatment.burial_depth_mm);
  in.finish();
}

void read_irrigation_rule(const Table* table, Position at, Treatment& treatment, Mistakes& mistakes) {
  if (!table) return;
  TableReader in(*table, "[irrigation]", at, mistakes);
  IrrigationRule rule;
  in.require("amount", "amount = \"1 in\", given each time");
  in.require("from", "from = \"05-15\" (month-day)");
  in.require("until", "until = \"09-01\" (month-day)");
  rule.water_mm = in.amount("amount", Kind::length, 0.1, 200.0).value_or(0.0);
  rule.depleted = in.amount("when_depleted", Kind::fraction, 0.01, 1.0).value_or(rule.depleted);
  rule.most_mm = in.amount("at_most", Kind::length, 0.0, 5000.0).value_or(not_measured);
  for (const auto& [key, day] : {std::pair("from", &rule.first), std::pair("until", &rule.last)}) {
    *day = read_month_day(in, key, "05-15").value_or(*day);
  }
  in.finish();
  treatment.irrigation = rule;
}

ConditionsPlan read_conditions(const Table& table, Position at, Mistakes& mistakes) {
  TableReader in(table, "[conditions]", at, mistakes);
  ConditionsPlan plan;
  if (const auto log = in.text("log")) {
    plan.log_file = *log;
    plan.at = in.at("log");
    if (in.has("temperature")) in.mistake("temperature", "found with `log`; keep one of the two");
  } else {
    ConstantConditions c;
    in.require("temperature", "temperature = \"25 degC\", or log = \"FILE.csv\"");
    c.temperature_C = in.amount("temperature", Kind::temperature, -40.0, 60.0).value_or(c.temperature_C);
    c.wetness = in.amount("wetness", Kind::fraction, 0.0, 1.0).value_or(c.wetness);
    c.pore_filling = in.amount("pore_filling", Kind::fraction, 0.0, 1.0).value_or(c.pore_filling);
    plan.constant = c;
  }
  in.finish();
  return plan;
}

}  // namespace stoverturn
