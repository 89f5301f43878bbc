/// write_daily_table WEATHER.csv > tests/reference/daily_drivers.txt
/// Drivers of 548 days from 5 November 2013 under the shipped New York weather, a corn crop from May on.
#include <cstdio>
#include <fstream>
#include <iterator>
#include <string>

#include "engine/weather_drivers.hpp"
#include "scenarios/weather/weather_reading.hpp"
#include "tests/crop_kinds.hpp"

using namespace stoverturn;
using std::chrono::sys_days;
using std::chrono::year;

int main(int count, char** words) {
  std::ifstream file(count > 1 ? words[1] : "");
  const std::string text{std::istreambuf_iterator<char>(file), {}};
  const WeatherRecord record = read_weather(text, "weather.csv");
  WeatherDriversInput in;
  in.weather = &record.weather;
  in.start = sys_days{year{2013} / 11 / 5};
  in.days = 548;
  in.burial_depth_mm = 150.0;
  in.mulch = {{.day = 0, .standing_added = 0.0, .surface_added = 700.0}};
  in.crops = {even_season(15.0, 185)};
  in.parameters = default_parameters();
  const Drivers<double> drivers = weather_drivers(in).drivers;
  std::puts("# made by tests/benchmarks/write_daily_table from notebooks-data/weather-newyork-2012-2015.csv");
  std::puts(
      "# T_surface T_buried T_soil wetness pore_filling w_surface w_buried w_0 w_top w_sub demand wind");
  for (const DayDrivers<double>& d : drivers.days) {
    std::printf("%.5g %.5g %.5g %.5g %.5g %.5g %.5g %.5g %.5g %.5g %.5g %.5g\n", d.temperature_C[1],
                d.temperature_C[2], d.soil_temperature_C, d.surface_wetness, d.pore_filling, d.water_mm_d[1],
                d.water_mm_d[2], d.surface_water_mm_d, d.drained_top_d, d.drained_sub_d, d.crop_demand_g_m2_d,
                d.wind_factor);
  }
}
