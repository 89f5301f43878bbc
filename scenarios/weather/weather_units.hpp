#pragma once
#include <optional>
#include <string>
#include <string_view>

#include "scenarios/weather/weather_raw.hpp"

/// Units of the columns of a plain table.
namespace stoverturn {

/// value = factor * number + offset
struct UnitConversion {
  double factor = 1.0, offset = 0.0;
};

/// To the WeatherDay unit of `field`. "per day" may be left out of radiation and put to rain. Throws
/// QuantityError.
UnitConversion unit_conversion(std::string_view unit, const WeatherField& field);

struct ColumnUnit {
  std::string unit;  ///< "tenths of degC"
  UnitConversion conversion;
};

/// The unit of a field (its index) in tables that state none; nothing where the choice does not tell it
/// (radiation, soil moisture).
std::optional<ColumnUnit> unit_by_choice(ColumnsIn choice, std::size_t field);

/// For a number that is impossible in the unit it was read in: in which other units of the field's kind it
/// would be possible, as the end of a message; "" for none. `by_choice`: columns_in can change the unit.
std::string possible_units(double number, std::size_t field, bool by_choice);

}  // namespace stoverturn
