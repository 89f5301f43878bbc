/// Runs a scenario inside WebAssembly: arguments are the scenario and its weather; prints the key numbers as
/// JSON.
#include <fstream>
#include <iostream>
#include <iterator>

#include "scenarios/results/run_scenario.hpp"
#include "scenarios/results/table_print.hpp"
#include "scenarios/weather/weather_reading.hpp"

namespace {
std::string slurp(const char* path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}
}  // namespace

int main(int argc, char** argv) {
  if (argc != 3) return 2;
  try {
    const stoverturn::Scenario scenario = stoverturn::read_scenario(slurp(argv[1]), argv[1], {});
    stoverturn::Climates climates;
    climates.weather = stoverturn::read_weather(slurp(argv[2]), argv[2]).weather;
    std::cout << stoverturn::json_key_numbers(stoverturn::run_scenario(scenario, climates, {}));
  } catch (const std::exception& error) {
    std::cerr << error.what() << "\n";
    return 1;
  }
  return 0;
}
