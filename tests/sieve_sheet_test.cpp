#include "scenarios/plan/sieve_sheet.hpp"
#include "tests/catch.hpp"
#include "tests/mistakes_in.hpp"

using namespace stoverturn;

namespace {

std::string mistakes_of(const std::string& text) {
  Mistakes mistakes;
  read_sieve_sheet(text, "sieves.csv", "stalk", {}, mistakes);
  return mistakes_in([&] { mistakes.throw_if_any(); });
}

std::vector<PieceClass> read(const std::string& text) {
  Mistakes mistakes;
  const std::vector<PieceClass> pieces = read_sieve_sheet(text, "sieves.csv", "stalk", {}, mistakes);
  mistakes.throw_if_any();
  return pieces;
}

}  // namespace

TEST_CASE("sieve sheet: classes by mass, lengths by geometric mean", "[sieves]") {
  const auto pieces = read(
      "component,from [mm],to [mm],mass [g]\nstalk,20,80,300\nleaf,0,20,5\nstalk,0,20,100\nstalk,80,,600\n");
  REQUIRE(pieces.size() == 3);  // by hand: sqrt(20 x 80) = 40, half of 20, 1.41 x 80
  CHECK(pieces[0].geometry.length_mm == Approx(10.0));
  CHECK(pieces[1].geometry.length_mm == Approx(40.0));
  CHECK(pieces[2].geometry.length_mm == Approx(80.0 * std::sqrt(2.0)));
  CHECK(pieces[0].share == Approx(0.1));
  CHECK(pieces[1].share == Approx(0.3));
  CHECK(pieces[2].share == Approx(0.6));
  CHECK(pieces[1].name == "20 to 80 mm");
  CHECK(pieces[2].name == "over 80 mm");
  // the same as what stayed on sieves, in inches and as shares
  const auto sieved = read("sieve [cm],share [%]\n0,10\n2,30\n8,60\n");
  REQUIRE(sieved.size() == 3);
  for (std::size_t i = 0; i < 3; ++i) {
    CHECK(sieved[i].geometry.length_mm == Approx(pieces[i].geometry.length_mm));
    CHECK(sieved[i].share == Approx(pieces[i].share));
  }
}

TEST_CASE("sieve sheet: mistakes", "[sieves]") {
  const std::pair<const char*, const char*> cases[] = {
      {"from [mm],mass [g]\n",
       "sieves.csv:1:1: the sieve sheet has no rows; wanted a header and one row a class"},
      {"fromm [mm],mass [g]\n1,2\n", "sieves.csv:1:1: unknown column 'fromm'; did you mean 'from'?"},
      {"from,to [mm],mass [g]\n1,2,3\n", "sieves.csv:1:1: from needs a unit: write from [mm]"},
      {"mass [g]\n3\n", "sieves.csv:1:1: wanted the columns from [mm] and to [mm], or sieve [mm]"},
      {"from [mm],to [mm]\n1,2\n", "sieves.csv:1:1: wanted one of the columns mass [g] and share [%]"},
      {"from [mm],to [mm],mass [g]\n5,2,3\n", "sieves.csv:2:1: a class must end above where it begins"},
      {"from [mm],to [mm],mass [g]\n0,20,3\n10,30,3\n",
       "sieves.csv:3:1: this class begins before the one below ends"},
      {"from [mm],to [mm],mass [g]\n0,x,3\n", "sieves.csv:2:3: to: found 'x'; wanted a number, 0 or more"},
      {"component,sieve [mm],mass [g]\nleaf,5,3\n",
       "sieves.csv:1:1: nothing was weighed of component `stalk`"},
  };
  for (const auto& [text, wanted] : cases) {
    INFO(text);
    CHECK_THAT(mistakes_of(text), Matchers::StartsWith(wanted));
  }
}

TEST_CASE("sieve sheet: named in a scenario", "[sieves]") {
  const std::string text =
      "duration = \"60 d\"\n[conditions]\ntemperature = \"15 degC\"\n[harvest]\ndate = 2012-10-20\nresidue = "
      "\"9 t/ha\"\n[component.stalk]\nsieves = \"s.csv\"\nentry_spacing = \"5 cm\"\n";
  const Scenario s = read_scenario(text, "jar.toml", {}, [](const std::string& file) {
    CHECK(file == "s.csv");
    return std::optional<std::string>("sieve [mm],mass [g]\n0,1\n50,3\n");
  });
  const std::vector<PieceClass>& pieces = s.treatments.at(0).components.at(0).pieces;
  REQUIRE(pieces.size() == 2);
  CHECK(pieces[1].share == 0.75);
  CHECK(pieces[1].geometry.spacing_mm == 50.0);
  CHECK_THROWS_WITH(read_scenario(text, "jar.toml", {}), "jar.toml:8:10: sieves: there is no file s.csv");
}
