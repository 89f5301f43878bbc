#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include <boost/random/mersenne_twister.hpp>
#include <boost/random/uniform_real_distribution.hpp>

#include "engine/mulch.hpp"
#include "engine/residue_water.hpp"
#include "engine/snow.hpp"
#include "engine/soil_temperature.hpp"
#include "engine/soil_water.hpp"
#include "tests/catch.hpp"

using namespace stoverturn;

namespace {

constexpr double pi = std::numbers::pi;

struct Uniform {
  boost::random::mt19937 engine{365};
  double operator()(double low, double high) {
    return boost::random::uniform_real_distribution<double>(low, high)(engine);
  }
  /// Rain on every third day, mostly little.
  double rain_mm() { return (*this)(0.0, 1.0) < 0.67 ? 0.0 : -12.0 * std::log((*this)(1e-6, 1.0)); }
};

/// Amplitude and lag of a series against mean + amplitude sin(2 pi t/365.25), from whole years of it.
struct Wave {
  double amplitude, lag_d;
};
Wave wave_of(const std::vector<double>& series) {
  double in_phase = 0.0, behind = 0.0;
  const auto n = static_cast<double>(series.size());
  for (std::size_t i = 0; i < series.size(); ++i) {
    const double angle = 2.0 * pi * static_cast<double>(i) / 365.25;
    in_phase += 2.0 / n * series[i] * std::sin(angle);
    behind -= 2.0 / n * series[i] * std::cos(angle);
  }
  return {std::hypot(in_phase, behind), std::atan2(behind, in_phase) * 365.25 / (2.0 * pi)};
}

constexpr int four_years = 1461;

double yearly_air_C(int day) { return 10.0 + 15.0 * std::sin(2.0 * pi * day / 365.25); }

}  // namespace

TEST_CASE("snow: conserves water", "[engine][snow][property]") {
  Uniform random;
  SnowPack snow;
  double in = 0.0, out = 0.0;
  for (int day = 0; day < 1000; ++day) {
    const double rain = random.rain_mm();
    in += rain;
    const double released = snow.step(random(-15.0, 12.0), rain, 0.5, 2.74);
    CHECK(released >= 0.0);
    CHECK(snow.water_mm >= 0.0);
    out += released;
    CHECK(in == Approx(out + snow.water_mm).epsilon(1e-12));  // round-off of 1,000 sums
  }
  CHECK(out > 0.0);
}

TEST_CASE("snow: falls in the cold, melts by degree-days, insulates from 5 mm of water on",
          "[engine][snow]") {
  SnowPack snow;
  CHECK(snow.step(-3.0, 4.9, 0.5, 2.74) == 0.0);
  CHECK_FALSE(snow.covers());
  CHECK(snow.step(-3.0, 10.1, 0.5, 2.74) == 0.0);
  CHECK(snow.covers());
  CHECK(snow.step(2.0, 0.0, 0.5, 2.74) == Approx(5.48).epsilon(1e-14));  // 2 degree-days
  CHECK(snow.water_mm == Approx(9.52).epsilon(1e-14));
  CHECK(snow.step(20.0, 7.0, 0.5, 2.74) == Approx(16.52).epsilon(1e-14));  // rain and all that was left
  CHECK(snow.water_mm == 0.0);
}

TEST_CASE("residue water: never above capacity, keeps no more than falls",
          "[engine][residue_water][property]") {
  Uniform random;
  ResidueWater residue;
  for (int day = 0; day < 1000; ++day) {
    const double capacity = random(0.17, 4.0), rain = random.rain_mm(), drying = random(0.0, 3.0);
    const double before = residue.water_mm;
    const ResidueWater::Day d = residue.step(rain, capacity, drying);
    CHECK(residue.water_mm >= 0.0);
    CHECK(residue.water_mm <= capacity);
    CHECK(d.wetness >= 0.0);
    CHECK(d.wetness <= 1.0);
    CHECK(d.intercepted_mm >= std::min(0.0, capacity - before));  // a lighter mulch drips what it cannot hold
    CHECK(d.intercepted_mm <= rain);                              // or the soil would lose water to it
    CHECK(residue.water_mm <= before + d.intercepted_mm + 1e-14);  // the rest has dried
  }
}

