/// Residue that is taken off, and water that is given.
#include "engine/irrigation.hpp"
#include "scenarios/results/run_scenario.hpp"
#include "tests/mistakes_in.hpp"
#include "tests/trial_jobs.hpp"

using namespace stoverturn;

namespace {

std::string jar(const std::string& event) {
  return "duration = \"60 d\"\n[conditions]\ntemperature = \"15 degC\"\n[harvest]\ndate = 2012-10-20\n"
         "residue = \"10 t/ha\"\nplacement = { standing = \"20 %\", surface = \"60 %\", buried = \"20 %\" "
         "}\n[[event]]\nafter_harvest = \"0 d\"\n" +
         event;
}
Results run(const std::string& text) { return run_scenario(read_scenario(text, "jar.toml", {}), {}, {}); }

double at(const Results& r, const char* series, std::size_t day) { return r.find(series).values.at(day); }
double lying(const Results& r, std::size_t placement) {
  return r.find("dry_matter_by_placement").values.at(placement * r.extent(Dimension::time)) / 100.0;
}

std::string mistakes_of(const std::string& text) {
  return mistakes_in([&] { read_scenario(text, "jar.toml", {}); });
}

}  // namespace

TEST_CASE("removal: a share and a mass of what lies open, with its nutrients", "[removal]") {
  // by hand: of 10 t/ha 2 stand, 6 lie, 2 are buried; built-in corn holds N as its table says
  const Results none = run(jar("kind = \"removal\"\ntake = \"0 %\"\n"));
  const double N = at(none, "nitrogen_in_residue", 0), K = at(none, "potassium_in_residue", 0);

  const Results share = run(jar("kind = \"removal\"\ntake = \"50 %\"\n"));
  CHECK(lying(share, 0) == Approx(1.0));
  CHECK(lying(share, 1) == Approx(3.0));
  CHECK(lying(share, 2) == Approx(2.0));
  CHECK(at(share, "residue_removed", 0) == Approx(400.0));
  CHECK(at(share, "nitrogen_removed", 0) == Approx(0.4 * N));
  CHECK(at(share, "potassium_removed", 0) == Approx(0.4 * K));
  // what left is not given back
  CHECK(at(share, "nitrogen_released", 0) == Approx(0.0).margin(1e-9));

  const Results mass = run(jar("kind = \"removal\"\nfrom = \"surface\"\ntake = \"4.5 t/ha\"\n"));
  CHECK(lying(mass, 0) == Approx(2.0));
  CHECK(lying(mass, 1) == Approx(1.5));
  CHECK(at(mass, "residue_removed", 60) == Approx(450.0));
  CHECK(mass.find("balance_error").values.at(0) < 1e-9);
}

TEST_CASE("removal: at most what is there, and it is said", "[removal]") {
  const Results r = run(jar("kind = \"removal\"\ntake = \"12 t/ha\"\n"));
  CHECK(lying(r, 0) == 0.0);
  CHECK(lying(r, 1) == 0.0);
  CHECK(at(r, "residue_removed", 0) == Approx(800.0));
  CHECK(std::count(r.notes.begin(), r.notes.end(),
                   "'field': of 12.00 t/ha to be taken off only 8.00 lay there.") == 1);
}

TEST_CASE("removal: grazing by component gives nutrients back where it was eaten", "[removal]") {
  const Results bale = run(jar("kind = \"removal\"\ntake_of = { leaf = \"50 %\", cob = \"0.2 t/ha\" }\n"));
  const Results graze = run(
      jar("kind = \"removal\"\ntake_of = { leaf = \"50 %\", cob = \"0.2 t/ha\" }\nreturned = \"80 %\"\n"));
  CHECK(at(graze, "residue_removed", 0) == Approx(at(bale, "residue_removed", 0)));
  CHECK(at(graze, "nitrogen_removed", 0) == Approx(0.2 * at(bale, "nitrogen_removed", 0)));
  CHECK(at(graze, "nitrogen_on_surface", 0) == Approx(0.8 * at(bale, "nitrogen_removed", 0)));
  CHECK(at(graze, "potassium_released", 0) == Approx(0.8 * at(bale, "potassium_removed", 0)));
  CHECK(graze.find("balance_error").values.at(0) < 1e-9);
}

