#pragma once
#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "scenarios/text/csv_text.hpp"
#include "scenarios/weather/weather_names.hpp"
#include "scenarios/weather/weather_raw.hpp"
#include "scenarios/weather/weather_units.hpp"

/// The header of a table of daily weather: what each column means and how its numbers become those of a
/// WeatherDay.
namespace stoverturn {

struct WeatherColumn {
  std::size_t meaning = unread_column;
  std::string name;  ///< as the file writes it, without the unit
  std::string unit;
  UnitConversion conversion;    ///< of a field; wind measured at 10 m is reduced to 2 m (FAO-56 Eq. 47)
  bool unit_by_choice = false;  ///< the unit is that of WeatherOptions::columns_in
};

/// Every column of the header. A mistake is a name near a known one, a unit that is absent or does not fit, a
/// field twice, no way to tell the date, and no tmin, tmax or rain. Units that the header does not state are
/// those of `options.columns_in`; several that are absent without it are one mistake. An elevation that
/// `options` state is not read.
std::vector<WeatherColumn> read_weather_header(const CsvRow& header, const std::string& name,
                                               const WeatherOptions& options, Mistakes& mistakes);

/// Where the column with that meaning is; columns.size() when there is none.
std::size_t place_of(const std::vector<WeatherColumn>& columns, std::size_t meaning);

/// Names of the columns that mean nothing to this program.
std::vector<std::string> unread(const std::vector<WeatherColumn>& columns);

}  // namespace stoverturn
