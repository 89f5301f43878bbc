#include "scenarios/program/climate_command.hpp"

#include <cmath>

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include "scenarios/text/calendar.hpp"
#include "scenarios/text/mistakes.hpp"
#include "scenarios/text/wrapped.hpp"
#include "scenarios/units/quantity.hpp"
#include "scenarios/weather/climates.hpp"
#include "scenarios/weather/weather_generator.hpp"
#include "scenarios/weather/weather_reading.hpp"
#include "scenarios/weather/weather_sums.hpp"

namespace stoverturn {
namespace {

constexpr int first_year = 2001;

void print_list() {
  for (const ClimateRow& row : climate_table()) {
    double rain_mm = 0.0, mean_C = 0.0;
    for (std::size_t m = 0; m < 12; ++m) {
      rain_mm += row.normals.rain_mm[m];
      mean_C += (row.normals.tmax_C[m] + row.normals.tmin_C[m]) / 2.0 * month_days[m] / 365.2425;
    }
    fmt::print("{:<20} {:<15} latitude {:6.2f} {:5.0f} m {:6.1f} degC {:5.0f} mm of rain\n{}", row.name,
               row.station, row.latitude_deg, row.elevation_m, mean_C, rain_mm, wrapped("    ", row.source));
  }
}

/// One line of the table: the normals, or what came back.
struct Line {
  const char* name;
  const Months* given;
  const Months* returned;
  Kind kind;
  const char* us_unit;
  int us_digits, si_digits;
};

void print_line(const char* name, const char* what, const Months& values, const Line& line, bool us) {
  fmt::print("  {:<9} {:<9}", name, what);
  for (const double value : values) {
    const bool convert = us && line.us_unit[0] != '\0';
    fmt::print(" {:6.{}f}", convert ? in_unit(value, line.us_unit, line.kind) : value,
               convert ? line.us_digits : line.si_digits);
  }
  fmt::print("\n");
}

void print_climate(const ClimateRow& row, const ClimateOptions& o, const Weather& weather, bool us) {
  WeatherRecord record;
  record.weather = weather;
  const WeatherSummary s = summarise(record);
  const WeatherSums sums = weather_sums(record.weather);
  const MonthlyNormals back = normals_of(record.weather, row.normals.wet_day_mm);
  const auto temperature = [us](double C) {
    return us ? fmt::format("{:.1f} degF", in_unit(C, "degF", Kind::temperature))
              : fmt::format("{:.1f} degC", C);
  };
  const auto depth = [us](double mm) {
    return us ? fmt::format("{:.1f} in", in_unit(mm, "in", Kind::length)) : fmt::format("{:.0f} mm", mm);
  };

  fmt::print("{}: {}, latitude {:.2f}, elevation {:.0f} m\n", row.name, row.station, row.latitude_deg,
             row.elevation_m);
  fmt::print("  source    {}\n", row.source);
  fmt::print("  generated {} year{} with seed {:.0f}; wet days bring at least {:g} mm\n\n", o.years,
             o.years == 1 ? "" : "s", o.seed, row.normals.wet_day_mm);
  fmt::print("  {:<19}", "");
  for (const char* month :
       {"Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"})
    fmt::print(" {:>6}", month);
  fmt::print("\n");
  const Line lines[] = {
      {us ? "tmax degF" : "tmax degC", &row.normals.tmax_C, &back.tmax_C, Kind::temperature, "degF", 1, 1},
      {us ? "tmin degF" : "tmin degC", &row.normals.tmin_C, &back.tmin_C, Kind::temperature, "degF", 1, 1},
      {us ? "rain in" : "rain mm", &row.normals.rain_mm, &back.rain_mm, Kind::length, "in", 2, 0},
      {"wet days", &row.normals.wet_days, &back.wet_days, Kind::time, "", 1, 1}};
  for (const Line& line : lines) {
    print_line(line.name, "normal", *line.given, line, us);
    print_line("", "generated", *line.returned, line, us);
  }
  fmt::print("\n  mean      {} and {} of rain a year\n", temperature(s.mean_temperature_C),
             depth(s.mean_annual_rain_mm));
  fmt::print("  extremes  {}, {}, {} of rain in a day\n", temperature(s.coldest.value),
             temperature(s.hottest.value), depth(s.wettest.value));
  fmt::print("  ET        {} of reference evapotranspiration a year\n", depth(sums.reference_ET_mm));
  fmt::print(
      "  decay     a year is worth {:.0f} days at 25 degC and best moisture on the surface,\n"
      "            {:.0f} buried at 100 mm, {:.0f} standing (silt loam, 9 t/ha of corn residue)\n",
      sums.surface_d, sums.buried_d, sums.standing_d);
}

}  // namespace

std::shared_ptr<ClimateOptions> add_climate_options(CLI::App& command) {
  auto o = std::make_shared<ClimateOptions>();
  auto* name = command.add_option("--climate", o->name, "generate weather of a built-in climate, no file");
  command.add_option("--years", o->years, "how many years to generate, 1 to 199")
      ->check(CLI::Range(1, 199))
      ->needs(name)
      ->capture_default_str();
  command.add_option("--seed", o->seed, "of the random numbers, a whole number")
      ->needs(name)
      ->capture_default_str();
  command.add_flag("--list", o->list, "list the built-in climates");
  return o;
}

bool show_climate(const ClimateOptions& o, const std::string& units, const WeatherSink& sink) {
  if (o.list) {
    print_list();
    return true;
  }
  if (o.name.empty()) return false;
  const Position at{"command line", 0, 0};
  const ClimateRow* row = find_climate(o.name);
  if (!row) {
    throw InputError({{at, fmt::format("--climate: there is no built-in climate '{}'{}", o.name,
                                       did_you_mean(o.name, climate_names()))}});
  }
  if (!(o.seed >= 0.0 && o.seed <= 9007199254740992.0 && o.seed == std::floor(o.seed))) {
    throw InputError(
        {{at, fmt::format("--seed: found {}; wanted a whole number from 0 to 9007199254740992", o.seed)}});
  }
  const Weather weather = generated_weather(row->normals, row->latitude_deg, row->elevation_m, first_year,
                                            first_year + o.years - 1, static_cast<std::uint64_t>(o.seed));
  sink(weather);
  print_climate(*row, o, weather, units == "us");
  return true;
}

}  // namespace stoverturn
