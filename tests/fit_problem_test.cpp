/// From data and a fit file to observations, unknowns and where they go.
#include "scenarios/trial/fit_problem.hpp"

#include <Eigen/LU>

#include "fitting/least_squares.hpp"
#include "scenarios/trial/trial_numbers.hpp"
#include "scenarios/trial/trial_words.hpp"
#include "scenarios/weather/weather_reading.hpp"
#include "tests/catch.hpp"
#include "tests/mistakes_in.hpp"
#include "tests/trial_parts.hpp"

using namespace stoverturn;

namespace {

const std::string bags =
    "treatment,placement,replicate,days [d],initial mass [g],mass [g],nitrogen [%]\n"
    "closed,buried,1,40,20,15.0,0.8\n"
    "closed,buried,2,40,20,15.4,\n"
    "opened,buried,1,40,20,12.0,0.9\n"
    "opened,surface,1,100,20,11.0,\n";

TrialNumbers numbers_of(const std::string& data, const std::string& data_section = "") {
  Mistakes mistakes;
  TrialNumbers numbers = trial_numbers(small_trial(data, plan_of("k_hol = {}", data_section)), mistakes);
  mistakes.throw_if_any();
  return numbers;
}

FitProblem problem_of(const std::string& estimates, const std::string& data = bags,
                      const std::string& scenario = small_scenario) {
  const FitPlan plan = plan_of(estimates);
  return fit_problem(plan, {small_trial(data, plan, scenario)});
}

std::string mistakes_of(const std::string& estimates, const std::string& data = bags) {
  return mistakes_in([&] { problem_of(estimates, data); });
}

std::vector<std::string> names_of(const FitProblem& problem) {
  std::vector<std::string> names;
  for (const Unknown& u : problem.posterior->unknowns()) names.push_back(u.name);
  return names;
}

bool warns(const std::vector<std::string>& warnings, const std::string& part) {
  return std::any_of(warnings.begin(), warnings.end(),
                     [&](const std::string& w) { return w.find(part) != std::string::npos; });
}

/// Share of the dry matter of the first harvest left in a placement, from a simulation of its own.
double left_by_hand(const Scenario& scenario, std::size_t treatment, Placement placement, int day) {
  const TreatmentJob made = treatment_job(scenario, scenario.treatments[treatment], {});
  double start = 0.0, left = 0.0;
  simulate<double>(made.job, [&](int d, const State<double>& x) {
    for (std::size_t j = 0; j < made.job.cohorts.size(); ++j) {
      const Cohort& c = made.job.layout->cohorts[j];
      if (c.harvest != 0 || c.placement != placement) continue;
      const double mass = carbon_in(x.data() + j * pools) / made.job.cohorts[j].carbon;
      if (d == 0) start += mass;
      if (d == day) left += mass;
    }
  });
  return left / start;
}

}  // namespace

TEST_CASE("trial numbers: shares of the start, by hand", "[trial]") {
  const TrialNumbers numbers = numbers_of(bags);
  REQUIRE(numbers.numbers.size() == 6);
  CHECK(numbers.numbers[0].value == Approx(15.0 / 20.0));
  CHECK(numbers.numbers[0].placement == static_cast<int>(Placement::buried));
  CHECK(numbers.numbers[0].component == -1);
  CHECK(numbers.numbers[0].day == 40);
  // stalk and leaf, 3 to 1 by mass, hold 0.75 * 6 + 0.25 * 10 = 7 g/kg of N
  CHECK(numbers.numbers[1].measure == Measure::nitrogen_left);
  CHECK(numbers.numbers[1].value == Approx(0.75 * 0.008 / 0.007));
  CHECK(numbers.warnings.empty());
  const TrialNumbers stalk = numbers_of(
      "treatment,component,days [d],mass left [%],mass left sd [%],n,nitrogen [%],nitrogen left [%]\n"
      "closed,stalk,40,75,4,5,0.8,\n"
      "closed,stalk,40,75,4,5,,91\n");
  CHECK(stalk.numbers[0].sd == Approx(0.04));
  CHECK(stalk.numbers[0].n == 5);
  CHECK(stalk.numbers[1].value == Approx(0.75 * 0.008 / 0.006));  // of the stalk alone
  CHECK(stalk.numbers[3].value == Approx(0.91));
  CHECK(std::isnan(stalk.numbers[3].sd));
}

