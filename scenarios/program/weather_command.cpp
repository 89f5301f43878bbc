#include <cmath>
#include <cstdio>
#include <filesystem>
#include <memory>

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <CLI/CLI.hpp>
#include <nlohmann/json.hpp>

#include "scenarios/files/atomic_file.hpp"
#include "scenarios/program/climate_command.hpp"
#include "scenarios/program/commands.hpp"
#include "scenarios/text/calendar.hpp"
#include "scenarios/weather/weather_plain.hpp"
#include "scenarios/weather/weather_reading.hpp"
#include "scenarios/weather/weather_sums.hpp"

namespace stoverturn {
namespace {

struct WeatherCommandOptions {
  std::string file, latitude, elevation, longest_gap = "7 d", station, columns_in, units = "si", convert;
  bool json = false, overwrite = false;
};

double option_quantity(const std::string& name, const std::string& text, Kind kind) {
  try {
    return quantity(text, kind).value;
  } catch (const QuantityError& error) {
    throw InputError({{{"command line", 0, 0}, fmt::format("--{}: {}", name, error.what())}});
  }
}

WeatherOptions reading_options(const WeatherCommandOptions& o) {
  WeatherOptions options;
  if (!o.latitude.empty()) options.latitude_deg = option_quantity("latitude", o.latitude, Kind::angle);
  if (!o.elevation.empty())
    options.elevation_m = option_quantity("elevation", o.elevation, Kind::length) / 1000.0;
  options.longest_gap_d = static_cast<int>(option_quantity("longest-gap", o.longest_gap, Kind::time));
  options.station = o.station;
  options.columns_in = columns_in_of(o.columns_in);
  return options;
}

std::string temperature(double C, bool us) {
  return us ? fmt::format("{:.1f} degF", in_unit(C, "degF", Kind::temperature))
            : fmt::format("{:.1f} degC", C);
}
std::string depth(double mm, bool us) {
  return us ? fmt::format("{:.1f} in", in_unit(mm, "in", Kind::length)) : fmt::format("{:.0f} mm", mm);
}

void print_gaps_and_doubts(const WeatherRecord& record, bool us) {
  for (const std::string& doubt : doubts_of(record.weather, us)) fmt::print("  doubt       {}\n", doubt);
  constexpr std::size_t most = 40;
  for (std::size_t i = 0; i < std::min(most, record.filled.size()); ++i) {
    const FilledGap& gap = record.filled[i];
    fmt::print("  filled      {}\n", to_string(gap));
  }
  for (std::size_t i = 0; i < std::min(most, record.suspicious.size()); ++i) {
    const SuspiciousDay& day = record.suspicious[i];
    fmt::print("  suspicious  {}  {} (line {})\n", format_date(day.day), to_string(day, us), day.line);
  }
  if (record.filled.size() > most || record.suspicious.size() > most) {
    fmt::print("  ... {} filled gaps and {} suspicious days in all\n", record.filled.size(),
               record.suspicious.size());
  }
}

void print_summary(const WeatherCommandOptions& o, const WeatherRecord& record, const WeatherSummary& s,
                   const WeatherSums& sums) {
  const bool us = o.units == "us";
  fmt::print("{}: {}\n", o.file, record.format);
  fmt::print("  days        {}, {} days, {} whole year{}; latitude {:.2f}, elevation {:.0f} m\n",
             format_dates(s.first, s.last), s.days, s.whole_years, s.whole_years == 1 ? "" : "s",
             record.weather.latitude_deg, record.weather.elevation_m);
  fmt::print("  mean        {}{}\n", temperature(s.mean_temperature_C, us),
             std::isnan(s.mean_annual_rain_mm)
                 ? ""
                 : fmt::format(" and {} of rain a year", depth(s.mean_annual_rain_mm, us)));
  fmt::print("  extremes    {} on {}, {} on {}, {} of rain on {}\n", temperature(s.coldest.value, us),
             format_date(s.coldest.day), temperature(s.hottest.value, us), format_date(s.hottest.day),
             depth(s.wettest.value, us), format_date(s.wettest.day));
  fmt::print("  left out    {} values with a quality flag of the source\n", record.flagged_values);
  fmt::print("  gaps        days filled: {} in {} gap(s); suspicious days kept: {}\n", s.filled_days,
             record.filled.size(), record.suspicious.size());
  if (!s.not_measured_columns.empty()) {
    fmt::print("  absent      {} (estimated where needed)\n", fmt::join(s.not_measured_columns, ", "));
  }
  if (record.years_of_365_days) {
    fmt::print("  calendar    years of 365 days; 31 December of leap years is filled\n");
  }
  if (!record.unread_columns.empty()) {
    fmt::print("  not read    {}\n", fmt::join(record.unread_columns, ", "));
  }
  if (s.days >= 365) {
    fmt::print("  ET          {} of reference evapotranspiration a year ({})\n",
               depth(sums.reference_ET_mm, us),
               sums.penman_monteith ? "Penman-Monteith where its inputs are there" : "Hargreaves");
    fmt::print(
        "  decay       a year is worth {:.0f} days at 25 degC and best moisture on the surface,\n"
        "              {:.0f} buried at 100 mm, {:.0f} standing (silt loam, 9 t/ha of corn residue)\n",
        sums.surface_d, sums.buried_d, sums.standing_d);
  }
  print_gaps_and_doubts(record, us);
}

void print_json(const WeatherRecord& record, const WeatherSummary& s, const WeatherSums& sums) {
  nlohmann::ordered_json out;
  const auto number = [](double x) { return std::isfinite(x) ? nlohmann::ordered_json(x) : nullptr; };
  out = {{"format", record.format},
         {"first", format_date(s.first)},
         {"last", format_date(s.last)},
         {"days", s.days},
         {"whole_years", s.whole_years},
         {"latitude_deg", record.weather.latitude_deg},
         {"elevation_m", record.weather.elevation_m},
         {"mean_temperature_C", number(s.mean_temperature_C)},
         {"mean_annual_rain_mm", number(s.mean_annual_rain_mm)},
         {"reference_ET_mm_a_year", sums.reference_ET_mm},
         {"days_at_25C_surface", sums.surface_d},
         {"days_at_25C_buried", sums.buried_d},
         {"days_at_25C_standing", sums.standing_d},
         {"flagged_values", record.flagged_values},
         {"filled_days", s.filled_days}};
  for (const FilledGap& gap : record.filled) {
    out["filled"].push_back({{"first", format_date(gap.first)}, {"days", gap.days}, {"what", gap.what}});
  }
  out["unread_columns"] = record.unread_columns;
  for (const std::string& doubt : doubts_of(record.weather)) out["doubts"].push_back(doubt);
  for (const SuspiciousDay& day : record.suspicious) {
    out["suspicious"].push_back(
        {{"date", format_date(day.day)}, {"line", day.line}, {"what", to_string(day)}});
  }
  fmt::print("{}\n", out.dump(1, ' ', false, nlohmann::ordered_json::error_handler_t::replace));
}

/// Before the reading, so that nothing is done in vain.
void check_target(const WeatherCommandOptions& o) {
  if (o.convert.empty()) return;
  if (std::error_code error; std::filesystem::equivalent(o.convert, o.file, error)) {
    throw FileError(o.convert, "would replace the file that is read; choose another name with --convert");
  }
  refuse_existing({o.convert}, o.overwrite);
}

void convert(const WeatherCommandOptions& o, const Weather& weather, const std::vector<FilledGap>& filled) {
  if (o.convert.empty()) return;
  write_text(o.convert, write_plain_weather(weather, filled));
  fmt::print(stderr, "wrote {}\n", o.convert);
}

void summarise_file(const WeatherCommandOptions& o) {
  const std::string text = read_text(o.file);
  check_target(o);
  const WeatherRecord record = read_weather(text, o.file, reading_options(o));
  if (std::isnan(record.weather.latitude_deg)) {
    throw InputError(
        {{{o.file, 0, 0}, "the file does not say its latitude; give it with --latitude \"42.0 N\""}});
  }
  const WeatherSummary summary = summarise(record);
  const WeatherSums sums = weather_sums(record.weather);
  convert(o, record.weather, record.filled);
  if (o.json) {
    print_json(record, summary, sums);
  } else {
    print_summary(o, record, summary, sums);
  }
}

}  // namespace

void add_weather_command(CLI::App& app) {
  const auto o = std::make_shared<WeatherCommandOptions>();
  CLI::App* command = app.add_subcommand("weather", "Read daily weather and say what it holds");
  command->footer(
      "Examples:  stoverturn weather station.dly --latitude \"42.0 N\"\n"
      "           stoverturn weather download.csv --convert weather.csv");
  command->add_option("FILE", o->file,
                      "plain CSV, GHCN-Daily (.dly or by station), Daymet or NASA POWER (CSV)");
  command->add_option("--latitude", o->latitude, "of the place, such as \"42.0 N\", where the file has none");
  command->add_option("--elevation", o->elevation, "of the place, such as \"300 m\"");
  command->add_option("--longest-gap", o->longest_gap, "gaps up to this length are filled")
      ->capture_default_str();
  command->add_option("--station", o->station, "which of several stations in one file");
  command
      ->add_option("--columns-in", o->columns_in,
                   "units of a table whose header states none: us, metric or tenths")
      ->check(CLI::IsMember(columns_in_words));
  command->add_option("--units", o->units, "us or si")
      ->check(CLI::IsMember({"us", "si"}))
      ->capture_default_str();
  command->add_option("--convert", o->convert, "write what was read or generated to this file, as plain CSV");
  command->add_flag("--overwrite", o->overwrite, "replace the file of --convert where it exists");
  command->add_flag("--json", o->json, "JSON instead of text");
  const auto climate = add_climate_options(*command);
  command->get_option("--climate")->excludes(command->get_option("FILE"));
  command->callback([o, climate] {
    const auto keep = [&](const Weather& generated) {
      check_target(*o);
      convert(*o, generated, {});
    };
    if (show_climate(*climate, o->units, keep)) return;
    if (o->file.empty()) throw CLI::RequiredError("FILE, --climate or --list");
    summarise_file(*o);
  });
}

}  // namespace stoverturn