TEST_CASE("residue water: mean of the day against integration in small steps", "[engine][residue_water]") {
  const double capacity = 3.0, start = GENERATE(0.0, 1.0, 3.0), rain = GENERATE(0.0, 0.8, 20.0);
  const double drying = GENERATE(0.0, 1e-8, 0.5, 8.0);
  ResidueWater residue{start};
  const ResidueWater::Day d = residue.step(rain, capacity, drying);
  // classical fourth-order steps of dW/dt = -drying W/capacity and of its integral: error (rate h)^4, 1e-11
  // at most
  double W = std::min(capacity, start + rain), integral = 0.0;
  constexpr int steps = 1000;
  const double h = 1.0 / steps, k = drying / capacity;
  for (int i = 0; i < steps; ++i) {
    const double half1 = W * (1.0 - 0.5 * h * k), half2 = W - 0.5 * h * k * half1, end = W - h * k * half2;
    integral += h / 6.0 * (W + 2.0 * half1 + 2.0 * half2 + end);
    W -= h / 6.0 * k * (W + 2.0 * half1 + 2.0 * half2 + end);
  }
  CHECK(residue.water_mm == Approx(W).epsilon(1e-9).margin(1e-12));
  CHECK(d.wetness == Approx(integral / capacity).epsilon(1e-9).margin(1e-12));
}

TEST_CASE("soil: textures lie within FAO-56 Table 19", "[engine][soil][fao56]") {
  // read in the full text: field capacity and wilting point, m3 m-3; REW and TEW of the top 100 mm, mm
  struct Ranges {
    const char* name;
    double FC[2], WP[2], REW[2], TEW[2];
  };
  const std::vector<Ranges> table_19 = {
      {"sand", {.07, .17}, {.02, .07}, {2, 7}, {6, 12}},
      {"loamy sand", {.11, .19}, {.03, .10}, {4, 8}, {9, 14}},
      {"sandy loam", {.18, .28}, {.06, .16}, {6, 10}, {15, 20}},
      {"loam", {.20, .30}, {.07, .17}, {8, 10}, {16, 22}},
      {"silt loam", {.22, .36}, {.09, .21}, {8, 11}, {18, 25}},
      {"silt", {.28, .36}, {.12, .22}, {8, 11}, {22, 26}},
      {"silty clay loam", {.30, .37}, {.17, .24}, {8, 11}, {22, 27}},
      {"silty clay", {.30, .42}, {.17, .29}, {8, 12}, {22, 28}},
      {"clay", {.32, .40}, {.20, .24}, {8, 12}, {22, 29}},
  };
  for (const Ranges& ranges : table_19) {
    INFO(ranges.name);
    const auto textures = texture_table();
    const auto row = std::find_if(textures.begin(), textures.end(),
                                  [&](const TextureRow& r) { return r.name == ranges.name; });
    REQUIRE(row != textures.end());
    // "middle of the range", to round-off
    CHECK(row->field_capacity == Approx(0.5 * (ranges.FC[0] + ranges.FC[1])).epsilon(1e-12));
    CHECK(row->wilting_point == Approx(0.5 * (ranges.WP[0] + ranges.WP[1])).epsilon(1e-12));
    CHECK(row->readily_evaporable_mm == Approx(0.5 * (ranges.REW[0] + ranges.REW[1])).epsilon(1e-12));
    const double TEW = total_evaporable_mm({row->field_capacity, row->wilting_point});
    CHECK(TEW >= ranges.TEW[0]);
    CHECK(TEW <= ranges.TEW[1]);
  }
}

TEST_CASE("soil: every texture holds water in order, and explains itself", "[engine][soil]") {
  for (const TextureRow& row : texture_table()) {
    INFO(row.name);
    CHECK(row.wilting_point > 0.0);
    CHECK(row.wilting_point < row.field_capacity);
    CHECK(row.field_capacity < row.porosity);
    CHECK(row.porosity < 0.6);
    CHECK_FALSE(row.source.empty());
    const Soil soil{row.field_capacity, row.wilting_point, row.porosity, row.readily_evaporable_mm};
    CHECK(row.readily_evaporable_mm < total_evaporable_mm(soil));
    // -33 kPa at field capacity, -1.5 MPa at the wilting point: common practice, no source
    CHECK(soil.water_potential_MPa(row.field_capacity) == Approx(-0.033).epsilon(1e-12));
    CHECK(soil.water_potential_MPa(row.wilting_point) == Approx(-1.5).epsilon(1e-12));
    double last = soil.water_potential_MPa(0.011);
    for (double moisture = 0.02; moisture < row.porosity; moisture += 0.01) {
      CHECK(soil.water_potential_MPa(moisture) > last);
      CHECK(soil.water_potential_MPa(moisture) < 0.0);
      last = soil.water_potential_MPa(moisture);
    }
    CHECK(std::isfinite(soil.water_potential_MPa(0.0)));
  }
}

