#pragma once
#include <cstddef>
#include <string>
#include <string_view>

#include "scenarios/text/column_header.hpp"
#include "scenarios/weather/weather_raw.hpp"

/// Names of the columns of a table of daily weather.
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

struct Spelling {
  std::string_view text;  ///< lower case, words apart by one blank
  std::size_t meaning;
  bool at_10_m = false;
};

/// Lower case, words apart by one blank: "Max_Temp", "MaxTemp" and "max-temp" are "max temp".
std::string folded_name(std::string_view name);

/// The spelling of a name, whose last word may be a unit; that unit is then put to `header`. nullptr for
/// none.
const Spelling* understood(ColumnHeader& header);

/// The known name that is meant by a misspelt (folded) one. Words of less than four letters are near to
/// everything; "soil temp 20cm" and "wind direction" are other quantities, not mistakes.
std::string nearest_spelling(const std::string& name);

/// As the plain format writes it.
std::string_view name_of(std::size_t meaning);

/// True when the name, unit included, is that of a weather field or of a date.
bool names_weather_or_date(std::string_view header_cell);

}  // namespace stoverturn