TEST_CASE("trial numbers: ash correction takes soil out of mass, not of N", "[trial]") {
  const std::string data =
      "treatment,days [d],initial mass [g],mass [g],ash [%],nitrogen [%]\n"
      "closed,40,20,15.0,20,0.8\n";
  const TrialNumbers n = numbers_of(data, "ash_free = true\ninitial_ash = 0.06\n");
  CHECK(n.numbers[0].value == Approx(0.75 * 0.80 / 0.94));
  CHECK(n.numbers[1].value == Approx(0.75 * 0.008 / 0.007));
  CHECK(n.warnings ==
        std::vector<std::string>{"bags.csv: masses are free of ash; what was put in held 6 % of it"});
  // the ash of bags of day 0 where the file states none
  const TrialNumbers by_bags =
      numbers_of(data + "closed,0,20,19.8,5,\nclosed,0,20,20.0,7,\n", "ash_free = true\n");
  CHECK(by_bags.numbers[0].value == Approx(0.75 * 0.80 / 0.94));
  CHECK(mistakes_in([&] { numbers_of(data, "ash_free = true\n"); }) ==
        "fit.toml:3:8: ash_free = true needs initial_ash, the ash of what was put in, or the ash of bags of "
        "day 0");
  CHECK(mistakes_in([&] {
          numbers_of(data + "closed,80,20,14,,\nclosed,90,20,13,,\n",
                     "ash_free = true\ninitial_ash = 0.06\n");
        }) ==
        "bags.csv:3:1: ash_free = true, but bags have a mass and no ash (lines 3 and 4); masses with and "
        "without ash "
        "do not go together");
}

TEST_CASE("trial numbers: bags of day 0 set the start", "[trial]") {
  const std::string data =
      "treatment,placement,days [d],initial mass [g],mass [g],nitrogen [%]\n"
      "closed,buried,0,20,19.6,0.72\n"
      "closed,buried,0,20,19.4,0.76\n"
      "closed,buried,40,20,15.0,0.8\n";
  const TrialNumbers n = numbers_of(data, "handling = true\n");
  REQUIRE(n.numbers.size() == 6);
  CHECK(!n.numbers[0].counts);
  CHECK(n.numbers[4].counts);
  CHECK(n.numbers[4].value == Approx(0.75 / 0.975));
  CHECK(n.numbers[5].value == Approx(0.75 / 0.975 * 0.008 / 0.0074));
  REQUIRE(n.handling.size() == 1);
  CHECK(n.handling[0].loss == Approx(0.025));
  CHECK(n.handling[0].sd == Approx(std::sqrt(2.0) * 0.005));  // of 0.98 and 0.97
  CHECK(mistakes_in([&] { numbers_of(data + "opened,buried,40,20,12,\n", "handling = true\n"); }) ==
        "bags.csv:5:1: handling = true, but 'opened, buried' has no bag of day 0 (days 0, or the date of its "
        "harvest)");
  // else they are numbers like others, and contents that the scenario does not have are told
  const TrialNumbers plain = numbers_of(
      "treatment,placement,days [d],mass left [%],nitrogen [%]\n"
      "closed,buried,0,98,0.9\n");
  CHECK(plain.numbers[0].counts);
  CHECK(plain.warnings ==
        std::vector<std::string>{"bags.csv: bags of day 0 hold 9 g/kg of nitrogen, the scenario 7; set it "
                                 "under [component.NAME], or let "
                                 "these bags set the start with handling = true under [data]"});
}

