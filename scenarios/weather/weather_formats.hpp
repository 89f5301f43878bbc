#pragma once
#include <string>
#include <string_view>

#include "scenarios/weather/weather_raw.hpp"

namespace stoverturn {

/// The format of the text, by its content. Throws InputError when there is none, saying what can be read and
/// what the text looks like.
const WeatherFormat& format_of(std::string_view text, const std::string& name);

}  // namespace stoverturn
