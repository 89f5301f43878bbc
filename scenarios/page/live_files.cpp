#include <cmath>

#include <fmt/format.h>

#include "scenarios/page/live_engine.hpp"
#include "scenarios/text/calendar.hpp"
#include "scenarios/trial/fit_json.hpp"
#include "scenarios/units/quantity.hpp"
#include "scenarios/weather/weather_reading.hpp"

namespace stoverturn {
namespace {

double place(const Json& request, const char* key, Kind kind, double otherwise) {
  const std::string text = optional_text(request, key);
  if (text.empty()) return otherwise;
  try {
    return quantity(text, kind).value;
  } catch (const QuantityError& error) {
    throw mistake_of_request(fmt::format("{}: {}", key, error.what()));
  }
}

/// The first of the intervals that the fit has.
Between interval_of(const FittedUnknown& u) {
  for (const Between* b : {&u.posterior, &u.bootstrap, &u.profile, &u.curvature}) {
    if (std::isfinite(b->lower) && std::isfinite(b->upper)) return *b;
  }
  return {};
}

}  // namespace

Json live_weather(const Json& request) {
  const std::string name = wanted_text(request, "name"), text = wanted_text(request, "text");
  WeatherOptions options;
  options.latitude_deg = place(request, "latitude", Kind::angle, not_measured);
  options.elevation_m = place(request, "elevation", Kind::length, not_measured) / 1000.0;
  options.station = optional_text(request, "station");
  options.columns_in = columns_in_of(optional_text(request, "columns_in"));
  const WeatherRecord record = read_weather(text, name, options);
  const WeatherSummary s = summarise(record);
  Json warnings = Json::array();
  for (std::string& note : weather_notes(record, name)) warnings.push_back(std::move(note));
  for (const SuspiciousDay& day : record.suspicious) {
    if (warnings.size() == 20) break;
    warnings.push_back(fmt::format("{} (line {}): {}", format_date(day.day), day.line, to_string(day)));
  }
  return {{"format", record.format},
          {"first", format_date(s.first)},
          {"last", format_date(s.last)},
          {"days", s.days},
          {"years", s.whole_years},
          {"latitude_deg", number_or_null(record.weather.latitude_deg)},
          {"elevation_m", number_or_null(record.weather.elevation_m)},
          {"needs_latitude", std::isnan(record.weather.latitude_deg)},
          {"mean_temperature_C", number_or_null(s.mean_temperature_C)},
          {"rain_mm_a", number_or_null(s.mean_annual_rain_mm)},
          {"not_measured", s.not_measured_columns},
          {"warnings", std::move(warnings)}};
}

Json live_fit(const Json& request) {
  const FitResult fit =
      read_fit_json(wanted_text(request, "text"), optional_text(request, "name", "fit.json"));
  Json unknowns = Json::array();
  for (const FittedUnknown& u : fit.unknowns) {
    const Between between = interval_of(u);
    unknowns.push_back({{"name", u.unknown.name},
                        {"unit", u.unknown.unit},
                        {"estimate", number_or_null(u.estimate)},
                        {"low", number_or_null(between.lower)},
                        {"high", number_or_null(between.upper)}});
  }
  return {{"title", fit.title},
          {"program", fit.program},
          {"level", fit.level},
          {"treatments", fit.treatment_keys.empty() ? fit.treatments : fit.treatment_keys},
          {"draws", fit.draws.cols()},
          {"draws_are", fit.draws_are},
          {"unknowns", std::move(unknowns)},
          {"warnings", fit.warnings}};
}

}  // namespace stoverturn
