#include "scenarios/units/quantity.hpp"

#include <boost/random/mersenne_twister.hpp>
#include <cmath>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include <udunits2.h>

#include "scenarios/units/unit_key.hpp"
#include "scenarios/units/unit_table.hpp"
#include "tests/catch.hpp"
#include "tests/units_by_hand.hpp"

using namespace stoverturn;
using units_by_hand::by_hand;

namespace {

std::string written(const std::string& number, const UnitRow& row) {
  return row.spelling == "1" ? number : number + " " + std::string(row.spelling);
}

/// "offset: message" of a refused quantity; "" when it was accepted.
std::string refusal(const std::string& text, Kind kind) {
  try {
    quantity(text, kind);
  } catch (const QuantityError& error) {
    return std::to_string(error.offset) + ": " + error.what();
  }
  return "";
}

double value(const std::string& text, Kind kind) { return quantity(text, kind).value; }

// A conversion is a product of a few rounded factors: some units in the last of 16 digits.
constexpr double round_off = 4e-15;

}  // namespace

TEST_CASE("units: every row equals UDUNITS-2", "[scenarios][units]") {
  ut_set_error_message_handler(ut_ignore);
  ut_system* system = ut_read_xml(nullptr);
  REQUIRE(system != nullptr);
  for (const UnitRow& row : unit_rows) {
    const KindRow& kind = kind_rows[static_cast<std::size_t>(row.kind)];
    INFO(kind.name << ": " << row.spelling << " = " << row.udunits);
    ut_unit* from = ut_parse(system, row.udunits, UT_UTF8);
    ut_unit* to = ut_parse(system, kind.udunits, UT_UTF8);
    REQUIRE(from != nullptr);
    REQUIRE(to != nullptr);
    cv_converter* converter = ut_get_converter(from, to);
    REQUIRE(converter != nullptr);
    for (const auto& [text, number] : {std::pair("0", 0.0), {"7.25", 7.25}, {"1e6", 1e6}}) {
      // degF passes through kelvins inside UDUNITS: 460 K keep 6e-14 K
      const double margin = row.kind == Kind::temperature ? 2e-13 : 0.0;
      CHECK(value(written(text, row), row.kind) ==
            Approx(cv_convert_double(converter, number)).epsilon(round_off).margin(margin));
    }
    cv_free(converter);
    ut_free(from);
    ut_free(to);
  }
  ut_free_system(system);
}

TEST_CASE("units: every row equals its definition worked by hand", "[scenarios][units]") {
  std::size_t compared = 0;
  for (const UnitRow& row : unit_rows) {
    if (row.kind == Kind::temperature) continue;  // own test below
    INFO(to_string(row.kind) << ": " << row.spelling);
    const auto expected = by_hand().find({row.kind, std::string(row.spelling)});
    REQUIRE(expected != by_hand().end());
    CHECK(unit_factor(row.spelling, row.kind) == Approx(expected->second).epsilon(round_off));
    ++compared;
  }
  CHECK(compared == by_hand().size());
}

TEST_CASE("units: published conversions", "[scenarios][units][golden]") {
  // NIST SP 811 (2008), appendix B.8, seven digits (from memory)
  CHECK(value("1 lb/gal", Kind::density) == Approx(0.1198264).epsilon(5e-7));
  CHECK(value("1 lb/ft3", Kind::density) == Approx(1.601846e-2).epsilon(5e-7));
  CHECK(value("1 lb/ft2", Kind::mass_per_area) == Approx(4.882428e3).epsilon(5e-7));
  CHECK(value("1 psi", Kind::pressure) == Approx(6.894757e-3).epsilon(5e-7));
  CHECK(value("1 mph", Kind::speed) == Approx(0.44704).epsilon(round_off));
  CHECK(value("1 short ton", Kind::mass) == Approx(9.071847e5).epsilon(5e-7));
  CHECK(value("1 lb", Kind::mass) == Approx(453.59237).epsilon(round_off));
  // FAO Irrigation and Drainage Paper 56 (1998), table 3 (from memory): 1 W m-2 = 0.0864 MJ m-2 day-1
  CHECK(value("1 W/m2", Kind::radiation) == Approx(0.0864).epsilon(round_off));
  // conversion tables of the trade (common practice, no source): 1 lb/acre = 1.12085 kg/ha,
  // 1 gal/acre = 9.354 L/ha, 1 bu/acre of corn = 0.06277 t/ha
  CHECK(in_unit(value("1 lb/acre", Kind::mass_per_area), "kg/ha", Kind::mass_per_area) ==
        Approx(1.12085).epsilon(5e-6));
  CHECK(in_unit(value("1 gal/acre", Kind::liquid_rate), "L/ha", Kind::liquid_rate) ==
        Approx(9.354).epsilon(5e-5));
  CHECK(in_unit(value("1 bu/acre", Kind::grain_yield), "kg/ha", Kind::grain_yield) ==
        Approx(62.77).epsilon(5e-5));
  // 56 lb = 25.40117272 kg exactly
  CHECK(in_unit(value("1 bu/acre", Kind::grain_yield), "kg/ha", Kind::grain_yield) ==
        Approx(25.40117272 / 0.40468564224).epsilon(round_off));
}

