#include "scenarios/plan/scenario_sections.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "scenarios/text/calendar.hpp"
#include "scenarios/text/csv_text.hpp"

namespace stoverturn {
namespace {

const std::vector<std::string> placement_words = {"surface", "buried"};

/// "05-05" as a month and day.
std::optional<std::chrono::month_day> read_month_day(const std::string& text) {
  if (text.size() != 5 || text[2] != '-') return std::nullopt;
  if (text.find_first_not_of("0123456789-") != std::string::npos || text.find('-') != 2) return std::nullopt;
  const std::optional<double> month = number(text.substr(0, 2)), day = number(text.substr(3));
  if (!month || !day || *day < 0.0) return std::nullopt;
  const std::chrono::month_day md{std::chrono::month{static_cast<unsigned>(*month)},
                                  std::chrono::day{static_cast<unsigned>(*day)}};
  return md.ok() ? std::optional(md) : std::nullopt;
}

std::optional<std::chrono::sys_days> event_date(TableReader& in, std::chrono::sys_days harvest) {
  const std::optional<double> after_d = in.amount("after_harvest", Kind::time, 0.0, 36525.0);
  const std::optional<std::chrono::sys_days> date = in.date("date");
  if (in.has("date") && in.has("after_harvest")) {
    in.mistake("after_harvest", "found with `date`; keep one of the two");
    return std::nullopt;
  }
  if (!in.has("after_harvest")) in.require("date", "date = 2026-11-05, or after_harvest = \"16 d\"");
  if (after_d) return harvest + std::chrono::days{static_cast<int>(std::lround(*after_d))};
  if (date && *date < harvest) {
    in.mistake("date",
               fmt::format("{} is before the harvest of {}", format_date(*date), format_date(harvest)));
  }
  return date;
}

void read_recut(const Table& table, Position at, const Treatment& treatment, TillagePlan& plan,
                Mistakes& mistakes) {
  TableReader in(table, "recut", at, mistakes);
  for (std::size_t i = 0; i < treatment.components.size(); ++i) {
    const std::string& name = treatment.components[i].name;
    const Table* cut = in.table(name);
    if (!cut) continue;
    TableReader piece(*cut, "recut." + name, in.at(name), mistakes);
    TillagePlan::Recut recut;
    recut.component = i;
    recut.cut_length_mm = piece.amount("cut_length", Kind::length, 0.01, 5000.0);
    recut.entry_spacing_mm = piece.amount("entry_spacing", Kind::length, 0.1, 5000.0);
    recut.opening = piece.amount("opening", Kind::fraction, 0.0, 1.0);
    piece.finish();
    plan.recuts.push_back(recut);
  }
  in.finish();
}

void read_tillage(TableReader& in, std::chrono::sys_days date, Treatment& treatment, Mistakes& mistakes) {
  TillagePlan plan;
  plan.date = date;
  plan.knock_down = in.amount("knock_down", Kind::fraction, 0.0, 1.0).value_or(0.0);
  plan.bury = in.amount("bury", Kind::fraction, 0.0, 1.0).value_or(0.0);
  if (const Table* recut = in.table("recut")) read_recut(*recut, in.at("recut"), treatment, plan, mistakes);
  if (!in.has("knock_down") && !in.has("bury") && !in.has("recut")) {
    in.mistake("kind", "a tillage event needs at least one of knock_down, bury and recut");
  }
  treatment.events.emplace_back(plan);
}

void read_fertiliser(TableReader& in, std::chrono::sys_days date, Treatment& treatment) {
  constexpr double most_g_m2 = 100.0;  // 1,000 kg/ha
  FertiliserPlan plan;
  plan.date = date;
  const double N = in.amount("nitrogen", Kind::mass_per_area, 0.0, most_g_m2).value_or(0.0);
  in.require("nitrogen", "nitrogen = \"60 lb/acre\"");
  double shares[3] = {0.0, 0.0, 0.0};
  int i = 0;
  for (const char* form : {"urea", "ammonium", "nitrate"}) {
    shares[i++] = in.amount(form, Kind::fraction, 0.0, 1.0).value_or(0.0);
  }
  if (std::abs(shares[0] + shares[1] + shares[2] - 1.0) > 0.005) {
    in.mistake("nitrogen",
               fmt::format("urea, ammonium and nitrate are {:.4g} % together; wanted 100 % of the N "
                           "(UAN: half urea, a quarter each of the others)",
                           100.0 * (shares[0] + shares[1] + shares[2])));
  }
  plan.amounts.urea_N = N * shares[0];
  plan.amounts.ammonium_N = N * shares[1];
  plan.amounts.nitrate_N = N * shares[2];
  plan.amounts.sulfur = in.amount("sulfur", Kind::mass_per_area, 0.0, most_g_m2).value_or(0.0);
  plan.amounts.on_surface = in.one_of("placement", placement_words).value_or("surface") == "surface";
  treatment.events.emplace_back(plan);
}

}  // namespace

void read_events(const List* list, Treatment& treatment, Mistakes& mistakes) {
  if (!list) return;
  for (const Value& item : *list) {
    if (!item.table()) {
      mistakes.add(item.at, "found " + std::string(kind_name(item)) + "; wanted an event as [[event]]");
      continue;
    }
    TableReader in(*item.table(), "[[event]]", item.at, mistakes);
    in.require("kind", "kind = \"tillage\" or kind = \"fertiliser\"");
    const std::optional<std::string> kind = in.one_of("kind", {"tillage", "fertiliser", "fertilizer"});
    const std::optional<std::chrono::sys_days> date = event_date(in, treatment.harvest);
    in.text("note");
    if (!kind) continue;  // which keys belong here is not known
    if (*kind == "tillage") {
      read_tillage(in, date.value_or(treatment.harvest), treatment, mistakes);
    } else {
      read_fertiliser(in, date.value_or(treatment.harvest), treatment);
    }
    in.finish();
  }
  const auto date_of_event = [](const EventPlan& e) {
    return std::visit([](const auto& p) { return p.date; }, e);
  };
  std::stable_sort(
      treatment.events.begin(), treatment.events.end(),
      [&](const EventPlan& a, const EventPlan& b) { return date_of_event(a) < date_of_event(b); });
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

void read_next_crop(const Table* table, Position at, Treatment& treatment, Mistakes& mistakes) {
  if (!table) return;
  TableReader in(*table, "[next_crop]", at, mistakes);
  in.require("planting", "planting = \"05-05\" (month-day)");
  if (const auto text = in.text("planting")) {
    if (const auto md = read_month_day(*text)) {
      treatment.crop.planting = *md;
    } else {
      in.mistake("planting", fmt::format("found '{}'; wanted month-day, such as \"05-05\"", *text));
    }
  }
  if (const auto N = in.amount("nitrogen", Kind::mass_per_area, 0.0, 60.0)) {
    treatment.crop.nitrogen_g_m2 = *N;
    treatment.crop.grows = true;
  }
  in.finish();
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
