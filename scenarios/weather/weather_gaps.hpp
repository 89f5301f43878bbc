#pragma once
#include <string>
#include <vector>

#include "scenarios/text/mistakes.hpp"
#include "scenarios/weather/weather_raw.hpp"

/// Days without tmin, tmax or rain; the rules stand at read_weather().
namespace stoverturn {

/// In a record whose years have 365 days: fills 31 December of leap years, also after the last day of the
/// record, where both neighbours were measured. Temperatures are the mean of the neighbours, rain is as in
/// fill_gaps().
std::vector<FilledGap> fill_calendar(Weather& weather);

/// A mistake for each gap longer than `longest_d`.
void refuse_long_gaps(const RawWeather& raw, const Weather& weather, int longest_d, const std::string& name,
                      Mistakes& mistakes);

/// Fills what is left. The first and the last day must be whole.
std::vector<FilledGap> fill_gaps(Weather& weather);

}  // namespace stoverturn
