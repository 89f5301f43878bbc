#pragma once
#include <filesystem>
#include <functional>
#include <iterator>
#include <limits>
#include <string>
#include <vector>

#include <unistd.h>

#include "scenarios/results/results.hpp"
#include "scenarios/text/calendar.hpp"

/// Invented results with every dimension and awkward names and values, and what the tests of files share.
namespace stoverturn {

/// An empty folder of this test, gone when it ends.
struct Folder {
  std::filesystem::path path;
  Folder()
      : path(std::filesystem::temp_directory_path() /
             ("stoverturn-result-file-" + std::to_string(::getpid()))) {
    std::filesystem::remove_all(path);
    std::filesystem::create_directory(path);
  }
  ~Folder() { std::filesystem::remove_all(path); }
  std::filesystem::path operator/(const std::string& name) const { return path / name; }
};

inline constexpr double nan_value = std::numeric_limits<double>::quiet_NaN();
inline const std::string two_lines = "[site]\nname = \"Lower Forty\"\n";

inline Variable named(const std::string& name, Kind kind, const std::vector<Dimension>& dimensions,
                      const std::string& meaning = "", const std::string& cf_name = "") {
  Variable v;
  v.name = name;
  v.kind = kind;
  v.dimensions = dimensions;
  v.meaning = meaning;
  v.cf_name = cf_name;
  return v;
}

/// Values that differ everywhere, some of them awkward.
inline void fill(Variable& v, const Results& results) {
  std::size_t size = 1;
  for (const Dimension d : v.dimensions) size *= results.extent(d);
  for (std::size_t i = 0; i < size; ++i) v.values.push_back(1.0 / (3.0 + static_cast<double>(i)));
  const double awkward[] = {nan_value, -0.0, std::numeric_limits<double>::denorm_min(),
                            -std::numeric_limits<double>::infinity(), 1e300};
  for (std::size_t i = 0; i < std::size(awkward) && 2 * i + 1 < size; ++i) v.values[2 * i + 1] = awkward[i];
}

/// An invented farm: every dimension, every awkward name.
inline Results invented() {
  using enum Dimension;
  Results r;
  r.title = "Invented farm: Müller's \"lower, forty\"";
  r.program = "stoverturn 0.1.0";
  r.units = "us";
  r.currency = "€";
  r.treatments = {"fall, chopped", "spring \"no-till\"", "größer ⅓", ""};
  r.components = {"stalk", "leaf", "husk"};
  r.placements = {"standing", "surface", "buried"};
  r.elements = {"C", "N", "P", "K", "S"};
  r.harvests = {"1", "2"};
  r.checkpoints = {"planting 1", "year 1"};
  r.stages = {"V6 1", "silking 1", "full seed 2"};
  for (int year = 2012; year < 2015; ++year) {
    for (const std::string& component : r.components) {
      r.cohorts.push_back({component, "long \"6 in\"", "surface", std::to_string(year)});
      r.cohorts.push_back({component, "short", "buried", std::to_string(year)});
    }
  }
  r.start = parse_date("2012-10-15");
  r.days = 400;
  r.weather_start = parse_date("2012-02-28");
  r.weather_days = 3;
  r.latitude_deg = 40.78;
  r.elevation_m = nan_value;
  r.series = {
      named("mass", Kind::mass_per_area, {treatment, cohort, time}, "dry mass left"),
      named("mass_by_part", Kind::mass_per_area, {treatment, component, placement, time}, "dry mass"),
      named("soil_temperature", Kind::temperature, {time}, "at 100 mm", "soil_temperature"),
  };
  r.series[0].substance = "dry matter";
  r.key_numbers = {
      named("half_life", Kind::time, {treatment}, "time to half the mass; ° and µ"),
      named("left", Kind::fraction, {checkpoint, treatment}, "share of mass left"),
      named("released", Kind::mass_per_area, {treatment, element, checkpoint}, "released since harvest"),
      named("value", Kind::money_per_area, {treatment, checkpoint}, "value at the file's prices"),
      named("stage_day", Kind::time, {treatment, stage}, "day of a stage"),
      named("worst_balance", Kind::fraction, {}, "worst balance of all"),
  };
  for (Variable& v : r.series) fill(v, r);
  for (Variable& v : r.key_numbers) fill(v, r);
  r.weather = {named("tmax", Kind::temperature, {time}, "warmest of the day", "air_temperature"),
               named("rain", Kind::length, {time}, "rain and melted snow")};
  r.weather[0].values = {1.5, nan_value, -3.0};
  r.weather[1].values = {0.0, 25.4, 0.1};
  r.notes = {"Prices are placeholders.", "Weather of 2012 is used twice."};
  r.texts = {{"scenario", two_lines},
             {"parameters", ""},
             {"materials/corn.toml", "größe = 1\n"},
             {"materials corn.toml", std::string(200'000, 'x') + "end"}};
  return r;
}

inline std::string error_of(const std::function<void()>& call) {
  try {
    call();
  } catch (const std::exception& error) {
    return error.what();
  }
  return "no error";
}

inline std::size_t files_in(const std::filesystem::path& folder) {
  return static_cast<std::size_t>(
      std::distance(std::filesystem::directory_iterator(folder), std::filesystem::directory_iterator()));
}

}  // namespace stoverturn