TEST_CASE("trial numbers: carbon is not counted beside the mass that it follows from", "[trial]") {
  const std::string data = "treatment,days [d],mass left [%],carbon [%]\nclosed,40,75,44\nclosed,40,76,\n";
  const TrialNumbers n = numbers_of(data);
  CHECK(n.numbers[0].counts);
  CHECK(!n.numbers[1].counts);
  CHECK(warns(n.warnings, "carbon of 1 bags is not counted beside their mass"));
  const TrialNumbers listed = numbers_of(data, "measures = [\"carbon\"]\n");
  CHECK(!listed.numbers[0].counts);
  CHECK(listed.numbers[1].counts);
}

TEST_CASE("trial numbers: rows that no harvest laid out", "[trial]") {
  const std::string header = "treatment,placement,days [d],mass left [%]\n";
  CHECK(mistakes_in([&] { numbers_of(header + "closed,standing,40,80\nclosed,buried,300,60\n"); }) ==
        "bags.csv:2:1: the first harvest of the scenario lays out nothing for a bag 'closed long, standing'; "
        "see "
        "placement under [harvest]\n"
        "bags.csv:3:1: pulled on day 300 of a run of 200 days; raise `duration` in trial.toml");
  CHECK(lines_text({7, 3, 3}) == "lines 3 and 7");
  CHECK(lines_text({4}) == "line 4");
  CHECK(lines_text({1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14}) ==
        "lines 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12 and 2 more");
}

TEST_CASE("fit problem: estimates become unknowns with names, starts and targets", "[trial]") {
  const FitProblem p = problem_of(
      "k_hol = {}\n\"k_sol@stalk\" = { start = 0.1 }\nv_mm_d = { vary_by = \"treatment\" }\n"
      "contact = {}\n");
  CHECK(names_of(p) == std::vector<std::string>{"k_hol", "k_sol@stalk", "v_mm_d [closed]", "v_mm_d [opened]",
                                                "contact", "error of mass", "error of nitrogen"});
  CHECK(p.treatments == std::vector<std::string>{"closed long", "opened"});  // `idle` has no bags
  const std::vector<Unknown>& u = p.posterior->unknowns();
  CHECK(u[0].start == find_parameter("k_hol")->value);
  CHECK(u[1].start == 0.1);
  CHECK(u[5].scale == Fit::log);
  CHECK(u[5].start == Approx(0.05));
  REQUIRE(p.targets.size() == u.size());
  CHECK(p.targets[0][0].treatment.empty());
  CHECK(p.targets[1][0].component == "stalk");
  CHECK(p.targets[3][0].parameter == "v_mm_d");
  CHECK(p.targets[3][0].treatment == "opened");
  CHECK(p.targets[5].empty());
  const std::vector<Observation>& seen = p.posterior->model().observations();
  REQUIRE(seen.size() == 6);
  REQUIRE(p.origins.size() == 6);
  CHECK(p.origins[0].bag == p.origins[1].bag);  // mass and N of one bag
  CHECK(p.origins[0].bag != p.origins[2].bag);
  CHECK(p.origins[0].stratum == p.origins[2].stratum);  // replicates
  CHECK(p.origins[3].stratum != p.origins[5].stratum);
  CHECK(p.origins[5].row == 3);
  CHECK(p.origins[5].group == 1);
}

TEST_CASE("fit problem: predictions are those of the scenario with the same values", "[trial]") {
  const FitProblem p = problem_of(
      "k_hol = { start = 0.05 }\n\"k_hol@leaf\" = { start = 0.02 }\n\"v_mm_d@opened\" = { start = 0.5 }\n"
      "k_upt = { start = 1 }\n");
  const auto predicted = p.posterior->predicted(p.posterior->start());
  REQUIRE(predicted);
  const Scenario scenario = read_scenario(small_scenario, "trial.toml",
                                          {"k_hol=0.05", "k_hol@leaf=0.02", "v_mm_d@opened=0.5", "k_upt=1"});
  // the same integration, so only rounding of logarithms and back lies between
  CHECK(predicted->value[0] == Approx(left_by_hand(scenario, 0, Placement::buried, 40)).epsilon(1e-9));
  CHECK(predicted->value[3] == Approx(left_by_hand(scenario, 1, Placement::buried, 40)).epsilon(1e-9));
  CHECK(predicted->value[5] == Approx(left_by_hand(scenario, 1, Placement::surface, 100)).epsilon(1e-9));
}