TEST_CASE("removal and irrigation: mistakes", "[removal]") {
  const std::pair<const char*, const char*> cases[] = {
      {"kind = \"removal\"\n",
       "jar.toml:10:8: kind: a removal needs one of take = \"40 %\" (or \"2 t/ha\" of dry matter) and "
       "take_of = "
       "{ leaf = \"60 %\" }"},
      {"kind = \"removal\"\ntake = \"140 %\"\n",
       "jar.toml:11:8: take: found '140 %'; wanted from 0 % to 100 %"},
      {"kind = \"removal\"\ntake_of = { leef = \"50 %\" }\n",
       "jar.toml:11:13: unknown key `leef` in take_of; did you mean 'leaf'?"},
      {"kind = \"irrigation\"\namount = \"1 in\"\n",
       "jar.toml:2:1: conditions take no irrigation; pour water by a log (its column water [mm])"},
      {"kind = \"irrigation\"\n", "lacks `amount`; write amount = \"1 in\", depth of water"},
  };
  for (const auto& [event, wanted] : cases) {
    INFO(event);
    CHECK_THAT(mistakes_of(jar(event)), Matchers::Contains(wanted));
  }
}

TEST_CASE("irrigation: the rule waters dry topsoil in its season and keeps to its limit", "[irrigation]") {
  using namespace std::chrono;
  Soil soil;
  soil.field_capacity = 0.30;
  soil.wilting_point = 0.10;
  const IrrigationRule rule{May / 15, September / 1, 0.5, 25.0, 60.0};
  RuledIrrigation ruled(rule);
  // 200 mm of topsoil hold 40 mm between field capacity and wilting point: half is gone at 40 mm of water
  CHECK(ruled.water_mm(sys_days{2024y / May / 14}, soil, 200.0, 30.0) == 0.0);
  CHECK(ruled.water_mm(sys_days{2024y / May / 15}, soil, 200.0, 41.0) == 0.0);
  CHECK(ruled.water_mm(sys_days{2024y / May / 16}, soil, 200.0, 39.0) == 25.0);
  CHECK(ruled.water_mm(sys_days{2024y / June / 16}, soil, 200.0, 39.0) == 25.0);
  CHECK(ruled.water_mm(sys_days{2024y / July / 16}, soil, 200.0, 39.0) == 10.0);  // the limit of 60 mm
  CHECK(ruled.water_mm(sys_days{2024y / August / 16}, soil, 200.0, 39.0) == 0.0);
  CHECK(ruled.water_mm(sys_days{2024y / September / 2}, soil, 200.0, 39.0) == 0.0);
  CHECK(ruled.water_mm(sys_days{2025y / May / 15}, soil, 200.0, 39.0) == 25.0);  // a new season
  // over New Year, for the south
  RuledIrrigation south({November / 1, March / 1, 0.5, 25.0, not_measured});
  CHECK(south.water_mm(sys_days{2024y / January / 5}, soil, 200.0, 20.0) == 25.0);
  CHECK(south.water_mm(sys_days{2024y / July / 5}, soil, 200.0, 20.0) == 0.0);
}

TEST_CASE("irrigation: water given on a day is rain of that day", "[irrigation]") {
  // the same water in the weather gives the same residue and the same leaching, to the last digit
  const Weather& dry = new_york();
  Weather wet = dry;
  const auto start = std::chrono::sys_days{std::chrono::year{2013} / 6 / 1};
  const int day = 40;
  wet.days[static_cast<std::size_t>((start - dry.start).count()) + day].rain_mm += 30.0;
  WeatherDriversInput in;
  in.start = start;
  in.days = 200;
  in.mulch = {{.day = 0, .surface_added = 500.0}};
  in.parameters = default_parameters();
  in.weather = &wet;
  const WeatherDrivers rained = weather_drivers(in);
  in.weather = &dry;
  in.irrigations = {{day, 30.0}};
  const WeatherDrivers given = weather_drivers(in);
  for (std::size_t d = 0; d < 200; ++d) {
    REQUIRE(given.drivers.days[d].surface_wetness == rained.drivers.days[d].surface_wetness);
    REQUIRE(given.drivers.days[d].drained_sub_d == rained.drivers.days[d].drained_sub_d);
  }
  CHECK(given.irrigation_mm[day] == 30.0);
}
