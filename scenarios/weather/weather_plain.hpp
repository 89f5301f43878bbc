#pragma once
#include <string>
#include <string_view>

#include "engine/weather.hpp"
#include "scenarios/weather/weather_raw.hpp"

/// The project's own weather file: CSV whose header names each column with its unit.
///
///     # latitude: 40.78
///     # elevation: 40 m
///     date,tmin [degC],tmax [degF],rain [in],radiation [MJ/m2/d],note
///     2012-01-01,3.3,50,0.07,,"first day"
///
/// Columns: date (yyyy-mm-dd), tmin, tmax, rain (water of snow included); and where measured radiation, wind
/// (at 2 m), humidity (daily mean), snow depth, soil temperature (at 100 mm), soil moisture (topsoil). A
/// `note` column is skipped, any other is a mistake. An empty cell or NA was not measured. Days are in order;
/// missing ones may be left out. The lines `# latitude:` and `# elevation:` may be absent; other comments are
/// free.
namespace stoverturn {

/// True when a cell of the first row is named like one of the columns, whatever separates the cells.
bool is_plain_weather(std::string_view text);

RawWeather read_plain_weather(std::string_view text, const std::string& name, const std::string& station,
                              Mistakes& mistakes);

/// Writes the plain format in the units of WeatherDay, with the columns that hold a value and every digit of
/// each number, so that reading gives the same weather back.
std::string write_plain_weather(const Weather& weather);

}  // namespace stoverturn
