#pragma once
#include <array>
#include <chrono>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "engine/weather.hpp"
#include "scenarios/text/mistakes.hpp"
#include "scenarios/units/quantity.hpp"
#include "scenarios/weather/filled_gap.hpp"
#include "scenarios/weather/weather_options.hpp"

/// What every weather format delivers before gaps are filled: values in the program's units with the place
/// each one was read from.
namespace stoverturn {

/// One row a quantity that a station may measure.
struct WeatherField {
  std::string_view name;        ///< column name in the plain format
  std::string_view unit;        ///< unit of the WeatherDay member, as the plain format writes it
  std::string_view other_unit;  ///< a second one for messages
  Kind kind;
  double lowest, highest;  ///< what lies outside is impossible on Earth
  double WeatherDay::*member;
};

// Bounds lie outside the records known for the Earth's surface (from memory: -89.2 and 56.7 degC, 1825 mm in
// a day, 113 m/s, 11.8 m of snow) and outside the sun's daily 45 MJ/m2 at the top of the atmosphere.
inline constexpr std::array<WeatherField, 9> weather_fields = {{
    {"tmin", "degC", "degF", Kind::temperature, -90.0, 60.0, &WeatherDay::tmin_C},
    {"tmax", "degC", "degF", Kind::temperature, -90.0, 60.0, &WeatherDay::tmax_C},
    {"rain", "mm", "in", Kind::length, 0.0, 2000.0, &WeatherDay::rain_mm},
    {"radiation", "MJ/m2/d", "", Kind::radiation, 0.0, 50.0, &WeatherDay::radiation_MJ_m2},
    {"wind", "m/s", "mph", Kind::speed, 0.0, 120.0, &WeatherDay::wind_m_s},
    {"humidity", "%", "", Kind::humidity, 0.0, 100.0, &WeatherDay::humidity_percent},
    {"snow depth", "mm", "in", Kind::length, 0.0, 20000.0, &WeatherDay::snow_depth_mm},
    {"soil temperature", "degC", "degF", Kind::temperature, -90.0, 80.0, &WeatherDay::soil_temperature_C},
    {"soil moisture", "m3/m3", "%", Kind::fraction, 0.0, 1.0, &WeatherDay::soil_moisture_m3_m3},
}};
inline constexpr std::size_t field_tmin = 0, field_tmax = 1, field_rain = 2;
inline constexpr std::size_t required_fields =
    3;  ///< the first of the table: a day is whole when it has them

struct RawValue {
  double value = not_measured;
  int line = 0;
  int column = 0;
};

struct RawDay {
  int line = 0;  ///< of the first value read
  std::array<RawValue, weather_fields.size()> values;
};

struct RawWeather {
  std::map<std::chrono::sys_days, RawDay> days;
  double latitude_deg = not_measured;
  double elevation_m = not_measured;
  int flagged_values = 0;                   ///< left out for a quality flag
  bool years_of_365_days = false;           ///< the source has no 31 December in leap years
  std::vector<FilledGap> filled_before;     ///< filled by an earlier reading, as the file says
  std::vector<std::string> unread_columns;  ///< that mean nothing to this program
};

/// Stores one value (in the WeatherDay unit); a mistake when it is impossible or already there. `found` is
/// what the file says, with its unit; `advice` ends the message of an impossible value.
void store(RawWeather& raw, Mistakes& mistakes, std::chrono::sys_days day, std::size_t field, double value,
           std::string_view found, const Position& at, std::string_view advice = "");

/// A file format. To add one, write these two functions and add a row to the table in weather_formats.cpp.
struct WeatherFormat {
  std::string_view name;
  /// By content: a look at the first lines, never at the file's name. `text` has no byte order mark.
  bool (*recognises)(std::string_view text);
  /// Reads what it can and adds all mistakes; may throw InputError when it cannot go on.
  RawWeather (*read)(std::string_view text, const std::string& name, const WeatherOptions& options,
                     Mistakes& mistakes);
  bool has_own_units = true;  ///< false: WeatherOptions::columns_in may state them
};

}  // namespace stoverturn
