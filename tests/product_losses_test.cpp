/// What of a product escapes, is kept or comes later: inhibitors, knives, manure.
#include "scenarios/plan/products.hpp"
#include "scenarios/results/run_scenario.hpp"
#include "tests/catch.hpp"

using namespace stoverturn;

namespace {

const std::string field =
    "duration = \"60 d\"\n[conditions]\ntemperature = \"15 degC\"\n"
    "[harvest]\ndate = 2012-10-20\nresidue = \"9 t/ha\"\n";

std::string spread(const std::string& keys) {
  return "[[event]]\nkind = \"fertiliser\"\ndate = 2012-11-01\n" + keys + "\n";
}

Scenario read(const std::string& text) { return read_scenario(text, "jar.toml", {}); }

Fertiliser<double> amounts(const std::string& keys) {
  return std::get<FertiliserPlan>(read(field + spread(keys)).treatments.at(0).events.at(0)).amounts;
}

}  // namespace

TEST_CASE("products: urea with an inhibitor loses the stated share of plain urea's ammonia",
          "[products][scenario]") {
  const auto lost = [](const std::string& name, const std::string& more) {
    const std::string keys = "product = \"" + name + "\"\nrate = \"150 kg/ha\"\n" + more;
    const Results r = run_scenario(read(field + spread(keys)), {}, {});
    return r.find("nitrogen_volatilised").values.back();
  };
  const double plain = lost("urea", "");
  REQUIRE(plain > 0.1);
  // surface residue takes some of it: less N there is taken rather faster
  CHECK(lost("urea with inhibitor", "urea_loss = \"36 %\"") == Approx(0.36 * plain).epsilon(0.05));
  CHECK(lost("urea", "urea_loss = \"36 %\"") == lost("urea with inhibitor", "urea_loss = 0.36"));
  CHECK(lost("urea with inhibitor", "urea_loss = \"0 %\"") == 0.0);
}

TEST_CASE("products: of anhydrous ammonia some escapes from the knife slot", "[products][scenario]") {
  // Hanna, Boyd, Baker and Colvin 2004 (Iowa): 1 to 2 % with a knife, 3 to 7 % with a shallow disc
  const std::string keys = "product = \"anhydrous ammonia\"\nnitrogen = \"150 kg/ha\"";
  CHECK(amounts(keys).lost_N == Approx(0.015 * 15.0));
  CHECK(amounts(keys).ammonium_N == Approx(0.985 * 15.0));
  CHECK(amounts(keys + "\nlost = \"7 %\"").lost_N == Approx(0.07 * 15.0));
  const Results r = run_scenario(read(field + spread(keys)), {}, {});
  CHECK(r.find("nitrogen_volatilised").values.back() == Approx(0.225));
  CHECK(r.find("nitrogen_applied").values.back() == Approx(15.0));
}

TEST_CASE("products: manure gives its ammonium, and its organic N in part", "[products][scenario]") {
  // 30 t/ha with 5 g N/kg, 60 % of it ammonium: 90 kg/ha, and 60 organic; 35 % of that in the first year
  // (Cornell, cattle slurry), 21 kg/ha (by hand)
  const std::string by_mass =
      "product = \"manure\"\nrate = \"30 t/ha\"\nnitrogen_content = \"5 g/kg\"\nammonium = \"60 %\"\n"
      "sulfur = \"12 kg/ha\"\nmanure = \"cattle slurry\"";
  CHECK(amounts(by_mass).ammonium_N == Approx(9.0));
  CHECK(amounts(by_mass).organic_N == Approx(2.1));
  CHECK(amounts(by_mass).stable_N == Approx(3.9));
  CHECK(amounts(by_mass).urea_N + amounts(by_mass).nitrate_N == 0.0);
  CHECK(amounts(by_mass).sulfur == Approx(1.2));
  // 30 m3/ha of 1 kg/L is the same
  const Fertiliser<double> by_volume = amounts(
      "product = \"manure\"\nrate = \"30 m3/ha\"\ndensity = \"1 kg/L\"\nnitrogen_content = \"5 "
      "g/kg\"\nammonium = \"60 %\"\nfirst_year = \"50 %\"");
  CHECK(by_volume.ammonium_N == Approx(9.0));
  CHECK(by_volume.organic_N == Approx(3.0));
  const Fertiliser<double> all_mineral =
      amounts("product = \"manure\"\nnitrogen = \"150 kg/ha\"\nammonium = \"100 %\"");
  CHECK(all_mineral.ammonium_N == Approx(15.0));
  CHECK(all_mineral.organic_N + all_mineral.stable_N == 0.0);
  const Results r = run_scenario(read(field + spread(by_mass)), {}, {});
  CHECK(r.find("nitrogen_applied").values.back() == Approx(15.0));
  CHECK(r.find("nitrogen_in_manure").values.back() >= 3.9);
  CHECK(r.find("nitrogen_in_manure").values.back() < 6.0);
}

TEST_CASE("products: kinds of manure as Cornell has them", "[products]") {
  // courses.cit.cornell.edu/css412, release rate of organic N in the year of application (read)
  const std::pair<const char*, double> published[] = {{"cattle slurry", 0.35}, {"cattle, solid", 0.25},
                                                      {"poultry", 0.55},       {"swine slurry", 0.35},
                                                      {"sheep", 0.25},         {"horse", 0.25}};
  for (const auto& [name, share] : published) {
    REQUIRE(find_manure(name));
    CHECK(find_manure(name)->first_year == share);
  }
  CHECK(find_manure("Poultry") == find_manure("poultry"));
  CHECK_FALSE(find_manure("guano"));
}
