/// What a harvest leaves, and where.
#include "scenarios/results/run_scenario.hpp"
#include "tests/catch.hpp"
#include "tests/mistakes_in.hpp"

using namespace stoverturn;

namespace {

std::string jar(const std::string& harvest) {
  return "duration = \"60 d\"\n[conditions]\ntemperature = \"15 degC\"\n[harvest]\ndate = 2012-10-20\n"
         "residue = \"10 t/ha\"\n" +
         harvest;
}

Results run(const std::string& text) { return run_scenario(read_scenario(text, "jar.toml", {}), {}, {}); }

/// Dry matter of a placement (0 standing, 1 surface, 2 buried) on a day, t/ha.
double lying(const Results& r, std::size_t placement, std::size_t day) {
  return r.find("dry_matter_by_placement").values.at(placement * r.extent(Dimension::time) + day) / 100.0;
}

std::string mistakes_of(const std::string& text) {
  return mistakes_in([&] { read_scenario(text, "jar.toml", {}); });
}

}  // namespace

TEST_CASE("cutting height: the share of the plant's height below the cut stands, as stalk", "[residue]") {
  // biomass left follows relative cut height about 1:1 (Wilhelm et al. 2011, read in the abstract);
  // 500 of 2500 mm of 10 t/ha are 2 t/ha
  const Results r = run(jar("cutting_height = \"500 mm\"\n"));
  CHECK(lying(r, 0, 0) == Approx(2.0).epsilon(1e-12));
  CHECK(lying(r, 1, 0) == Approx(8.0).epsilon(1e-12));
  CHECK(lying(r, 2, 0) == 0.0);
  bool stubble = false;
  for (const CohortLabel& c : r.cohorts) {
    if (c.placement == "standing") {
      CHECK(c.component == "stalk");
      CHECK(c.pieces == "stubble, 500 mm");
      stubble = true;
    }
  }
  CHECK(stubble);
  // it falls at k_fall = 0.002 a day and decays where it stands
  CHECK(lying(r, 0, 60) < 2.0 * std::exp(-0.002 * 60));
  CHECK(lying(r, 0, 60) > 1.0);
}

TEST_CASE("cutting height: none, higher than the stalk's mass allows, another plant height", "[residue]") {
  CHECK(lying(run(jar("cutting_height = \"0 in\"\n")), 0, 0) == 0.0);
  // 42 % of corn stover is stalk (Lizotte et al. 2010): more cannot stand
  CHECK(lying(run(jar("cutting_height = \"2 m\"\n")), 0, 0) == Approx(10.0 * 42.0 / 101.0).epsilon(1e-12));
  CHECK(lying(run(jar("cutting_height = \"500 mm\"\n[parameters]\nplant_height_mm = \"2 m\"\n")), 0, 0) ==
        Approx(2.5).epsilon(1e-12));
}

TEST_CASE("cutting height: mistakes", "[residue][errors]") {
  CHECK(mistakes_of(
            jar("cutting_height = \"16 in\"\nplacement = { standing = \"20 %\", surface = \"80 %\" }\n")) ==
        "jar.toml:7:18: cutting_height: found with a standing share in `placement`; keep one of the two");
  CHECK(
      mistakes_of(jar("cutting_height = \"16 in\"\nmaterial = \"own\"\n[component.hay]\nmass_share = 1\n")) ==
      "jar.toml:7:18: cutting_height: no component is called stalk, stem or straw; use `placement` instead");
  CHECK(mistakes_of(jar("cutting_height = \"16\"\n")).find("cutting_height: ") != std::string::npos);
}