TEST_CASE("soil water: rain is storage, drainage, evaporation and transpiration",
          "[engine][soil_water][property]") {
  Uniform random;
  const auto textures = texture_table();
  const TextureRow& row = textures[GENERATE(0u, 4u, 9u)];
  INFO(row.name);
  const Soil soil{row.field_capacity, row.wilting_point, row.porosity, row.readily_evaporable_mm};
  SoilWater water{soil.field_capacity * 200.0, soil.field_capacity * 800.0, {}};
  double evaporated = 0.0, transpired = 0.0, drained = 0.0;
  for (int day = 0; day < 1000; ++day) {
    const double before = water.top_mm + water.sub_mm;
    const double rain = day % 97 == 0 ? 160.0 : random.rain_mm();  // some floods
    const SoilWater::Demand demand{random(0.0, 9.0), day % 365 < 150 ? random(0.0, 1.15) : 0.0,
                                   random(0.0, 0.5)};
    const SoilWater::Day d = water.step(soil, 200.0, 1000.0, random(0.1, 10.0), rain, demand);
    const double change = water.top_mm + water.sub_mm - before;
    CHECK(std::abs(rain - change - d.drained_sub_mm - d.evaporated_mm - d.transpired_mm) <
          1e-11);  // of 500 mm
    CHECK(std::min({d.drained_top_mm, d.drained_sub_mm, d.evaporated_mm, d.transpired_mm}) >= 0.0);
    CHECK(d.evaporated_mm + d.transpired_mm <= 1.2 * demand.reference_ET_mm + 1e-12);  // K_c max
    CHECK(water.top_mm >= 0.5 * soil.wilting_point * 200.0 - 1e-11);                   // air-dry
    CHECK(water.top_mm <= soil.porosity * 200.0 + 1e-11);
    CHECK(water.sub_mm >= soil.wilting_point * 800.0 - 1e-11);
    CHECK(water.sub_mm <= soil.porosity * 800.0 + 1e-11);
    CHECK(d.moisture > 0.0);
    CHECK(d.moisture <= soil.porosity + 1e-13);
    evaporated += d.evaporated_mm;
    transpired += d.transpired_mm;
    drained += d.drained_sub_mm;
  }
  CHECK(evaporated > 0.0);
  CHECK(transpired > 0.0);
  CHECK(drained > 0.0);
}

TEST_CASE("soil water: above field capacity it drains at the stated rate, below not at all",
          "[engine][soil_water]") {
  const Soil soil;
  const double capacity = soil.field_capacity * 200.0;
  SoilWater wet{capacity + 20.0, soil.field_capacity * 800.0, {}};
  CHECK(wet.step(soil, 200.0, 1000.0, 1.0, 0.0, {}).drained_top_mm ==
        Approx(20.0 * (1.0 - std::exp(-1.0))).epsilon(1e-12));
  SoilWater moist{capacity, soil.field_capacity * 800.0, {}};
  const SoilWater::Day day = moist.step(soil, 200.0, 1000.0, 1.0, 0.0, {});
  CHECK(day.drained_top_mm == 0.0);
  CHECK(day.drained_sub_mm == 0.0);
  CHECK(day.moisture == Approx(soil.field_capacity).epsilon(1e-14));
}

TEST_CASE("soil water: mulch withholds evaporation", "[engine][soil_water]") {
  const Soil soil;
  SoilWater bare{soil.field_capacity * 200.0, soil.field_capacity * 800.0, {}}, covered = bare;
  const double bare_E = bare.step(soil, 200.0, 1000.0, 1.0, 0.0, {5.0, 0.0, 0.0}).evaporated_mm;
  const double covered_E = covered.step(soil, 200.0, 1000.0, 1.0, 0.0, {5.0, 0.0, 0.5}).evaporated_mm;
  CHECK(bare_E == Approx(1.2 * 5.0).epsilon(1e-12));  // first stage: K_c max ET_0
  CHECK(covered_E == Approx(0.5 * bare_E).epsilon(1e-12));
}

TEST_CASE("soil temperature: damping depths", "[engine][soil_temperature][golden]") {
  // sqrt(2 D/omega), e.g. Hillel, read in the source; values derived here, four digits
  CHECK(damping_depth_mm(0.5, 1.0) == Approx(117.3).epsilon(0.0).margin(0.05));
  CHECK(damping_depth_mm(0.5, 365.25) == Approx(2241.0).epsilon(0.0).margin(0.5));
  CHECK(damping_depth_mm(0.2, 1.0) == Approx(74.2).epsilon(0.0).margin(0.05));
  CHECK(damping_depth_mm(0.2, 365.25) == Approx(1417.0).epsilon(0.0).margin(0.5));
}

