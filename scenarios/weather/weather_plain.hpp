#pragma once
#include <span>
#include <string>
#include <string_view>

#include "engine/weather.hpp"
#include "scenarios/weather/weather_raw.hpp"

/// The project's own weather file, and tables of daily weather as people keep them: CSV whose header names
/// each column with its unit.
///
///     # latitude: 40.78
///     # elevation: 40 m
///     date,tmin [degC],tmax [degF],rain [in],radiation [MJ/m2/d],note
///     2012-01-01,3.3,50,0.07,,"first day"
///
/// Columns: date (yyyy-mm-dd and the other forms of weather_dates.hpp), or year and day of year, or year,
/// month and day; tmin, tmax, rain (water of snow included); and where measured radiation, wind (at 2 m),
/// humidity (daily mean), snow depth, soil temperature (at 100 mm), soil moisture (topsoil). A column station
/// (site, location) tells several stations apart; latitude and elevation may be columns. Names in many
/// spellings: weather_columns.hpp. Columns that mean nothing here are listed and not read. An empty cell, NA
/// or NaN was not measured. Where headers state no unit, WeatherOptions::columns_in does. Days are in order;
/// missing ones may be left out. Cells are parted by commas; or by semicolons or tabs, and then a comma in a
/// number is a decimal point. The lines `# latitude:` and `# elevation:` may be absent; `# filled:` tells
/// what an earlier reading filled; other comments are free.
namespace stoverturn {

/// True when a cell of the first row names a date or a quantity of weather, whatever parts the cells.
bool is_plain_weather(std::string_view text);

RawWeather read_plain_weather(std::string_view text, const std::string& name, const WeatherOptions& options,
                              Mistakes& mistakes);

/// Writes the plain format in the units of WeatherDay, with the columns that hold a value and up to six
/// decimals of each number, and what was filled as comments. Values that read_weather() gave, and so are
/// rounded to as many, read back to the last bit.
std::string write_plain_weather(const Weather& weather, std::span<const FilledGap> filled = {});

}  // namespace stoverturn