TEST_CASE("fit problem: bags hold the first harvest, whatever is harvested later and merged", "[trial]") {
  std::string later = small_scenario;
  later.replace(later.find("200 d"), 5, "800 d");
  later.insert(later.find("[treatment.closed]"),
               "[model]\nmerge_after = \"365 d\"\n"
               "[[later_harvest]]\ndate = 2028-10-20\n[[later_harvest]]\ndate = 2029-10-22\n");
  const std::string data =
      "treatment,placement,days [d],mass left [%]\nclosed,buried,780,20\nclosed,buried,100,60\n";
  const FitProblem p = problem_of("k_hol = {}\n", data, later);
  const auto predicted = p.posterior->predicted(p.posterior->start());
  REQUIRE(predicted);
  Scenario unmerged = read_scenario(later, "trial.toml", {});
  unmerged.model.merge_after_d = 40.0 * 365.25;
  CHECK(predicted->value[0] == Approx(left_by_hand(unmerged, 0, Placement::buried, 780)).epsilon(1e-9));
  CHECK(predicted->value[0] < predicted->value[1]);
}

TEST_CASE("fit problem: days at 25 C and wet", "[trial]") {
  const FitProblem p = problem_of("k_hol = {}\n");
  // 20 C, wet: Lloyd and Taylor 1994, Eq. 11: exp(308.56 (1/71.02 - 1/66.02)) = 0.7196 a day, by hand
  CHECK(p.corrected_time_d[0][static_cast<std::size_t>(Placement::buried)].at(10) ==
        Approx(7.196).epsilon(1e-4));
  CHECK(p.corrected_time_d[0][0].size() == 41);
  CHECK(p.corrected_time_d[1][0].size() == 101);
}

TEST_CASE("fit problem: errors as stated, proportional, and effects of blocks", "[trial]") {
  const std::string data =
      "treatment,block,days [d],mass left [%],sd [%],n\n"
      "closed,a,40,75,4,5\nclosed,b,40,71,5,5\nopened,a,40,60,,5\n";
  const auto fit = [&](const std::string& error) {
    const FitPlan plan = read_fit_plan(
        "data = \"bags.csv\"\nscenario = \"trial.toml\"\n[estimate]\nk_hol = {}\n[error]\n" + error,
        "fit.toml");
    return fit_problem(plan, {small_trial(data, plan)});
  };
  CHECK(names_of(fit("mass = \"both\"\nblocks = true\n")) ==
        std::vector<std::string>{"k_hol", "error of mass", "proportional error of mass", "spread of blocks",
                                 "effect of block a", "effect of block b"});
  CHECK(mistakes_in([&] { fit("mass = \"as stated\"\n"); }) ==
        "fit.toml:6:8: mass: \"as stated\", but bags.csv states no sd above 0 (line 4); estimate the error "
        "with "
        "\"absolute\"");
}

