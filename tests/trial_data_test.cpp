#include "scenarios/trial/trial_data.hpp"

#include "scenarios/text/calendar.hpp"
#include "tests/catch.hpp"
#include "tests/mistakes_in.hpp"

using namespace stoverturn;

namespace {

std::vector<TrialTreatmentNames> two_treatments() {
  return {{"closed", "closed long", parse_date("2027-10-20"), {"stalk", "leaf"}},
          {"opened", "opened", parse_date("2027-10-20"), {"stalk"}}};
}

TrialData read(const std::string& text) { return read_trial_data(text, "bags.csv", two_treatments()); }

std::string mistakes_of(const std::string& text) {
  return mistakes_in([&] { read(text); });
}

}  // namespace

TEST_CASE("trial data: bags, units and names", "[trial]") {
  const TrialData data = read(
      "# an invented trial\n"
      "treatment,placement,replicate,date,initial mass [g],Mass (mg),nitrogen [g/kg],ash [%],note\n"
      "closed long,buried,1,2027-12-04,20,16310,7.4,6.2,torn\n"
      "opened,surface,1,2027-12-04,20.0,15000,NA,,\n");
  REQUIRE(data.rows.size() == 2);
  const TrialRow& first = data.rows[0];
  CHECK(first.treatment == "closed");  // by its label
  CHECK(first.placement == "buried");
  CHECK(first.line == 3);
  CHECK(first.values[trial_mass] == Approx(16.31));
  CHECK(first.values[trial_initial_mass] == 20.0);
  CHECK(first.values[trial_nitrogen] == Approx(0.0074));
  CHECK(first.values[trial_ash] == Approx(0.062));
  CHECK(first.n == 1);
  CHECK(std::isnan(data.rows[1].values[trial_nitrogen]));
  CHECK(data.has(trial_nitrogen));
  CHECK(!data.has(trial_carbon));
}

TEST_CASE("trial data: means with sd and n, time in weeks", "[trial]") {
  const TrialData data = read(
      "treatment,days [weeks],mass left [%],sd [%],n\n"
      "closed,0,100,,4\n"
      "closed,8,71.5,4.1,4\n");
  CHECK(data.rows[1].days == Approx(56.0));
  CHECK(data.rows[1].values[trial_mass_left] == Approx(0.715));
  CHECK(data.rows[1].sd[trial_mass_left] == Approx(0.041));
  CHECK(std::isnan(data.rows[0].sd[trial_mass_left]));
  CHECK(data.rows[1].n == 4);
}

TEST_CASE("trial data: mineral N of soil needs bulk density and depth", "[trial]") {
  const std::string text = "treatment,days [d],mineral nitrogen [mg/kg]\nclosed,10,8\n";
  // 8 mg/kg in 200 mm of 1.3 g/cm3, 260 kg m-2 of soil: 2.08 g m-2 (by hand)
  const TrialData data = read_trial_data(text, "soil.csv", two_treatments(), {1.3, 200.0});
  CHECK(data.rows[0].values[trial_mineral_nitrogen] == Approx(2.08));
  CHECK(
      mistakes_of(text) ==
      "bags.csv:1:20: mineral nitrogen in mg/kg needs the soil's bulk_density and depth in the fit file; or "
      "write it in kg/ha");
}

TEST_CASE("trial data: mistakes say where, what was found and what was wanted", "[trial]") {
  const std::pair<std::string, std::string> cases[] = {
      {"treatment,days [d],mas left [%]\nclosed,1,90\n",
       "bags.csv:1:20: unknown column 'mas left'; did you mean 'mass left'?"},
      {"treatment,days [d],mass left\nclosed,1,90\n",
       "bags.csv:1:20: mass left needs a unit: write mass left [%]"},
      {"treatment,days,mass left [%]\nclosed,1,90\n",
       "bags.csv:1:11: days needs a unit: write days [d] or days [weeks]"},
      {"treatment,mass left [%]\nclosed,90\n",
       "bags.csv:1:1: there is no column for the time; write date (yyyy-mm-dd) or days [d]"},
      {"treatment,days [d],mass [g]\nclosed,1,9\n",
       "bags.csv:1:1: mass needs initial mass [g] beside it, what was put into each bag (or write mass left "
       "[%])"},
      {"treatment,days [d],block\nclosed,1,a\n",
       "bags.csv:1:1: there is no measured column; write mass [g], mass left [%] or nitrogen [%]"},
      {"treatment,date,mass left [%]\nclozed,2027-12-01,90\n",
       "bags.csv:2:1: the scenario has no treatment 'clozed'; did you mean 'closed'?"},
      {"treatment,date,mass left [%]\nclosed,2027-10-01,90\n",
       "bags.csv:2:8: 2027-10-01 is before the bags were laid out, on 2027-10-20"},
      {"treatment,component,days [d],mass left [%]\nopened,leaf,5,90\n",
       "bags.csv:2:8: treatment 'opened' has no component 'leaf'; known are stalk"},
      {"treatment,placement,days [d],mass left [%]\nclosed,below,5,90\n",
       "bags.csv:2:8: placement: found 'below'; wanted standing, surface or buried"},
      {"treatment,days [d],mass left [%]\nclosed,5,9o\n",
       "bags.csv:2:10: mass left '9o' is not a number; leave the cell empty when nothing was measured"},
      {"treatment,days [d],mass left [%]\nclosed,5,905\n",
       "bags.csv:2:10: mass left 905 % cannot be; possible are 0 to 200 %"},
      {"treatment,replicate,days [d],mass left [%]\nclosed,1,5,90\nclosed,1,5,91\n",
       "bags.csv:3:1: the same bag stands in line 2 (treatment, component, placement, block, replicate and "
       "time are all equal)"},
      {"treatment,days [d],mass left [%],nitrogen [%],sd [%]\nclosed,5,90,1,2\n",
       "bags.csv:1:47: sd: which column's? Write the name before it, such as mass left sd [%]"},
      {"treatment,date,days [d],mass left [%]\nclosed,2027-12-01,42,90\n",
       "bags.csv:2:19: found a date and days in one row; leave one of the two empty"},
      {"treatment,days [d],mass left [%]\nclosed,,90\n", "bags.csv:2:1: this row has no date and no days"},
      {"treatment,days [d],mass left [%],n\nclosed,5,90,0\n",
       "bags.csv:2:13: n: found '0'; wanted how many bags this row is the mean of"},
      {"treatment,days [d],mass left [%]\nclosed,5\n",
       "bags.csv:2:1: this row has 2 cells, the header has 3"},
      {"treatment,days [d],mass left [lb]\nclosed,5,90\n",
       "bags.csv:1:31: mass left: 'lb' is a unit of mass"},
  };
  for (const auto& [text, wanted] : cases) {
    INFO(text);
    CHECK_THAT(mistakes_of(text), Matchers::StartsWith(wanted));
  }
}
