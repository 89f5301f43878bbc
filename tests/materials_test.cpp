#include <set>
#include <utility>

#include "scenarios/results/run_scenario.hpp"
#include "tests/catch.hpp"
#include "tests/mistakes_in.hpp"

using namespace stoverturn;

namespace {

std::string jar(const std::string& material, const std::string& days, const std::string& harvest) {
  return "duration = \"" + days +
         "\"\n[conditions]\ntemperature = \"15 degC\"\n[soil]\nnitrate = \"300 kg/ha\"\n"
         "[harvest]\ndate = 2012-10-20\nmaterial = \"" +
         material + "\"\n" + harvest;
}

Scenario read(const std::string& text) { return read_scenario(text, "jar.toml", {}); }

/// Buried in soil that holds enough N, the soil's own supply switched off.
Results buried(const std::string& material, const std::string& days) {
  return run_scenario(read(jar(material, days,
                               "residue = \"5 t/ha\"\nplacement = { buried = \"100 %\" }\n"
                               "[parameters]\nN_bg = 0\ndeposition_N = 0\n")),
                      {}, {});
}
double last(const Results& r, const std::string& series) { return r.find(series).values.back(); }

const Parameters<double>& only_component(const Scenario& s) {
  REQUIRE(s.treatments.at(0).components.size() == 1);
  return s.treatments.at(0).parameters.components.at(0);
}

std::string mistakes_of(const std::string& text) {
  return mistakes_in([&] { read(text); });
}

const char* const materials[] = {"wheat straw", "soybean", "sorghum", "cereal rye", "hairy vetch"};

}  // namespace

TEST_CASE("materials: each runs by its name alone, with nothing bent and nothing lost", "[materials]") {
  const std::vector<std::string> known = material_names();
  CHECK(std::set<std::string>(known.begin(), known.end()) ==
        std::set<std::string>{"corn", "wheat straw", "soybean", "sorghum", "cereal rye", "hairy vetch"});
  for (const char* material : materials) {
    INFO(material);
    const Scenario s = read(jar(material, "60 d", "residue = \"6 t/ha\"\n"));
    CHECK(s.warnings.empty());
    CHECK(s.treatments.at(0).first().dry_matter_g_m2 == Approx(600.0));
    CHECK(s.treatments.at(0).components.at(0).pieces.at(0).geometry.shape == Shape::stalk);
    const Results r = run_scenario(s, {}, {});
    CHECK(last(r, "mass_left") < 0.99);
    // round-off of pools of hundreds of g m-2
    CHECK(r.find("balance_error").values.at(0) < 1e-8);
  }
}

TEST_CASE("materials: published contents", "[materials]") {
  const auto of = [](const char* material) {
    return only_component(read(jar(material, "60 d", "residue = \"6 t/ha\"\n")));
  };
  // Kansas State, read in the source: C:N 80 of wheat straw
  const Parameters<double> wheat = of("wheat straw");
  CHECK(wheat.carbon / wheat.nitrogen == Approx(80.0));
  // Sievers and Cook 2018, table 3, read in the source: C, N, C:N of shoots; the C:N is printed to a tenth
  const Parameters<double> rye = of("cereal rye");
  CHECK(rye.carbon == 0.3986);
  CHECK(rye.carbon / rye.nitrogen == Approx(34.7).epsilon(0).margin(0.1));
  const Parameters<double> vetch = of("hairy vetch");
  CHECK(vetch.carbon == 0.3992);
  CHECK(vetch.carbon / vetch.nitrogen == Approx(9.5).epsilon(0).margin(0.1));
  // Fibre and lignin back from the shares of carbon, g/g, table 3. Carbon of cellulose C6H10O5 by IUPAC molar
  // masses, 72.066/162.141; the table's 0.444 is rounded, worth 0.1 %.
  constexpr double in_cellulose = 72.066 / 162.141, in_lignin = 0.62;
  const auto lignin = [&](const Parameters<double>& p) { return p.lignin * p.carbon / in_lignin; };
  const auto fibre = [&](const Parameters<double>& p) {
    return (1.0 - p.soluble - p.lignin) * p.carbon / in_cellulose + lignin(p);
  };
  CHECK(lignin(rye) == Approx(0.0241));
  CHECK(fibre(rye) == Approx(0.6115).epsilon(2e-3));
  CHECK(lignin(vetch) == Approx(0.0582));
  CHECK(fibre(vetch) == Approx(0.3536).epsilon(2e-3));
}