TEST_CASE("fit problem: sites of their own, or drawn together", "[trial]") {
  const auto fit = [&](const std::string& how) {
    const FitPlan plan = read_fit_plan(
        "[[trial]]\nsite = \"north\"\ndata = \"n.csv\"\nscenario = \"n.toml\"\n"
        "[[trial]]\nsite = \"south\"\ndata = \"s.csv\"\nscenario = \"s.toml\"\n[estimate]\nk_hol = { vary_by "
        "= \"site\"" +
            how + " }\n",
        "fit.toml");
    std::string other = small_scenario;
    for (std::size_t at = 0; (at = other.find("treatment.opened", at)) != std::string::npos; at += 17)
      other.replace(at, 16, "treatment.ripped");
    const std::string data = "treatment,days [d],mass left [%]\nclosed,40,75\n";
    return fit_problem(plan, {small_trial(data + "opened,40,70\n", plan),
                              small_trial(data + "ripped,40,70\n", plan, other, 1)});
  };
  const FitProblem own = fit("");
  CHECK(names_of(own) == std::vector<std::string>{"k_hol [north]", "k_hol [south]", "error of mass"});
  REQUIRE(own.targets[0].size() == 2);
  CHECK(own.targets[0][0].treatment == "north: closed");  // both sites have a treatment `closed`
  CHECK(own.targets[0][1].treatment == "north: opened");
  CHECK(own.targets[1][1].treatment == "south: ripped");
  CHECK(own.treatment_keys ==
        std::vector<std::string>{"north: closed", "north: opened", "south: closed", "south: ripped"});
  CHECK(own.treatments == std::vector<std::string>{"north: closed long", "north: opened",
                                                   "south: closed long", "south: ripped"});
  CHECK(own.origins[3].site == 1);
  const FitProblem pooled = fit(", pooled = true");
  CHECK(names_of(pooled) == std::vector<std::string>{"k_hol", "spread of k_hol between sites",
                                                     "effect of north on k_hol", "effect of south on k_hol",
                                                     "error of mass"});
  // at effects of zero all sites have the common value
  CHECK(pooled.posterior->model_values(pooled.posterior->start())
            .isApproxToConstant(find_parameter("k_hol")->value, 1e-12));
}

TEST_CASE("fit problem: what the data cannot see is refused", "[trial]") {
  const std::string stalks =
      "treatment,component,days [d],mass left [%]\nclosed,stalk,40,75\nopened,stalk,40,70\n";
  const std::pair<std::string, std::string> cases[] = {
      {mistakes_of("\"k_hol@leaf\" = {}\n", stalks),
       "fit.toml:6:1: k_hol@leaf: no bag holds leaf; leave this estimate out, or give data of it"},
      {mistakes_of("\"k_hol@idle\" = {}\n"),
       "fit.toml:6:1: k_hol@idle: treatment `idle` has no data; leave this estimate out, or give data of it"},
      {mistakes_of("\"k_hol@staik\" = {}\n"),
       "fit.toml:6:1: k_hol@staik: no component or treatment is called `staik`; did you mean 'stalk'?"},
      {mistakes_of("\"contact@leaf\" = {}\n"),
       "fit.toml:6:1: contact@leaf: contact is one value for the whole field; drop @leaf"},
      {mistakes_of("q10 = {}\n"),
       "fit.toml:6:1: q10: nothing that was measured depends on it; leave this estimate out"},
      {mistakes_of("k_hol = {}\n\"k_hol@stalk\" = {}\n\"k_hol@leaf\" = {}\n"),
       "fit.toml:6:1: k_hol: other estimates leave nothing for it"},
      {mistakes_of("v_mm_d = { vary_by = \"treatment\" }\n\"v_mm_d@opened\" = {}\n"),
       "fit.toml:7:1: v_mm_d [opened]: estimated twice, also by `v_mm_d`"},
      {mistakes_of("\"k_hol@opened\" = { vary_by = \"treatment\" }\n"),
       "fit.toml:6:1: k_hol@opened: names opened and varies by treatment; do one of the two"},
      {mistakes_of("k_hol = {}\n", "treatment,days [d],nitrogen [%]\nclosed,40,0.8\n"),
       "bags.csv:1:1: the data hold no number that can be used"},
  };
  for (const auto& [found, wanted] : cases) CHECK(found == wanted);
}

