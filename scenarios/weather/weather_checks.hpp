#pragma once
#include <string>
#include <vector>

#include "scenarios/text/mistakes.hpp"
#include "scenarios/weather/weather_raw.hpp"
#include "scenarios/weather/weather_reading.hpp"

namespace stoverturn {

/// Adds a mistake for every day whose tmin is above its tmax and every one before 1700 or after 2200.
void check_days(const RawWeather& raw, const std::string& name, Mistakes& mistakes);

/// The days that look wrong, by date; the rules stand at read_weather().
std::vector<SuspiciousDay> suspicious_days(const RawWeather& raw, double latitude_deg);

}  // namespace stoverturn
