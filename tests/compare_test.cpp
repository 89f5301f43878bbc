#include "scenarios/results/compare.hpp"

#include <cmath>

#include <nlohmann/json.hpp>

#include "tests/catch.hpp"

namespace stoverturn {
namespace {

using enum Dimension;

const double nan_value = std::nan("");

/// Invented results of the named treatments: `residue` is in kg/ha, `left` and `days` lie around it.
Results invented(const std::vector<std::string>& treatments, double residue_kg_ha, const std::string& units) {
  Results r;
  r.units = units;
  r.treatments = treatments;
  r.components = {"stalk", "leaf"};
  r.checkpoints = {"planting 1", "year 1"};
  Variable mass{"residue_dry_matter", Kind::mass_per_area, {treatment}, "residue", "", "dry matter", {}};
  Variable days{"days_to_95_lost", Kind::time, {treatment}, "days", "", "", {}};
  Variable left{
      "mass_left_by_component_at", Kind::fraction, {treatment, component, checkpoint}, "left", "", "", {}};
  Variable K{"potassium_released_at", Kind::mass_per_area, {treatment, checkpoint}, "K", "", "K", {}};
  for (std::size_t t = 0; t < treatments.size(); ++t) {
    const double step = 0.01 * static_cast<double>(t);
    mass.values.push_back(0.1 * residue_kg_ha);
    days.values.push_back(nan_value);
    for (const double x : {0.8, 0.5, 0.6, 0.3}) left.values.push_back(x - step);
    for (const double x : {0.0, 10.0}) K.values.push_back(x);
  }
  r.key_numbers = {mass, days, left, K};
  return r;
}

ComparedNumber number(const Comparison& c, const std::string& treatment, const std::string& name) {
  for (const ComparedNumber& n : c.numbers) {
    if (n.treatment == treatment && n.name == name) return n;
  }
  FAIL("nothing compared as " << name << " of " << treatment);
  return c.numbers.front();
}

bool has(const Comparison& c, const std::string& name) {
  for (const ComparedNumber& n : c.numbers) {
    if (n.name == name) return true;
  }
  return false;
}

}  // namespace

TEST_CASE("compare: numbers side by side in the units of the first", "[compare]") {
  Results a = invented({"one", "two"}, 9000.0, "si"), b = invented({"two", "one"}, 8000.0, "us");
  b.key_numbers[2].values[0] = 0.75;  // "two", stalk, planting 1
  const Comparison c = compare(a, b);
  CHECK(c.only_in_a.empty());
  CHECK(c.only_in_b.empty());
  const ComparedNumber mass = number(c, "one", "residue_dry_matter");
  CHECK(mass.unit == "kg/ha dry matter");
  CHECK(mass.a == Approx(9000.0));
  CHECK(mass.b == Approx(8000.0));
  // treatments are matched by name, not by place
  const ComparedNumber left = number(c, "two", "mass_left_by_component, stalk, planting 1");
  CHECK(left.unit == "%");
  CHECK(left.a == Approx(79.0));
  CHECK(left.b == Approx(75.0));
  CHECK(number(c, "one", "mass_left_by_component, leaf, year 1").b == Approx(29.0));
  // what neither defines, and what is zero in both, is left out
  CHECK_FALSE(has(c, "days_to_95_lost"));
  CHECK_FALSE(has(c, "potassium_released, planting 1"));
  CHECK(number(c, "one", "potassium_released, year 1").a == Approx(100.0));
  // in US units potassium is shown as K2O: 39.0983 g of K in 47.0978 g (atomic weights, IUPAC 2021);
  // the trade's 0.8301 is rounded to four digits
  const ComparedNumber K = number(compare(b, a), "one", "potassium_released, year 1");
  CHECK(K.unit == "lb/acre K2O");
  CHECK(K.a == Approx(10.0 * 4046.8564224 / 453.59237 * 47.0978 / 39.0983).epsilon(1e-4));
}

TEST_CASE("compare: a number that one of the two defines is kept", "[compare]") {
  Results a = invented({"one"}, 9000.0, "si"), b = invented({"one"}, 9000.0, "si");
  a.key_numbers[1].values[0] = 900.0;
  const Comparison c = compare(a, b);
  CHECK(number(c, "one", "days_to_95_lost").a == 900.0);
  CHECK(std::isnan(number(c, "one", "days_to_95_lost").b));
  CHECK_THAT(printed_comparison(c, "a.h5", "b.h5"),
             Matchers::Matches("(.|\n)*days_to_95_lost +d +900.00 +- +-\n(.|\n)*"));
}

TEST_CASE("compare: treatments that one lacks are listed", "[compare]") {
  const Comparison c =
      compare(invented({"one", "two"}, 9000.0, "si"), invented({"two", "three"}, 9000.0, "si"));
  CHECK(c.only_in_a == std::vector<std::string>{"one"});
  CHECK(c.only_in_b == std::vector<std::string>{"three"});
  for (const ComparedNumber& n : c.numbers) CHECK(n.treatment == "two");
  const std::string text = printed_comparison(c, "a.h5", "b.h5");
  CHECK_THAT(text, contains("\nOnly in A: one\n"));
  CHECK_THAT(text, contains("\nOnly in B: three\n"));
}

TEST_CASE("compare: two single treatments are matched whatever they are called", "[compare]") {
  const Comparison c = compare(invented({"dry"}, 9000.0, "si"), invented({"wet"}, 8000.0, "si"));
  CHECK(c.only_in_a.empty());
  CHECK(c.only_in_b.empty());
  CHECK(number(c, "dry", "residue_dry_matter").b == Approx(8000.0));
}

TEST_CASE("compare: components and checkpoints are matched by name", "[compare]") {
  Results a = invented({"one"}, 9000.0, "si"), b = invented({"one"}, 9000.0, "si");
  b.components = {"leaf", "stem"};
  b.checkpoints = {"year 1", "year 2"};
  const Comparison c = compare(a, b);
  CHECK(has(c, "mass_left_by_component, leaf, year 1"));
  CHECK_FALSE(has(c, "mass_left_by_component, stalk, year 1"));
  CHECK_FALSE(has(c, "mass_left_by_component, leaf, planting 1"));
  // leaf, year 1: the last of a's four, the first of b's
  CHECK(number(c, "one", "mass_left_by_component, leaf, year 1").a == Approx(30.0));
  CHECK(number(c, "one", "mass_left_by_component, leaf, year 1").b == Approx(80.0));
}

TEST_CASE("compare: printed in at most 100 columns, and as JSON", "[compare]") {
  const Comparison c =
      compare(invented({"one", "two"}, 9000.0, "si"), invented({"one", "two"}, 8000.0, "si"));
  const std::string text = printed_comparison(c, "a.h5", "b.h5");
  CHECK_THAT(text, Matchers::StartsWith("A: a.h5\nB: b.h5\n\n=== one\n"));
  CHECK_THAT(text,
             Matchers::Matches("(.|\n)*residue_dry_matter +kg/ha dry matter +9,000.00 +8,000.00 +-1,000.00\n"
                               "(.|\n)*"));
  std::size_t width = 0;
  for (const char ch : text) {
    width = ch == '\n' ? 0 : width + 1;
    CHECK(width <= 100);
  }
  const auto json = nlohmann::json::parse(json_comparison(c));
  REQUIRE(json["numbers"].size() == c.numbers.size());
  CHECK(json["numbers"][0]["treatment"] == "one");
  CHECK(json["numbers"][0]["difference"].get<double>() == Approx(-1000.0));
}

}  // namespace stoverturn
