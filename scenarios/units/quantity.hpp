#pragma once
#include <span>
#include <stdexcept>
#include <string>
#include <string_view>

namespace stoverturn {

/// What a quantity measures. The comment names the unit the program computes in (the canonical unit).
enum class Kind {
  fraction,                // 1          "30 %", "0.3"
  content,                 // g g-1      "6.8 g/kg", "0.68 %", "13.6 lb/short ton"
  mass,                    // g
  mass_per_area,           // g m-2      residue, nutrients, products: "60 lb/acre", "8 t/ha", "40 kg N/ha"
  mass_per_area_per_time,  // g m-2 d-1
  grain_yield,             // g m-2      "205 bu/acre" (corn: 56 lb at 15.5 % moisture), "11 t/ha"
  length,                  // mm         cut length, depth, diameter, rain
  per_length,              // mm-1
  length_per_time,         // mm d-1
  temperature,             // degC
  temperature_difference,  // K
  degree_days,             // K d        "2700 degF d", "1500 degC d"
  time,                    // d
  per_time,                // d-1
  liquid_rate,             // L m-2      "10 gal/acre", "100 L/ha"
  density,                 // g cm-3 (kg L-1)   "11.06 lb/gal"
  speed,                   // m s-1
  radiation,               // MJ m-2 d-1
  pressure,                // MPa        water potential
  humidity,                // percent    relative humidity
  angle,                   // degree     latitude: "42.03", "42.03 N", "33.9 S"
  money,                   // currency
  money_per_mass,          // currency g-1      "0.60 $/lb", "1.20 EUR/kg", "0.60 /lb"
  money_per_area,          // currency m-2
  money_per_grain,         // currency g-1      of grain as sold: "4.50 $/bu" (corn: 56 lb), "180 EUR/t"
};

/// A value in the canonical unit of its kind, and the unit as the user spelled it ("" for a bare number).
struct Quantity {
  double value = 0.0;
  std::string unit;
};

/// `offset` is the byte inside the text where the trouble starts.
struct QuantityError : std::runtime_error {
  QuantityError(std::size_t offset_, const std::string& message)
      : std::runtime_error(message), offset(offset_) {}
  std::size_t offset;
};

/// Reads "60 lb/acre", "-4 degF", "15.5 %". A bare number is accepted for fraction
/// and angle only. Units may be written in other ways than spellings() lists ("lbs per ac", "kg N ha-1",
/// "g m⁻²", "°F", "$0.60/lb"): units/unit_key.hpp.
/// Throws QuantityError for an unknown or unfitting unit (with the units that would fit), an ambiguous one
/// (bare "ton": "write t or short ton"), no number, or a number that is not finite.
Quantity quantity(std::string_view text, Kind kind);

/// Whether quantity() reads the text.
bool is_quantity(std::string_view text, Kind kind);

/// Value of one `unit` in the canonical unit; throws QuantityError. For temperature use quantity().
double unit_factor(std::string_view unit, Kind kind);

/// Converts a canonical value to `unit`, offset included for temperature.
double in_unit(double canonical, std::string_view unit, Kind kind);

/// The canonical unit as it is written in result files ("g m-2", "degC", "1").
std::string_view canonical_unit(Kind kind);

/// Every unit spelling that `kind` accepts, the preferred ones first.
std::span<const std::string> spellings(Kind kind);

std::string_view to_string(Kind kind);

}  // namespace stoverturn
