#pragma once
#include <memory>
#include <string>

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

/// Prints what was asked for; false when nothing was. `units` is "us" or "si".
bool show_climate(const ClimateOptions& options, const std::string& units);

}  // namespace stoverturn