TEST_CASE("units: temperatures have a zero point, differences have not", "[scenarios][units]") {
  // degF passes through kelvins inside UDUNITS: 460 K keep 6e-14 K
  const auto near = [](double celsius) { return Approx(celsius).margin(2e-13); };
  CHECK(value("-40 F", Kind::temperature) == near(-40.0));
  CHECK(value("32 degF", Kind::temperature) == near(0.0));
  CHECK(value("212 °F", Kind::temperature) == near(100.0));
  CHECK(value("0 K", Kind::temperature) == near(-273.15));
  CHECK(value("-4 C", Kind::temperature) == near(-4.0));
  CHECK(in_unit(100.0, "F", Kind::temperature) == near(212.0));
  CHECK(in_unit(0.0, "K", Kind::temperature) == near(273.15));
  CHECK(value("1.8 F", Kind::temperature_difference) == Approx(1.0).epsilon(round_off));
  CHECK(value("0 F", Kind::temperature_difference) == 0.0);
  CHECK(value("2 degC", Kind::temperature_difference) == 2.0);
}

TEST_CASE("units: a value comes back from every unit", "[scenarios][units]") {
  for (const UnitRow& row : unit_rows) {
    INFO(to_string(row.kind) << ": " << row.spelling);
    const Quantity read = quantity(written("7.25", row), row.kind);
    CHECK(read.unit == (row.spelling == "1" ? "" : row.spelling));
    const double margin = row.kind == Kind::temperature ? 2e-13 : 0.0;
    CHECK(in_unit(read.value, row.spelling, row.kind) == Approx(7.25).epsilon(round_off).margin(margin));
  }
  for (const KindRow& kind : kind_rows) {
    INFO(kind.name);
    CHECK(canonical_unit(kind.kind) == kind.canonical);
    CHECK(to_string(kind.kind) == kind.name);
    CHECK(in_unit(7.25, kind.canonical, kind.kind) == 7.25);
    if (kind.kind != Kind::temperature) CHECK(unit_factor(kind.canonical, kind.kind) == 1.0);
    REQUIRE_FALSE(spellings(kind.kind).empty());
  }
}

TEST_CASE("units: no spelling and no word stands twice", "[scenarios][units]") {
  std::set<std::pair<Kind, std::string>> keys;
  std::set<std::string> symbols;
  for (const UnitRow& row : unit_rows) {
    INFO(to_string(row.kind) << ": " << row.spelling);
    const std::string key = unit_key(row.spelling, row.kind);
    CHECK(keys.insert({row.kind, key}).second);
    symbols.insert(key);
  }
  for (const RefusedUnit& refused : refused_units) symbols.insert(std::string(refused.key));
  std::set<std::string_view> words;
  for (const UnitWord& word : unit_words) {
    INFO(word.written);
    CHECK(words.insert(word.written).second);
    CHECK(unit_key(word.written, Kind::time) == word.symbol);
    bool used = false;
    for (const std::string& key : symbols) used = used || key.find(word.symbol) != std::string::npos;
    CHECK(used);
  }
  CHECK(spellings(Kind::mass_per_area).front() == "lb/acre");
}

