#pragma once
#include <map>
#include <string>
#include <utility>

#include "scenarios/units/quantity.hpp"

/// What one of each unit is in the canonical unit, worked from definitions without the program's table.
namespace units_by_hand {

using stoverturn::Kind;

// NIST SP 811 (2008), appendix B.8 and NIST Handbook 44, appendix C: exact by definition.
constexpr double lb = 453.59237;              // g
constexpr double inch = 25.4;                 // mm
constexpr double foot = 12.0 * inch;          // mm
constexpr double gallon = 3.785411784;        // L, 231 cubic inches
constexpr double mile = 1609.344;             // m
constexpr double acre = 4046.8564224;         // m2, 43,560 square international feet
constexpr double hectare = 1e4;               // m2
constexpr double bushel_of_corn = 56.0 * lb;  // at 15.5 % moisture (common practice, no source)
constexpr double short_ton = 2000.0 * lb;     // g
constexpr double tonne = 1e6;                 // g
constexpr double year = 365.25;               // d, Julian
constexpr double day_s = 86400.0;             // s
constexpr double degrees_in_rad = 57.29577951308232;

using Factors = std::map<std::pair<Kind, std::string>, double>;

/// Every row of the table by hand, from the definitions above and the SI prefixes alone.
inline const Factors& by_hand() {
  static const Factors factors = {
      {{Kind::fraction, "%"}, 1e-2},
      {{Kind::fraction, "1"}, 1.0},
      {{Kind::fraction, "m3/m3"}, 1.0},
      {{Kind::content, "g/kg"}, 1e-3},
      {{Kind::content, "%"}, 1e-2},
      {{Kind::content, "g/g"}, 1.0},
      {{Kind::content, "mg/g"}, 1e-3},
      {{Kind::content, "mg/kg"}, 1e-6},
      {{Kind::content, "ppm"}, 1e-6},
      {{Kind::content, "g/100 g"}, 1e-2},
      {{Kind::content, "mg/100 g"}, 1e-5},
      {{Kind::content, "kg/kg"}, 1.0},
      {{Kind::content, "kg/t"}, 1e-3},
      {{Kind::content, "kg/tonne"}, 1e-3},
      {{Kind::content, "kg/Mg"}, 1e-3},
      {{Kind::content, "lb/short ton"}, 1.0 / 2000.0},
      {{Kind::content, "lb/lb"}, 1.0},
      {{Kind::mass, "g"}, 1.0},
      {{Kind::mass, "kg"}, 1e3},
      {{Kind::mass, "lb"}, lb},
      {{Kind::mass, "mg"}, 1e-3},
      {{Kind::mass, "t"}, tonne},
      {{Kind::mass, "tonne"}, tonne},
      {{Kind::mass, "Mg"}, tonne},
      {{Kind::mass, "short ton"}, short_ton},
      {{Kind::mass_per_area, "lb/acre"}, lb / acre},
      {{Kind::mass_per_area, "kg/ha"}, 0.1},
      {{Kind::mass_per_area, "g/m2"}, 1.0},
      {{Kind::mass_per_area, "t/ha"}, 100.0},
      {{Kind::mass_per_area, "Mg/ha"}, 100.0},
      {{Kind::mass_per_area, "tonne/ha"}, 100.0},
      {{Kind::mass_per_area, "short ton/acre"}, short_ton / acre},
      {{Kind::mass_per_area, "tonne/acre"}, tonne / acre},
      {{Kind::mass_per_area, "kg/m2"}, 1e3},
      {{Kind::mass_per_area, "kg/acre"}, 1e3 / acre},
      {{Kind::mass_per_area, "g/ha"}, 1e-4},
      {{Kind::mass_per_area, "lb/ft2"}, lb / (0.3048 * 0.3048)},
      {{Kind::mass_per_area_per_time, "kg/ha/d"}, 0.1},
      {{Kind::mass_per_area_per_time, "lb/acre/d"}, lb / acre},
      {{Kind::mass_per_area_per_time, "g/m2/d"}, 1.0},
      {{Kind::mass_per_area_per_time, "kg/ha/yr"}, 0.1 / year},
      {{Kind::mass_per_area_per_time, "lb/acre/yr"}, lb / acre / year},
      {{Kind::mass_per_area_per_time, "g/m2/yr"}, 1.0 / year},
      {{Kind::grain_yield, "bu/acre"}, bushel_of_corn / acre},
      {{Kind::grain_yield, "t/ha"}, 100.0},
      {{Kind::grain_yield, "Mg/ha"}, 100.0},
      {{Kind::grain_yield, "tonne/ha"}, 100.0},
      {{Kind::grain_yield, "kg/ha"}, 0.1},
      {{Kind::grain_yield, "lb/acre"}, lb / acre},
      {{Kind::grain_yield, "short ton/acre"}, short_ton / acre},
      {{Kind::grain_yield, "tonne/acre"}, tonne / acre},
      {{Kind::grain_yield, "g/m2"}, 1.0},
      {{Kind::length, "mm"}, 1.0},
      {{Kind::length, "in"}, inch},
      {{Kind::length, "cm"}, 10.0},
      {{Kind::length, "ft"}, foot},
      {{Kind::length, "m"}, 1000.0},
      {{Kind::length, "um"}, 1e-3},
      {{Kind::per_length, "1/mm"}, 1.0},
      {{Kind::per_length, "1/cm"}, 0.1},
      {{Kind::per_length, "1/m"}, 1e-3},
      {{Kind::per_length, "1/in"}, 1.0 / inch},
      {{Kind::length_per_time, "mm/d"}, 1.0},
      {{Kind::length_per_time, "in/d"}, inch},
      {{Kind::length_per_time, "cm/d"}, 10.0},
      {{Kind::length_per_time, "mm/week"}, 1.0 / 7.0},
      {{Kind::length_per_time, "in/week"}, inch / 7.0},
      {{Kind::length_per_time, "mm/h"}, 24.0},
      {{Kind::length_per_time, "in/h"}, inch * 24.0},
      {{Kind::length_per_time, "cm/h"}, 240.0},
      {{Kind::length_per_time, "mm/yr"}, 1.0 / year},
      {{Kind::length_per_time, "in/yr"}, inch / year},
      {{Kind::length_per_time, "cm/yr"}, 10.0 / year},
      {{Kind::length_per_time, "m/yr"}, 1000.0 / year},
      {{Kind::temperature_difference, "K"}, 1.0},
      {{Kind::temperature_difference, "F"}, 5.0 / 9.0},
      {{Kind::temperature_difference, "C"}, 1.0},
      {{Kind::degree_days, "degF d"}, 5.0 / 9.0},
      {{Kind::degree_days, "degC d"}, 1.0},
      {{Kind::degree_days, "K d"}, 1.0},
      {{Kind::time, "d"}, 1.0},
      {{Kind::time, "week"}, 7.0},
      {{Kind::time, "yr"}, year},
      {{Kind::time, "h"}, 1.0 / 24.0},
      {{Kind::time, "min"}, 1.0 / 1440.0},
      {{Kind::time, "s"}, 1.0 / day_s},
      {{Kind::per_time, "1/d"}, 1.0},
      {{Kind::per_time, "1/yr"}, 1.0 / year},
      {{Kind::per_time, "1/week"}, 1.0 / 7.0},
      {{Kind::per_time, "1/h"}, 24.0},
      {{Kind::per_time, "%/d"}, 0.01},
      {{Kind::per_time, "%/yr"}, 0.01 / year},
      {{Kind::liquid_rate, "gal/acre"}, gallon / acre},
      {{Kind::liquid_rate, "L/ha"}, 1.0 / hectare},
      {{Kind::liquid_rate, "qt/acre"}, gallon / 4.0 / acre},
      {{Kind::liquid_rate, "pt/acre"}, gallon / 8.0 / acre},
      {{Kind::liquid_rate, "fl oz/acre"}, gallon / 128.0 / acre},
      {{Kind::liquid_rate, "mL/ha"}, 1e-3 / hectare},
      {{Kind::liquid_rate, "L/m2"}, 1.0},
      {{Kind::liquid_rate, "m3/ha"}, 1000.0 / hectare},
      {{Kind::density, "lb/gal"}, lb / 1000.0 / gallon},
      {{Kind::density, "kg/L"}, 1.0},
      {{Kind::density, "g/cm3"}, 1.0},
      {{Kind::density, "g/mL"}, 1.0},
      {{Kind::density, "kg/m3"}, 1e-3},
      {{Kind::density, "Mg/m3"}, 1.0},
      {{Kind::density, "t/m3"}, 1.0},
      {{Kind::density, "lb/ft3"}, lb / (30.48 * 30.48 * 30.48)},
      {{Kind::speed, "m/s"}, 1.0},
      {{Kind::speed, "mph"}, mile / 3600.0},
      {{Kind::speed, "km/h"}, 1.0 / 3.6},
      {{Kind::speed, "ft/s"}, 0.3048},
      {{Kind::speed, "knot"}, 1852.0 / 3600.0},
      {{Kind::radiation, "MJ/m2/d"}, 1.0},
      {{Kind::radiation, "W/m2"}, 0.0864},
      {{Kind::radiation, "kWh/m2/d"}, 3.6},
      {{Kind::radiation, "J/cm2/d"}, 0.01},
      {{Kind::pressure, "MPa"}, 1.0},
      {{Kind::pressure, "kPa"}, 1e-3},
      {{Kind::pressure, "bar"}, 0.1},
      {{Kind::pressure, "cbar"}, 1e-3},
      {{Kind::pressure, "hPa"}, 1e-4},
      {{Kind::pressure, "Pa"}, 1e-6},
      {{Kind::pressure, "atm"}, 0.101325},
      // lbf = lb x standard gravity 9.80665 m s-2
      {{Kind::pressure, "psi"}, lb / 1000.0 * 9.80665 / (0.0254 * 0.0254) * 1e-6},
      {{Kind::humidity, "%"}, 1.0},
      {{Kind::angle, "deg"}, 1.0},
      {{Kind::angle, "N"}, 1.0},
      {{Kind::angle, "S"}, -1.0},
      {{Kind::angle, "E"}, 1.0},
      {{Kind::angle, "W"}, -1.0},
      {{Kind::angle, "rad"}, degrees_in_rad},
      {{Kind::money, "$"}, 1.0},
      {{Kind::money, "cents"}, 0.01},
      {{Kind::money_per_mass, "$/lb"}, 1.0 / lb},
      {{Kind::money_per_mass, "$/kg"}, 1e-3},
      {{Kind::money_per_mass, "cents/lb"}, 0.01 / lb},
      {{Kind::money_per_mass, "cents/kg"}, 1e-5},
      {{Kind::money_per_mass, "$/t"}, 1.0 / tonne},
      {{Kind::money_per_mass, "$/tonne"}, 1.0 / tonne},
      {{Kind::money_per_mass, "$/Mg"}, 1.0 / tonne},
      {{Kind::money_per_mass, "$/short ton"}, 1.0 / short_ton},
      {{Kind::money_per_mass, "$/g"}, 1.0},
      {{Kind::money_per_area, "$/acre"}, 1.0 / acre},
      {{Kind::money_per_area, "$/ha"}, 1.0 / hectare},
      {{Kind::money_per_area, "$/m2"}, 1.0},
      {{Kind::money_per_grain, "$/bu"}, 1.0 / bushel_of_corn},
      {{Kind::money_per_grain, "cents/bu"}, 0.01 / bushel_of_corn},
      {{Kind::money_per_grain, "$/t"}, 1.0 / tonne},
      {{Kind::money_per_grain, "$/tonne"}, 1.0 / tonne},
      {{Kind::money_per_grain, "$/short ton"}, 1.0 / short_ton},
      {{Kind::money_per_grain, "$/lb"}, 1.0 / lb},
      {{Kind::money_per_grain, "$/kg"}, 1e-3},
      {{Kind::money_per_grain, "$/g"}, 1.0},
  };
  return factors;
}

}  // namespace units_by_hand
