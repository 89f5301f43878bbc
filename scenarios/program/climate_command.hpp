#pragma once
#include <functional>
#include <memory>
#include <string>

#include "engine/weather.hpp"

namespace CLI {
class App;
}

namespace stoverturn {

/// `stoverturn weather --climate NAME` and `--list`: the built-in climates and what the generator makes of
/// them.
struct ClimateOptions {
  std::string name;
  int years = 30;
  double seed = 1.0;
  bool list = false;
};

/// Adds the options to the weather command.
std::shared_ptr<ClimateOptions> add_climate_options(CLI::App& command);

/// Takes the weather that was generated.
using WeatherSink = std::function<void(const Weather&)>;

/// Prints what was asked for, and hands generated weather to `sink` before; false when nothing was asked.
/// `units` is "us" or "si".
bool show_climate(const ClimateOptions& options, const std::string& units, const WeatherSink& sink);

}  // namespace stoverturn