TEST_CASE("units: the same unit in other writing", "[scenarios][units]") {
  const std::vector<std::pair<Kind, std::vector<std::string>>> same = {
      {Kind::mass_per_area,
       {"60 lb/acre", "60lb/ac", "60 lbs per acre", "60 LB/AC", "60 Lbs / Acre", "  60 lb N/acre ",
        "60 pounds of N per acre", "60 lb P/acre", "60 lb K/ac", "60 lb/acre N", "60 lb S acre-1",
        "+60 lb/acre", "6e1 lb/acre", "60.0\tlb/acre", "6.0E+01 pound/acres"}},
      {Kind::mass_per_area,
       {"8 t/ha", "8 Mg/ha", "8 t DM/ha", "8 Mg ha-1", "8 Mg ha⁻¹", "8 metric tons per hectare",
        "8 tonnes/ha", "8 t ha^-1", "8 Mg·ha−1", "800 g m-2", "800 g/m2", "800 g/m²", "800 g m⁻²",
        "800 g m^-2", "8000 kg/ha"}},
      {Kind::mass_per_area, {"3 short ton/acre", "3 short tons per acre", "3 Short Tons/ac", "6000 lb/acre"}},
      {Kind::grain_yield, {"205 bu/acre", "205 bu/ac", "205 bushels per acre", "205 Bu/Ac", "11480 lb/ac"}},
      {Kind::length, {"6 in", "6 inches", "6in", "6\"", "6 inch", "6 IN"}},
      {Kind::length, {"50 um", "50 µm", "50 μm", "50 microns", "0.05 mm", "0.05 millimetres", ".05 mm"}},
      {Kind::per_length,
       {"0.1 1/mm", "0.1 mm-1", "0.1/mm", "0.1 /mm", "0.1 per mm", "0.1 mm⁻¹", "0.1 mm^-1"}},
      {Kind::temperature,
       {"-4 F", "-4 °F", "-4 degF", "-4 deg F", "-4 degrees Fahrenheit", "−4 f", "- 4 ° F"}},
      {Kind::temperature, {"15 C", "15°C", "15 degC", "15 deg. C", "15 celsius", "15 ºC", "15 degrees C"}},
      {Kind::time, {"14 d", "14 days", "14days", "2 weeks", "2 wk", "336 h", "336 hours"}},
      {Kind::time, {"5 years", "5 yr", "1826.25 day"}},
      {Kind::per_time, {"0.02 1/d", "0.02 d-1", "0.02/day", "0.02 per day", "2 %/d", "2 percent per day"}},
      {Kind::angle, {"-33.9", "33.9 S", "33.9S", "33.9° S", "33.9 degrees south", "-33.9 deg", "-33.9°"}},
      {Kind::money_per_mass,
       {"0.60 $/lb", "$0.60/lb", "$ 0.60 per lb", "0.60 /lb", "0.6 USD/lb", "60 cents/lb"}},
      {Kind::money_per_mass, {"1.20 EUR/kg", "1.20 €/kg", "€1.20/kg", "1.20/kg", "1200 EUR/t", "1.2 CAD/kg"}},
      {Kind::money_per_grain, {"4.20 $/bu", "$4.20/bushel", "420 cents/bu", "4.20 per bu", "0.075 $/lb"}},
      {Kind::content,
       {"6.8 g/kg", "6.8 g N/kg", "6.8 g N kg-1", "0.68 %", "0.68% N", "13.6 lb/short ton", "0.68 g/100g",
        "680 mg per 100 g"}},
      {Kind::liquid_rate, {"10 gal/acre", "10 gallons per acre", "10 GAL/AC", "40 qt/ac", "1280 fl oz/acre"}},
      {Kind::pressure,
       {"-0.5 MPa", "-500 kPa", "-500 KPA", "-5 bar", "-500 cbar", "-5000 hPa", "-5000 mbar"}},
      {Kind::speed, {"5 mph", "5 MPH", "5 Mph"}},
      {Kind::radiation, {"18 MJ/m2/d", "18 MJ m-2 d-1", "18 MJ m⁻² day⁻¹", "18 MJ/m²/day", "5 kWh/m2/d"}},
      {Kind::fraction, {"30 %", "30%", "30 percent", "0.3", " .3 ", "3e-1"}},
  };
  for (const auto& [kind, texts] : same) {
    const double first = value(texts.front(), kind);
    for (const std::string& text : texts) {
      INFO(text);
      CHECK(value(text, kind) == Approx(first).epsilon(round_off).margin(1e-13));
    }
  }
}

TEST_CASE("units: the unit is kept as it was written", "[scenarios][units]") {
  CHECK(quantity("  60 lbs N per ac ", Kind::mass_per_area).unit == "lbs N per ac");
  CHECK(quantity("0.3", Kind::fraction).unit.empty());
  CHECK(quantity("42.03", Kind::angle).unit.empty());
  CHECK(quantity("$0.60/lb", Kind::money_per_mass).unit == "$/lb");
  CHECK(in_unit(0.3, "", Kind::fraction) == 0.3);
}

