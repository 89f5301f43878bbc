#pragma once
#include <string_view>

#include "scenarios/units/quantity.hpp"

/// The one table of units. The build turns its UDUNITS-2 expressions into numbers (make_unit_factors.cpp),
/// the tests compare every row with UDUNITS-2 again.
///
/// Not taken from UDUNITS-2 under its own name:
///   acre    there it is the US survey acre; here the international acre, 4840 square yards
///           = 4046.8564224 m2 (survey foot retired since 2023: NIST and NOAA, 85 FR 62698, 2020)
///   gallon  there rounded to 3.785412 L; here 231 cubic inches = 3.785411784 L (NIST Handbook 44, App. C)
///   bu      there a volume; here a bushel of corn, 56 lb at 15.5 % moisture (common practice, no source)
///   ton     there the short ton; here refused
///   degF    a difference of temperatures uses the degree Rankine, which has no offset
namespace stoverturn {

/// One kind of quantity, in the order of the enumeration.
struct KindRow {
  Kind kind;
  std::string_view name;
  std::string_view canonical;  ///< as in result files
  const char* udunits;         ///< the same for UDUNITS-2 (which has no money)
  std::string_view bare;       ///< unit of a number without one; "" where a unit must be written
  std::string_view wanted;     ///< for messages
};

inline constexpr KindRow kind_rows[] = {
    {Kind::fraction, "fraction", "1", "1", "1", "a fraction, such as 30 % or 0.3"},
    {Kind::content, "content", "g g-1", "g g-1", "", "a content with its unit, such as 6.8 g/kg or 0.68 %"},
    {Kind::mass, "mass", "g", "g", "", "a mass with its unit, such as 5 g"},
    {Kind::mass_per_area, "mass per area", "g m-2", "g m-2", "",
     "a mass per area with its unit, such as 60 lb/acre"},
    {Kind::mass_per_area_per_time, "mass per area and time", "g m-2 d-1", "g m-2 d-1", "",
     "a mass per area and time with its unit, such as 0.5 kg/ha/d"},
    {Kind::grain_yield, "grain yield", "g m-2", "g m-2", "",
     "a grain yield with its unit, such as 205 bu/acre or 12.9 t/ha"},
    {Kind::length, "length", "mm", "mm", "", "a length with its unit, such as 150 mm or 6 in"},
    {Kind::per_length, "number per length", "mm-1", "mm-1", "",
     "a number per length with its unit, such as 0.1 1/mm"},
    {Kind::length_per_time, "length per time", "mm d-1", "mm d-1", "",
     "a length per time with its unit, such as 5 mm/d"},
    {Kind::temperature, "temperature", "degC", "degC", "",
     "a temperature with its unit, such as 60 F or 15 C"},
    {Kind::temperature_difference, "temperature difference", "K", "K", "",
     "a temperature difference with its unit, such as 2 K or 3.6 F"},
    {Kind::degree_days, "degree days", "K d", "K day", "",
     "degree days with their unit, such as 2700 degF d or 1500 degC d"},
    {Kind::time, "time", "d", "d", "", "a time with its unit, such as 10 days"},
    {Kind::per_time, "number per time", "d-1", "d-1", "",
     "a number per time with its unit, such as 0.02 1/d"},
    {Kind::liquid_rate, "liquid rate", "L m-2", "L m-2", "",
     "a liquid rate with its unit, such as 10 gal/acre or 100 L/ha"},
    {Kind::density, "density", "g cm-3", "g cm-3", "", "a density with its unit, such as 11.06 lb/gal"},
    {Kind::speed, "speed", "m s-1", "m s-1", "", "a speed with its unit, such as 5 mph or 2 m/s"},
    {Kind::radiation, "radiation", "MJ m-2 d-1", "MJ m-2 d-1", "",
     "a radiation with its unit, such as 18 MJ/m2/d"},
    {Kind::pressure, "pressure", "MPa", "MPa", "", "a pressure with its unit, such as -0.5 MPa"},
    {Kind::humidity, "humidity", "percent", "percent", "%", "a relative humidity in percent, such as 65 %"},
    {Kind::angle, "angle", "degree", "arc_degree", "deg", "an angle in degrees, such as 42.03 or 33.9 S"},
    {Kind::money, "money", "currency", "1", "", "an amount of money with its currency, such as 12 $"},
    {Kind::money_per_mass, "money per mass", "currency g-1", "g-1", "",
     "a price per mass with its unit, such as 0.60 $/lb"},
    {Kind::money_per_area, "money per area", "currency m-2", "m-2", "",
     "money per area with its unit, such as 12 $/acre"},
    {Kind::money_per_grain, "price of grain", "currency g-1", "g-1", "",
     "a price of grain with its unit, such as 4.50 $/bu"},
};

/// One unit of one kind. Spellings that unit_key() makes equal ("lbs per ac", "kg ha-1") need no row.
struct UnitRow {
  Kind kind;
  std::string_view spelling;
  const char* udunits;
  std::string_view note = {};
};

/// Preferred spellings first within a kind. Money has no rate between currencies: its factor is that of the
/// rest, and `$` stands for any currency word.
inline constexpr UnitRow unit_rows[] = {
    {Kind::fraction, "%", "0.01"},
    {Kind::fraction, "1", "1", "written as a bare number"},
    {Kind::fraction, "m3/m3", "m3 m-3", "water by volume"},

    {Kind::content, "g/kg", "g/kg"},
    {Kind::content, "%", "0.01"},
    {Kind::content, "g/g", "1"},
    {Kind::content, "mg/g", "mg/g"},
    {Kind::content, "mg/kg", "mg/kg"},
    {Kind::content, "ppm", "1e-6", "by mass"},
    {Kind::content, "g/100 g", "g/(100 g)"},
    {Kind::content, "mg/100 g", "mg/(100 g)"},
    {Kind::content, "kg/kg", "1"},
    {Kind::content, "kg/t", "kg/tonne"},
    {Kind::content, "kg/tonne", "kg/tonne"},
    {Kind::content, "kg/Mg", "kg/Mg"},
    {Kind::content, "lb/short ton", "lb/(2000 lb)"},
    {Kind::content, "lb/lb", "1"},

    {Kind::mass, "g", "g"},
    {Kind::mass, "kg", "kg"},
    {Kind::mass, "lb", "lb"},
    {Kind::mass, "mg", "mg"},
    {Kind::mass, "t", "tonne"},
    {Kind::mass, "tonne", "tonne"},
    {Kind::mass, "Mg", "Mg"},
    {Kind::mass, "short ton", "2000 lb"},

    {Kind::mass_per_area, "lb/acre", "lb/(4840 yard2)"},
    {Kind::mass_per_area, "kg/ha", "kg/hectare"},
    {Kind::mass_per_area, "g/m2", "g/m2"},
    {Kind::mass_per_area, "t/ha", "tonne/hectare"},
    {Kind::mass_per_area, "Mg/ha", "Mg/hectare"},
    {Kind::mass_per_area, "tonne/ha", "tonne/hectare"},
    {Kind::mass_per_area, "short ton/acre", "2000 lb/(4840 yard2)"},
    {Kind::mass_per_area, "tonne/acre", "tonne/(4840 yard2)"},
    {Kind::mass_per_area, "kg/m2", "kg/m2"},
    {Kind::mass_per_area, "kg/acre", "kg/(4840 yard2)"},
    {Kind::mass_per_area, "g/ha", "g/hectare"},
    {Kind::mass_per_area, "lb/ft2", "lb/foot2"},

    {Kind::mass_per_area_per_time, "kg/ha/d", "kg/hectare/day"},
    {Kind::mass_per_area_per_time, "lb/acre/d", "lb/(4840 yard2)/day"},
    {Kind::mass_per_area_per_time, "g/m2/d", "g/m2/day"},
    {Kind::mass_per_area_per_time, "kg/ha/yr", "kg/hectare/(365.25 day)"},
    {Kind::mass_per_area_per_time, "lb/acre/yr", "lb/(4840 yard2)/(365.25 day)"},
    {Kind::mass_per_area_per_time, "g/m2/yr", "g/m2/(365.25 day)"},

    {Kind::grain_yield, "bu/acre", "56 lb/(4840 yard2)", "corn, 15.5 % moisture"},
    {Kind::grain_yield, "t/ha", "tonne/hectare"},
    {Kind::grain_yield, "Mg/ha", "Mg/hectare"},
    {Kind::grain_yield, "tonne/ha", "tonne/hectare"},
    {Kind::grain_yield, "kg/ha", "kg/hectare"},
    {Kind::grain_yield, "lb/acre", "lb/(4840 yard2)"},
    {Kind::grain_yield, "short ton/acre", "2000 lb/(4840 yard2)"},
    {Kind::grain_yield, "tonne/acre", "tonne/(4840 yard2)"},
    {Kind::grain_yield, "g/m2", "g/m2"},

    {Kind::length, "mm", "mm"},
    {Kind::length, "in", "inch"},
    {Kind::length, "cm", "cm"},
    {Kind::length, "ft", "foot"},
    {Kind::length, "m", "m"},
    {Kind::length, "um", "micrometer"},

    {Kind::per_length, "1/mm", "mm-1"},
    {Kind::per_length, "1/cm", "cm-1"},
    {Kind::per_length, "1/m", "m-1"},
    {Kind::per_length, "1/in", "inch-1"},

    {Kind::length_per_time, "mm/d", "mm/day"},
    {Kind::length_per_time, "in/d", "inch/day"},
    {Kind::length_per_time, "cm/d", "cm/day"},
    {Kind::length_per_time, "mm/week", "mm/(7 day)"},
    {Kind::length_per_time, "in/week", "inch/(7 day)"},
    {Kind::length_per_time, "mm/h", "mm/hour"},
    {Kind::length_per_time, "in/h", "inch/hour"},
    {Kind::length_per_time, "cm/h", "cm/hour"},
    {Kind::length_per_time, "mm/yr", "mm/(365.25 day)"},
    {Kind::length_per_time, "in/yr", "inch/(365.25 day)"},
    {Kind::length_per_time, "cm/yr", "cm/(365.25 day)"},
    {Kind::length_per_time, "m/yr", "m/(365.25 day)"},

    {Kind::temperature, "F", "degF"},
    {Kind::temperature, "C", "degC"},
    {Kind::temperature, "K", "K"},

    {Kind::temperature_difference, "K", "K"},
    {Kind::temperature_difference, "F", "degree_rankine"},
    {Kind::temperature_difference, "C", "K"},

    {Kind::degree_days, "degF d", "degree_rankine day"},
    {Kind::degree_days, "degC d", "K day"},
    {Kind::degree_days, "K d", "K day"},

    {Kind::time, "d", "day"},
    {Kind::time, "week", "7 day"},
    {Kind::time, "yr", "365.25 day", "Julian year"},
    {Kind::time, "h", "hour"},
    {Kind::time, "min", "minute"},
    {Kind::time, "s", "second"},

    {Kind::per_time, "1/d", "day-1"},
    {Kind::per_time, "1/yr", "(365.25 day)-1"},
    {Kind::per_time, "1/week", "(7 day)-1"},
    {Kind::per_time, "1/h", "hour-1"},
    {Kind::per_time, "%/d", "0.01 day-1"},
    {Kind::per_time, "%/yr", "0.01 (365.25 day)-1"},

    {Kind::liquid_rate, "gal/acre", "231 inch3/(4840 yard2)"},
    {Kind::liquid_rate, "L/ha", "L/hectare"},
    {Kind::liquid_rate, "qt/acre", "57.75 inch3/(4840 yard2)"},
    {Kind::liquid_rate, "pt/acre", "28.875 inch3/(4840 yard2)"},
    {Kind::liquid_rate, "fl oz/acre", "1.8046875 inch3/(4840 yard2)"},
    {Kind::liquid_rate, "mL/ha", "mL/hectare"},
    {Kind::liquid_rate, "L/m2", "L/m2"},
    {Kind::liquid_rate, "m3/ha", "m3/hectare"},

    {Kind::density, "lb/gal", "lb/(231 inch3)"},
    {Kind::density, "kg/L", "kg/L"},
    {Kind::density, "g/cm3", "g/cm3"},
    {Kind::density, "g/mL", "g/mL"},
    {Kind::density, "kg/m3", "kg/m3"},
    {Kind::density, "Mg/m3", "Mg/m3"},
    {Kind::density, "t/m3", "tonne/m3"},
    {Kind::density, "lb/ft3", "lb/foot3"},

    {Kind::speed, "m/s", "m/s"},
    {Kind::speed, "mph", "mile/hour"},
    {Kind::speed, "km/h", "km/hour"},
    {Kind::speed, "ft/s", "foot/s"},
    {Kind::speed, "knot", "knot"},

    {Kind::radiation, "MJ/m2/d", "MJ/m2/day"},
    {Kind::radiation, "W/m2", "W/m2"},
    {Kind::radiation, "kWh/m2/d", "kW hour/m2/day"},
    {Kind::radiation, "J/cm2/d", "J/cm2/day"},

    {Kind::pressure, "MPa", "MPa"},
    {Kind::pressure, "kPa", "kPa"},
    {Kind::pressure, "bar", "bar"},
    {Kind::pressure, "cbar", "cbar"},
    {Kind::pressure, "hPa", "hPa"},
    {Kind::pressure, "Pa", "Pa"},
    {Kind::pressure, "atm", "atm"},
    {Kind::pressure, "psi", "psi"},

    {Kind::humidity, "%", "percent"},
    {Kind::angle, "deg", "arc_degree"},
    {Kind::angle, "N", "arc_degree"},
    {Kind::angle, "S", "-1 arc_degree", "south is negative"},
    {Kind::angle, "E", "arc_degree"},
    {Kind::angle, "W", "-1 arc_degree", "west is negative"},
    {Kind::angle, "rad", "radian"},

    {Kind::money, "$", "1"},
    {Kind::money, "cents", "0.01"},

    {Kind::money_per_mass, "$/lb", "lb-1"},
    {Kind::money_per_mass, "$/kg", "kg-1"},
    {Kind::money_per_mass, "cents/lb", "0.01 lb-1"},
    {Kind::money_per_mass, "cents/kg", "0.01 kg-1"},
    {Kind::money_per_mass, "$/t", "tonne-1"},
    {Kind::money_per_mass, "$/tonne", "tonne-1"},
    {Kind::money_per_mass, "$/Mg", "Mg-1"},
    {Kind::money_per_mass, "$/short ton", "(2000 lb)-1"},
    {Kind::money_per_mass, "$/g", "g-1"},

    {Kind::money_per_area, "$/acre", "(4840 yard2)-1"},
    {Kind::money_per_area, "$/ha", "hectare-1"},
    {Kind::money_per_area, "$/m2", "m-2"},

    {Kind::money_per_grain, "$/bu", "(56 lb)-1", "corn, 15.5 % moisture"},
    {Kind::money_per_grain, "cents/bu", "0.01 (56 lb)-1", "corn, 15.5 % moisture"},
    {Kind::money_per_grain, "$/t", "tonne-1"},
    {Kind::money_per_grain, "$/tonne", "tonne-1"},
    {Kind::money_per_grain, "$/short ton", "(2000 lb)-1"},
    {Kind::money_per_grain, "$/lb", "lb-1"},
    {Kind::money_per_grain, "$/kg", "kg-1"},
    {Kind::money_per_grain, "$/g", "g-1"},
};

/// A word people write and the symbol it stands for in unit keys.
struct UnitWord {
  std::string_view written;
  std::string_view symbol;
};

inline constexpr UnitWord unit_words[] = {
    {"lbs", "lb"},
    {"pound", "lb"},
    {"pounds", "lb"},
    {"gram", "g"},
    {"grams", "g"},
    {"gm", "g"},
    {"kilogram", "kg"},
    {"kilograms", "kg"},
    {"kgs", "kg"},
    {"tonnes", "tonne"},
    {"metric ton", "tonne"},
    {"metric tons", "tonne"},
    {"short ton", "shton"},
    {"short tons", "shton"},
    {"tons", "ton"},
    {"ounce", "oz"},
    {"ounces", "oz"},
    {"bushel", "bu"},
    {"bushels", "bu"},
    {"ac", "acre"},
    {"acres", "acre"},
    {"hectare", "ha"},
    {"hectares", "ha"},
    {"inch", "in"},
    {"inches", "in"},
    {"\"", "in"},
    {"foot", "ft"},
    {"feet", "ft"},
    {"meter", "m"},
    {"meters", "m"},
    {"metre", "m"},
    {"metres", "m"},
    {"millimeter", "mm"},
    {"millimeters", "mm"},
    {"millimetre", "mm"},
    {"millimetres", "mm"},
    {"centimeter", "cm"},
    {"centimeters", "cm"},
    {"centimetre", "cm"},
    {"centimetres", "cm"},
    {"micron", "um"},
    {"microns", "um"},
    {"gallon", "gal"},
    {"gallons", "gal"},
    {"quart", "qt"},
    {"quarts", "qt"},
    {"pint", "pt"},
    {"pints", "pt"},
    {"fl oz", "floz"},
    {"fluid ounce", "floz"},
    {"fluid ounces", "floz"},
    {"l", "L"},
    {"liter", "L"},
    {"liters", "L"},
    {"litre", "L"},
    {"litres", "L"},
    {"ml", "mL"},
    {"C", "degC"},
    {"celsius", "degC"},
    {"F", "degF"},
    {"fahrenheit", "degF"},
    {"kelvin", "K"},
    {"degree", "deg"},
    {"degrees", "deg"},
    {"north", "N"},
    {"south", "S"},
    {"east", "E"},
    {"west", "W"},
    {"radian", "rad"},
    {"radians", "rad"},
    {"second", "s"},
    {"seconds", "s"},
    {"sec", "s"},
    {"minute", "min"},
    {"minutes", "min"},
    {"hour", "h"},
    {"hours", "h"},
    {"hr", "h"},
    {"day", "d"},
    {"days", "d"},
    {"weeks", "week"},
    {"wk", "week"},
    {"year", "yr"},
    {"years", "yr"},
    {"months", "month"},
    {"mo", "month"},
    {"MPH", "mph"},
    {"knots", "knot"},
    {"percent", "%"},
    {"pct", "%"},
    {"mbar", "hPa"},
    {"cent", "cents"},
    {"dollar", "$"},
    {"dollars", "$"},
    {"euro", "$"},
    {"euros", "$"},
    {"€", "$"},
    {"£", "$"},
    {"US$", "$"},
    {"USD", "$"},
    {"EUR", "$"},
    {"CAD", "$"},
    {"GBP", "$"},
    {"AUD", "$"},
    {"BRL", "$"},
    {"ARS", "$"},
    {"MXN", "$"},
    {"ZAR", "$"},
    {"CNY", "$"},
    {"INR", "$"},
    {"UAH", "$"},
    {"currency", "$"},
};

/// Symbols (or whole keys) that are refused, with what to write instead.
struct RefusedUnit {
  std::string_view key;
  std::string_view advice;
};

inline constexpr RefusedUnit refused_units[] = {
    {"t/acre", "it could mean tonnes or short tons; write tonne/acre or short ton/acre"},
    {"ton/acre", "a bare ton is ambiguous; write t or short ton (here tonne/acre or short ton/acre)"},
    {"ton", "a bare ton is ambiguous; write t or short ton"},
    {"T", "a bare T is ambiguous; write t or short ton"},
    {"oz", "an ounce can be a weight or a volume; write lb or g, or fl oz"},
    {"month", "months differ in length; write days, weeks or years"},
    {"GDD", "degree days may be of degF or of degC; write degF d or degC d"},
    {"GDU", "degree days may be of degF or of degC; write degF d or degC d"},
    {"bu", "a bushel is read in a grain yield, such as 205 bu/acre, and a price of grain, such as 4.50 $/bu"},
};

/// Words between a mass and its area or mass that say what is weighed: "lb N/acre", "t DM/ha".
inline constexpr std::string_view weighed_words[] = {"N", "P", "K", "S", "C", "DM"};

}  // namespace stoverturn