TEST_CASE("fit problem: odd bags are kept and told by line", "[trial]") {
  const std::string data =
      "treatment,placement,replicate,days [d],mass left [%]\n"
      "closed,buried,1,10,90\nclosed,buried,2,10,92\nclosed,buried,3,10,91\nclosed,buried,4,10,112\n"
      "closed,buried,1,50,80\nclosed,buried,2,50,78\nclosed,buried,3,50,81\nclosed,buried,4,50,79\n";
  const FitProblem p = problem_of("k_hol = {}\n", data);
  CHECK(p.posterior->model().observations().size() == 8);
  CHECK(p.warnings ==
        std::vector<std::string>{
            "bags.csv, line 5: far off the others pulled at the same time; nothing is left out, look at it",
            "bags.csv, line 5: more than was put in (soil in the bag? ash_free = true corrects for it); "
            "nothing is "
            "left out, look at it"});
}

TEST_CASE("fit problem: bags outside the weather record are told", "[trial]") {
  const std::string scenario =
      "duration = \"200 d\"\n[weather]\nfile = \"w.csv\"\n"
      "[harvest]\ndate = 2026-10-20\nresidue = \"4 t/ha\"\n"
      "[treatment.closed]\nlabel = \"closed long\"\n";
  const FitPlan plan = plan_of("k_hol = {}\n");
  LoadedTrial trial =
      small_trial("treatment,days [d],mass left [%]\nclosed,40,80\nclosed,100,70\n", plan, scenario);
  trial.climates.weather = {parse_date("2026-10-01"), std::vector<WeatherDay>(365), 42.0, 300.0};
  for (WeatherDay& day : trial.climates.weather.days) {
    day.tmin_C = 5.0;
    day.tmax_C = 15.0;
    day.rain_mm = 2.0;
  }
  CHECK_FALSE(warns(fit_problem(plan, {trial}).warnings, "weather record"));
  trial.climates.weather.start = parse_date("2026-11-01");
  CHECK(warns(
      fit_problem(plan, {trial}).warnings,
      "bags.csv: bags lay out from 2026-10-20 to 2027-01-28, but the weather record holds 2026-11-01 to "
      "2027-10-31 only"));
}

TEST_CASE("fit problem: the invented trial gives its truth back", "[trial]") {
  const auto folder = source_dir() / "scenarios" / "examples";
  const FitPlan plan = read_fit_plan(slurp(folder / "invented-trial.toml"), "invented-trial.toml");
  LoadedTrial trial{
      plan.trials[0], read_scenario(slurp(folder / plan.trials[0].scenario_file), "scenario", {}), {}, {}};
  trial.climates.weather = read_weather(slurp(folder / trial.scenario.weather->file), "weather.csv").weather;
  trial.data =
      read_trial_data(slurp(folder / plan.trials[0].data_file), "bags", treatment_names(trial.scenario));
  CHECK(trial.data.rows.size() == 224);
  const FitProblem p = fit_problem(plan, {trial});
  std::vector<std::size_t> free;
  const LeastSquares problem = p.posterior->least_squares(p.posterior->start(), &free);
  const LeastSquaresFit fit = fit_least_squares(problem, p.posterior->start().head(3));
  CHECK(free == std::vector<std::size_t>{0, 1, 2});
  INFO(fit.x.transpose());
  // k_hol, v_mm_d and contact of the file's header, on their scales. Three standard errors: a right fit
  // misses in one of a hundred seeds, and this one is fixed
  const double truth[] = {std::log(0.030), std::log(0.90), std::log(0.25 / 0.75)};
  const Eigen::MatrixXd covariance = (fit.jacobian.transpose() * fit.jacobian).inverse();
  for (Eigen::Index k = 0; k < 3; ++k) {
    CHECK(std::abs(fit.x[k] - truth[k]) < 3.0 * std::sqrt(covariance(k, k)));
    CHECK(std::sqrt(covariance(k, k)) < 0.5);  // so that the line above can fail
  }
}
