#pragma once
#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "scenarios/text/csv_text.hpp"
#include "scenarios/weather/weather_raw.hpp"

/// The header of a table of daily weather: what each column means and how its numbers become those of a
/// WeatherDay.
///
/// Names are compared without case, `_`, `-`, `.` and blanks; "AirTempMax" counts as "air temp max"; "air",
/// "daily", "total", "mean" and "average" may stand anywhere. A unit stands in brackets, "Tmax (F)", or at
/// the end of the name, "precip_in", "maxt_c".
namespace stoverturn {

/// A column means a field of weather_fields, by its index, or one of these.
enum ColumnMeaning : std::size_t {
  date_column = weather_fields.size(),
  year_column,
  month_column,
  day_column,  ///< of the month; of the year where there is a year and no month
  day_of_year_column,
  station_column,
  latitude_column,
  elevation_column,
  note_column,    ///< for people, never read
  unread_column,  ///< means nothing to this program
};

/// value = factor * number + offset
struct UnitConversion {
  double factor = 1.0, offset = 0.0;
};

/// To the WeatherDay unit of `field`. "per day" may be left out of radiation and put to rain. Throws
/// QuantityError.
UnitConversion unit_conversion(std::string_view unit, const WeatherField& field);

struct WeatherColumn {
  std::size_t meaning = unread_column;
  std::string name;  ///< as the file writes it, without the unit
  std::string unit;
  UnitConversion conversion;  ///< of a field; wind measured at 10 m is reduced to 2 m (FAO-56 Eq. 47)
};

/// True when the name, unit included, is that of a weather field or of a date.
bool names_weather_or_date(std::string_view header_cell);

/// Every column of the header. A mistake is a name near a known one, a unit that is absent or does not fit, a
/// field twice, no way to tell the date, and no tmin, tmax or rain.
std::vector<WeatherColumn> read_weather_header(const CsvRow& header, const std::string& name,
                                               Mistakes& mistakes);

/// Where the column with that meaning is; columns.size() when there is none.
std::size_t place_of(const std::vector<WeatherColumn>& columns, std::size_t meaning);

/// Names of the columns that mean nothing to this program.
std::vector<std::string> unread(const std::vector<WeatherColumn>& columns);

}  // namespace stoverturn
