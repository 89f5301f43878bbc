#include "scenarios/trial/identifiability_advice.hpp"

#include <algorithm>
#include <limits>

#include "engine/parameters.hpp"
#include "tests/catch.hpp"

using namespace stoverturn;

TEST_CASE("identifiability: sentences that a researcher can act on", "[fitting]") {
  const std::vector<std::string> names = {"k_hol", "v_mm_d", "e_hol",         "k_rem",      "CN_mic",
                                          "k_upt", "rind",   "k_hol@stalk",   "k_hol@leaf", "error of mass",
                                          "k_som", "k_sol",  "k_hol [opened]"};
  Identifiability said;
  said.confounded = {{{0, 1, 6}, std::numeric_limits<double>::infinity()},
                     {{0, 1}, 41.3},
                     {{2, 3}, 30.0},
                     {{4, 5}, 22.0},
                     {{7, 8}, 20.0},
                     {{0, 9}, 19.0},
                     {{11, 12}, 16.0}};
  said.blind = {10, 9};
  const std::vector<std::string> wanted = {
      "k_hol, v_mm_d and rind cannot be told apart by these data (their effects are the same): give one a "
      "prior or "
      "hold it, or add a second cut length or entry spacing.",
      "k_hol and v_mm_d cannot be told apart by these data (collinearity index 41): give one a prior or hold "
      "it, or "
      "add a second cut length or entry spacing.",
      "e_hol and k_rem cannot be told apart by these data (collinearity index 30): give one a prior or hold "
      "it, or "
      "measure respired carbon.",
      "CN_mic and k_upt cannot be told apart by these data (collinearity index 22): give one a prior or hold "
      "it, or "
      "measure N in the bags or mineral N in the soil.",
      "k_hol@stalk and k_hol@leaf cannot be told apart by these data (collinearity index 20): give one a "
      "prior or hold "
      "it, or bag the components apart.",
      "k_hol and error of mass cannot be told apart by these data (collinearity index 19): give one a prior "
      "or hold "
      "it, or measure what separates them.",
      "k_sol and k_hol [opened] cannot be told apart by these data (collinearity index 16): give one a prior "
      "or hold "
      "it, or lift more bags in the first month, or analyse solubles at the start and in early bags.",
      "k_som changes nothing that was measured: hold it, or measure ammonium and nitrate in the soil apart, "
      "with and "
      "without residue.",
      "error of mass changes nothing that was measured: hold it."};
  CHECK(identifiability_sentences(said, names) == wanted);
  const std::vector<std::string> few = identifiability_sentences(said, names, 2);
  REQUIRE(few.size() == 5);
  CHECK(few[2] == "5 more sets of unknowns cannot be told apart.");
}

TEST_CASE("identifiability: every parameter that can be estimated has advice, and no name is misspelt",
          "[fitting]") {
  const std::vector<std::string> without = {"carbon", "carbon_ash_free", "k_fall", "cover_m2_g"};
  for (const ParameterRow& row : parameter_table()) {
    const std::string name(row.name);
    const bool estimated = row.fit != Fit::fixed && row.scope != Scope::driver;
    const bool excepted = std::find(without.begin(), without.end(), name) != without.end();
    CAPTURE(name);
    CHECK(advice_to_see(name).empty() == (!estimated || excepted));
  }
}
