#include <cmath>

#include <fmt/format.h>

#include "scenarios/plan/scenario_sections.hpp"
#include "scenarios/plan/weather_normals_section.hpp"
#include "scenarios/weather/climates.hpp"

namespace stoverturn {
namespace {

constexpr const char* ways[] = {"file", "climate", "normals"};

/// The first of the three ways that the table has, "" for none; a mistake where it has more.
std::string chosen_way(TableReader& in) {
  std::string first;
  for (const char* way : ways) {
    if (!in.has(way)) continue;
    if (first.empty()) {
      first = way;
    } else {
      in.mistake(way, fmt::format("found with `{}`; keep one of file, climate and normals", first));
    }
  }
  return first;
}

void refuse(TableReader& in, std::initializer_list<const char*> keys, const char* why) {
  for (const char* key : keys) {
    if (in.has(key)) in.mistake(key, why);
  }
}

void read_climate(TableReader& in, WeatherPlan& plan) {
  const std::string name = in.text("climate").value_or("");
  const ClimateRow* row = find_climate(name);
  if (!row) {
    if (!name.empty()) {
      in.mistake("climate", fmt::format("there is no built-in climate '{}'{}", name,
                                        did_you_mean(name, climate_names())));
    }
    return;
  }
  plan.normals = row->normals;
  plan.normals_name = fmt::format("'{}' ({}; {})", row->name, row->station, row->source);
  if (std::isnan(plan.latitude_deg)) plan.latitude_deg = row->latitude_deg;
  if (std::isnan(plan.elevation_m)) plan.elevation_m = row->elevation_m;
}

std::uint64_t read_seed(TableReader& in) {
  constexpr double most = 9007199254740992.0;  // 2^53: up to there every whole number is a double
  const double seed = in.number("seed", 0.0, most).value_or(1.0);
  if (seed == std::floor(seed)) return static_cast<std::uint64_t>(seed);
  in.mistake("seed", fmt::format("found {}; wanted a whole number", seed));
  return 1;
}

}  // namespace

void read_weather_plan(TableReader& top, Scenario& scenario, Mistakes& mistakes) {
  const Table* table = top.table("weather");
  if (!table) return;
  TableReader in(*table, "[weather]", top.at("weather"), mistakes);
  WeatherPlan plan;
  const std::string way = chosen_way(in);
  if (way.empty()) {
    in.require("file", "file = \"weather.csv\", climate = \"central Iowa\", or [weather.normals]");
  }
  plan.file = in.text("file").value_or("");
  plan.at = in.at("file");
  plan.latitude_deg = in.amount("latitude", Kind::angle, -90.0, 90.0).value_or(not_measured);
  if (const auto elevation_mm = in.amount("elevation", Kind::length, -5e5, 6e6)) {
    plan.elevation_m = *elevation_mm / 1000.0;
  }
  plan.longest_gap_d = static_cast<int>(in.amount("longest_gap", Kind::time, 0.0, 60.0).value_or(7.0));
  plan.station = in.text("station").value_or("");
  plan.columns_in = columns_in_of(in.one_of("columns_in", columns_in_words).value_or(""));
  plan.seed = read_seed(in);
  plan.resample = in.flag("resample").value_or(false);
  const Table* normals = in.table("normals");
  if (way == "file") {
    if (in.has("seed") && !plan.resample) {
      in.mistake("seed", "nothing is drawn from a file; add resample = true, or leave this key out");
    }
  } else if (!way.empty()) {
    refuse(in, {"longest_gap", "station", "columns_in"}, "belongs to a weather file; leave this key out");
    refuse(in, {"resample"}, "generated weather has as many years as wanted; leave this key out");
  }
  if (way == "climate") read_climate(in, plan);
  if (way == "normals" && normals) {
    if (!in.has("latitude")) in.require("latitude", "latitude = \"42.0 N\"");
    plan.normals = read_normals(*normals, in.at("normals"), mistakes);
    plan.normals_name = "this file";
    if (std::isnan(plan.elevation_m)) plan.elevation_m = 0.0;
  }
  in.finish();
  if (plan.normals) {
    std::string estimated;
    if (std::isnan(plan.normals->temperature_sd_C[0])) {
      estimated = fmt::format(" The day-to-day spread of temperature is estimated from the means{}.",
                              way == "normals" ? "; give temperature_sd where you know it" : "");
    }
    scenario.warnings.push_back(fmt::format(
        "Weather is generated from the monthly normals of {}, seed {}: no real year. Run other "
        "seeds to see how much that matters; wet and dry years differ less, and droughts of years "
        "are rarer, than in nature.{}",
        plan.normals_name, plan.seed, estimated));
  }
  scenario.weather = plan;
}

}  // namespace stoverturn