TEST_CASE("units: case matters where it changes the unit", "[scenarios][units]") {
  CHECK(value("1 Mg", Kind::mass) == 1e6);
  CHECK(value("1 mg", Kind::mass) == Approx(1e-3).epsilon(round_off));
  CHECK(refusal("1 M", Kind::length) == "2: unknown unit 'M' of length; known are mm, in, cm, ft, m, um");
  CHECK(refusal("8 mg/ha", Kind::mass_per_area) ==
        "2: unknown unit 'mg/ha' of mass per area; did you mean 'Mg/ha'?");
  CHECK(refusal("8 mPa", Kind::pressure) == "2: unknown unit 'mPa' of pressure; did you mean 'MPa'?");
}

TEST_CASE("units: every refusal says what to write", "[scenarios][units][errors]") {
  const std::string wanted = "wanted a mass per area with its unit, such as 60 lb/acre";
  const std::string listed = "lb/acre, kg/ha, g/m2, t/ha, Mg/ha, tonne/ha, short ton/acre, tonne/acre, ...";
  const auto area = [](const std::string& text) { return refusal(text, Kind::mass_per_area); };

  SECTION("no number, no unit, nothing") {
    CHECK(area("") == "0: empty: " + wanted);
    CHECK(area("  \t") == "0: empty: " + wanted);
    CHECK(area("60") == "2: 60: " + wanted);
    CHECK(area("  60 ") == "4: 60: " + wanted);
    CHECK(area(" lb/acre") == "1: 'lb/acre' does not start with a number: " + wanted);
    CHECK(area("--60 lb/acre") == "0: '--60 lb/acre' does not start with a number: " + wanted);
    CHECK(area("-") == "0: '-' does not start with a number: " + wanted);
    CHECK(refusal("0.0068", Kind::content) ==
          "6: 0.0068: wanted a content with its unit, such as 6.8 g/kg or 0.68 %");
    CHECK(refusal("12", Kind::money) == "2: 12: wanted an amount of money with its currency, such as 12 $");
    CHECK(refusal("$", Kind::money) ==
          "1: '' does not start with a number: wanted an amount of money with its currency, such as 12 $");
    CHECK(refusal("x", Kind::fraction) ==
          "0: 'x' does not start with a number: wanted a fraction, such as 30 % or 0.3");
  }
  SECTION("numbers that are none") {
    CHECK(area("inf lb/acre") == "0: 'inf' is not a finite number");
    CHECK(area("-nan kg/ha") == "0: '-nan' is not a finite number");
    CHECK(area(" 1e999 kg/ha") == "1: '1e999' is not a finite number");
    CHECK(area("1e308 t/ha") == "0: '1e308 t/ha' is too large");
    CHECK(area("2,5 t/ha") ==
          "1: '2,5 t/ha' has a comma in its number: write 2.5 for two and a half, 1000 for a thousand");
    CHECK(area("1,000 kg/ha") ==
          "1: '1,000 kg/ha' has a comma in its number: write 2.5 for two and a half, 1000 for a thousand");
  }
  SECTION("more than one number") {
    CHECK(area("60-80 lb/acre") == "2: '-80 lb/acre' after the number: " + wanted);
    CHECK(area("60 to 80 lb/acre") == "3: 'to 80 lb/acre' after the number: " + wanted);
    CHECK(area("60 – 80 lb/acre") == "3: '– 80 lb/acre' after the number: " + wanted);
    CHECK(area("1 000 kg/ha") == "2: '000 kg/ha' after the number: " + wanted);
    CHECK(area("1/2 t/ha") == "1: '/2 t/ha' after the number: " + wanted);
    CHECK(area("1.2.3 t/ha") == "3: '.3 t/ha' after the number: " + wanted);
    CHECK(refusal("0.3 1", Kind::fraction) ==
          "4: '1' after the number: wanted a fraction, such as 30 % or 0.3");
  }
  SECTION("a unit of something else") {
    CHECK(area("60 mm") == "3: 'mm' is a unit of length: " + wanted + "; units that fit are " + listed);
    CHECK(area("60 lb") == "3: 'lb' is a unit of mass: " + wanted + "; units that fit are " + listed);
    CHECK(area("205 bu/acre") ==
          "4: 'bu/acre' is a unit of grain yield: " + wanted + "; units that fit are " + listed);
    CHECK(refusal("33.9 s", Kind::angle) ==
          "5: 's' is a unit of time: wanted an angle in degrees, such as 42.03 or 33.9 S; units that fit are "
          "deg, N, S, E, W, rad");
  }
  SECTION("unknown units") {
    CHECK(area("60 lb/acr") == "3: unknown unit 'lb/acr' of mass per area; did you mean 'lb/acre'?");
    CHECK(area("60 kg/ha x") == "3: unknown unit 'kg/ha x' of mass per area; did you mean 'kg/ha'?");
    CHECK(area("60 kg/ha/") == "3: unknown unit 'kg/ha/' of mass per area; did you mean 'kg/ha'?");
    CHECK(refusal("5 km", Kind::length) == "2: unknown unit 'km' of length; known are mm, in, cm, ft, m, um");
    // an oxide is not its element: no guess that would be wrong by a factor of 2.29 or 1.20
    CHECK(area("60 lb P2O5/acre") == "3: unknown unit 'lb P2O5/acre' of mass per area; known are " + listed);
    CHECK(area("60 lb K2O/acre") == "3: unknown unit 'lb K2O/acre' of mass per area; known are " + listed);
    CHECK(area("60 kg N N/ha") != "");
    CHECK(area("60 kg/ha ha") != "");
    CHECK(area("60 kg ha") != "");
    CHECK(area("60 kg//ha") != "");
    CHECK(refusal("60 bu DM/acre", Kind::grain_yield) != "");  // yields are at their own moisture
    CHECK(area("60 " + std::string(5000, 'x')) != "");
  }
  SECTION("ambiguous units") {
    CHECK(area("2 ton/acre") ==
          "2: 'ton/acre': a bare ton is ambiguous; write t or short ton (here tonne/acre or short ton/acre)");
    CHECK(area("2 tons/ha") == "2: 'tons/ha': a bare ton is ambiguous; write t or short ton");
    CHECK(area("2 T/ha") == "2: 'T/ha': a bare T is ambiguous; write t or short ton");
    CHECK(area("2 t/acre") ==
          "2: 't/acre': it could mean tonnes or short tons; write tonne/acre or short ton/acre");
    CHECK(refusal("2 ton", Kind::mass) == "2: 'ton': a bare ton is ambiguous; write t or short ton");
    CHECK(refusal("2 $/ton", Kind::money_per_mass) ==
          "2: '$/ton': a bare ton is ambiguous; write t or short ton");
    CHECK(refusal("3 months", Kind::time) ==
          "2: 'months': months differ in length; write days, weeks or years");
    CHECK(area("5 oz/acre") == "2: 'oz/acre': an ounce can be a weight or a volume; write lb or g, or fl oz");
    CHECK(refusal("205 bu", Kind::grain_yield) ==
          "4: 'bu': a bushel is read in a grain yield, such as 205 bu/acre, and a price of grain, such as "
          "4.50 $/bu");
    CHECK(refusal("4.50 $/bu", Kind::money_per_mass) ==
          "5: '$/bu' is a unit of price of grain: wanted a price per mass with its unit, such as 0.60 $/lb; "
          "units that "
          "fit are $/lb, $/kg, cents/lb, cents/kg, $/t, $/tonne, $/Mg, $/short ton, ...");
    CHECK(refusal("-33.9 S", Kind::angle) == "6: '-33.9 S' has both a minus and a compass point: write one");
  }
  SECTION("without a number") {
    CHECK_THROWS_WITH(unit_factor("degF", Kind::temperature),
                      "a temperature has no factor: it is read with its zero point");
    CHECK_THROWS_WITH(unit_factor("", Kind::mass), "no unit: wanted a mass with its unit, such as 5 g");
    CHECK_THROWS_WITH(in_unit(1.0, "mm", Kind::time), contains("'mm' is a unit of length"));
  }
}

TEST_CASE("units: no text does more than be refused", "[scenarios][units][property]") {
  boost::random::mt19937 random(20240607);
  const std::string letters = "0123456789.,-+eE/ \t%$°²⁻µlbacrekghaNPKtonmmdyFCSW'\"^*()\xff";
  for (int i = 0; i < 20000; ++i) {
    std::string text = i % 2 ? "5 " : "";
    const auto length = random() % 12;
    for (std::size_t n = 0; n < length; ++n) text += letters[random() % letters.size()];
    const Kind kind = kind_rows[random() % std::size(kind_rows)].kind;
    try {
      const double read = value(text, kind);
      CHECK(std::isfinite(read));
    } catch (const QuantityError& error) {
      CHECK(error.offset <= text.size());
      CHECK(std::string(error.what()).size() > 10);
    }
  }
  CHECK_THROWS_AS(quantity(std::string(3, '\0'), Kind::mass), QuantityError);
}