TEST_CASE("soil temperature: a yearly wave against the exact solution", "[engine][soil_temperature]") {
  // Exact: amplitude exp(-z/d), lag z/d of a radian, d the yearly damping depth (e.g. Hillel, read in the
  // source); at 100 mm 0.956 and 2.6 days (derived here). The recursion is an approximation: its lag may be
  // off by 1.5 days, with this wave 0.4 C, a quarter of the 1.5 to 2.9 C error of the published regressions
  // from air (Zheng, Hunt and Running 1993, read in the abstract); its amplitude by 1 %.
  const double depth_mm = GENERATE(20.0, 50.0, 100.0, 150.0, 200.0);
  INFO("depth " << depth_mm << " mm");
  SoilTemperature soil{depth_mm, 10.0};
  std::vector<double> T;
  for (int day = -four_years; day < four_years; ++day) {
    const double now = soil.step(yearly_air_C(day), 10.0, 0.5, 1.0);
    if (day >= 0) T.push_back(now);
  }
  const Wave wave = wave_of(T);
  const double z_d = depth_mm / 2241.0;
  CHECK(wave.amplitude / 15.0 == Approx(std::exp(-z_d)).epsilon(0.01));
  CHECK(wave.lag_d == Approx(z_d * 365.25 / (2.0 * pi)).epsilon(0.0).margin(1.5));
  if (depth_mm == 100.0) CHECK(wave.amplitude / 15.0 == Approx(0.956).epsilon(0.0).margin(0.01));
}

TEST_CASE("soil temperature: deeper soil changes less and later", "[engine][soil_temperature]") {
  double last_amplitude = 15.0, last_lag = 0.0;
  for (const double depth_mm : {20.0, 50.0, 100.0, 200.0, 300.0, 400.0}) {
    SoilTemperature soil{depth_mm, 10.0};
    std::vector<double> T;
    for (int day = -four_years; day < four_years; ++day) {
      const double now = soil.step(yearly_air_C(day), 10.0, 0.5, 1.0);
      if (day >= 0) T.push_back(now);
    }
    const Wave wave = wave_of(T);
    CHECK(wave.amplitude < last_amplitude);
    CHECK(wave.lag_d > last_lag);
    last_amplitude = wave.amplitude;
    last_lag = wave.lag_d;
  }
}

TEST_CASE("soil temperature: steady air gives steady soil, a step is never overshot",
          "[engine][soil_temperature]") {
  const double depth_mm = GENERATE(0.0, 20.0, 100.0, 400.0);
  SoilTemperature steady{depth_mm, 12.0};
  for (int day = 0; day < 100; ++day) CHECK(steady.step(12.0, 12.0, 0.5, 0.3) == 12.0);
  SoilTemperature soil{depth_mm, 0.0};
  double last = 0.0;
  for (int day = 0; day < 100; ++day) {
    const double T = soil.step(20.0, 20.0, 0.5, 1.0);
    CHECK(T >= last);
    CHECK(T <= 20.0);
    last = T;
  }
}

TEST_CASE("mulch: mass falls by its loss alone, whatever falls over", "[engine][mulch]") {
  Mulch mulch{400.0, 300.0};
  for (int day = 1; day <= 365; ++day) {
    mulch.step(0.0015, 0.002);
    CHECK(mulch.standing_g_m2 + mulch.surface_g_m2 == Approx(700.0 * std::exp(-0.0015 * day)).epsilon(1e-12));
    CHECK(mulch.standing_g_m2 == Approx(400.0 * std::exp(-0.0035 * day)).epsilon(1e-12));
  }
}

TEST_CASE("mulch: an event moves, buries and adds what it says", "[engine][mulch]") {
  Mulch mulch{400.0, 300.0};
  mulch.apply({.day = 0, .standing_kept = 0.25, .standing_flattened = 0.75});
  CHECK(mulch.standing_g_m2 == Approx(100.0).epsilon(1e-14));
  CHECK(mulch.surface_g_m2 == Approx(600.0).epsilon(1e-14));
  mulch.apply({.day = 0,
               .standing_kept = 0.1,
               .standing_flattened = 0.4,
               .surface_kept = 0.3});  // the rest is buried
  CHECK(mulch.standing_g_m2 == Approx(10.0).epsilon(1e-14));
  CHECK(mulch.surface_g_m2 == Approx(0.3 * 600.0 + 0.4 * 100.0).epsilon(1e-14));
  mulch.apply({.day = 0, .standing_added = 350.0, .surface_added = 550.0});
  CHECK(mulch.standing_g_m2 == Approx(360.0).epsilon(1e-14));
  CHECK(mulch.surface_g_m2 == Approx(770.0).epsilon(1e-14));
  mulch.apply({});
  CHECK(mulch.standing_g_m2 == Approx(360.0).epsilon(1e-14));
  CHECK(mulch.surface_g_m2 == Approx(770.0).epsilon(1e-14));
}