TEST_CASE("materials: only residue with a C:N below 24 gives N within 168 days at 15 C", "[materials]") {
  // Trinsoutrot et al. 2000, 47 residues, read in the abstract: net mineralisation only below C:N 24 after
  // 168 d at 15 C
  for (const std::string material : materials) {
    const Parameters<double> p = only_component(read(jar(material, "60 d", "residue = \"6 t/ha\"\n")));
    const double released = last(buried(material, "168 d"), "nitrogen_released");
    CAPTURE(material, p.carbon / p.nitrogen, released);
    CHECK((released > 0.0) == (p.carbon / p.nitrogen < 24.0));
  }
}

TEST_CASE("materials: order of loss", "[materials]") {
  // Sievers and Cook 2018, table 4, read in the source: mass of vetch shoots is lost at 0.45 a week, of rye
  // shoots at 0.14. Schomberg and Steiner 1999, read in the abstract: winter wheat loses 1.1 g/kg a day, corn
  // 1.5. The order is checked, not the rates: other places, other weather.
  const double vetch = last(buried("hairy vetch", "56 d"), "mass_left");
  const double rye = last(buried("cereal rye", "56 d"), "mass_left");
  const double wheat = last(buried("wheat straw", "56 d"), "mass_left");
  const double corn = last(buried("corn", "56 d"), "mass_left");
  CHECK(vetch < rye);
  CHECK(rye < wheat);
  CHECK(corn < wheat);
}

TEST_CASE("materials: residue from grain where a harvest index is known", "[materials]") {
  const auto dry_matter = [](const std::string& material, const std::string& harvest) {
    return read(jar(material, "60 d", harvest)).treatments.at(0).first().dry_matter_g_m2;
  };
  // 6.5 t/ha at 13.5 % hold 5.6225 t dry grain; straw 55 to 45 (by hand; harvest index from memory)
  CHECK(dry_matter("wheat straw", "grain_yield = \"6.5 t/ha\"\ngrain_moisture = \"13.5 %\"\n") ==
        Approx(562.25 * 55.0 / 45.0));
  CHECK(dry_matter("soybean", "grain_yield = \"3 t/ha\"\ngrain_moisture = \"13 %\"\n") ==
        Approx(261.0 * 54.0 / 46.0));
  CHECK(dry_matter("sorghum",
                   "grain_yield = \"6 t/ha\"\ngrain_moisture = \"14 %\"\n[parameters]\nharvest_index = "
                   "0.4\n") == Approx(516.0 * 1.5));
  // of a wheat plant of 900 mm (from memory) a cut at 150 mm leaves a sixth standing
  const Scenario cut = read(jar("wheat straw", "60 d", "residue = \"6 t/ha\"\ncutting_height = \"15 cm\"\n"));
  CHECK(cut.treatments.at(0).first().stubble.value().share == Approx(1.0 / 6.0));
  const std::pair<std::string, std::string> cases[] = {
      {jar("sorghum", "60 d", "grain_yield = \"6 t/ha\"\n"),
       "jar.toml:9:15: grain_yield: no harvest index is known for sorghum; write residue = \"5 t/ha\" (dry "
       "matter), or set harvest_index under [parameters]"},
      {jar("wheat straw", "60 d", "grain_yield = \"80 bu/acre\"\n"),
       "jar.toml:9:15: grain_yield: a bushel is read as corn; write the yield of wheat straw as \"5 t/ha\" "
       "or "
       "\"4500 lb/acre\", with grain_moisture"},
      {jar("wheat straw", "60 d", "grain_yield = \"6 t/ha\"\n"),
       "jar.toml:6:1: [harvest] lacks `grain_moisture`; write grain_moisture = \"13 %\", of the grain as "
       "sold"},
      {jar("weat straw", "60 d", "residue = \"6 t/ha\"\n"),
       "jar.toml:8:12: material: found 'weat straw'; wanted one of corn, wheat straw, soybean, sorghum, "
       "cereal "
       "rye, hairy vetch, own; did you mean 'wheat straw'?"},
  };
  for (const auto& [text, wanted] : cases) {
    INFO(text);
    CHECK(mistakes_of(text) == wanted);
  }
}
