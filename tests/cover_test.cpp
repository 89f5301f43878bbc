#include "engine/cover.hpp"

#include <cmath>

#include "engine/parameters.hpp"
#include "tests/catch.hpp"

using namespace stoverturn;

namespace {
constexpr double g_m2_per_lb_acre = 453.59237 / 4046.8564224;  // exact by definition

double corn_cover(double lb_acre) {
  return soil_cover(default_parameters().cover_m2_g, lb_acre * g_m2_per_lb_acre);
}
}  // namespace

TEST_CASE("cover: Gregory's coefficient of corn in the units of the engine", "[engine][cover]") {
  // 0.00038 acre/lb, from memory; the table keeps three digits of it
  CHECK(default_parameters().cover_m2_g == Approx(0.00038 / g_m2_per_lb_acre).epsilon(0.0).margin(0.5e-5));
}

TEST_CASE("cover: corn residue for 30, 60 and 90 % of cover", "[engine][cover][golden]") {
  // Gregory 1982 with the coefficient from memory; masses derived here. A mass right to half a pound an acre
  // is worth 1.3e-4 of cover at 30 %, the third digit of the coefficient 3e-5.
  CHECK(corn_cover(939.0) == Approx(0.30).epsilon(0.0).margin(2e-4));
  CHECK(corn_cover(2411.0) == Approx(0.60).epsilon(0.0).margin(2e-4));
  CHECK(corn_cover(6059.0) == Approx(0.90).epsilon(0.0).margin(2e-4));
  // A handbook rounds to 950, 2,400 and 6,050 lb/acre (from memory): within half a point
  CHECK(corn_cover(950.0) == Approx(0.30).epsilon(0.0).margin(5e-3));
  CHECK(corn_cover(2400.0) == Approx(0.60).epsilon(0.0).margin(5e-3));
  CHECK(corn_cover(6050.0) == Approx(0.90).epsilon(0.0).margin(5e-3));
}

TEST_CASE("cover: table of round masses", "[engine][cover][golden]") {
  // derived here with the same coefficient, three digits
  CHECK(corn_cover(1000.0) == Approx(0.316).epsilon(0.0).margin(5e-4));
  CHECK(corn_cover(2000.0) == Approx(0.532).epsilon(0.0).margin(5e-4));
  CHECK(corn_cover(4000.0) == Approx(0.781).epsilon(0.0).margin(5e-4));
  CHECK(corn_cover(8000.0) == Approx(0.952).epsilon(0.0).margin(5e-4));
}

TEST_CASE("cover: none without residue, never all of it, layers overlap", "[engine][cover]") {
  CHECK(soil_cover(0.00339, 0.0) == 0.0);
  CHECK(soil_cover(0.00339, 1e-6) == Approx(0.00339e-6).epsilon(1e-8));  // first layer covers A m
  double last = 0.0;
  for (double mass = 1.0; mass < 5000.0; mass *= 1.5) {
    CHECK(soil_cover(0.00339, mass) > last);
    CHECK(soil_cover(0.00339, mass) < 1.0);
    last = soil_cover(0.00339, mass);
  }
  const double a = soil_cover(0.00339, 120.0), b = soil_cover(0.00339, 300.0);
  CHECK(soil_cover(0.00339, 420.0) == Approx(1.0 - (1.0 - a) * (1.0 - b)).epsilon(1e-14));
}
