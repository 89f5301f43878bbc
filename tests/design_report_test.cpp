/// The plan of a trial, in jars at constant conditions.
#include "scenarios/design/design_report.hpp"

#include <set>

#include "scenarios/design/design_print.hpp"
#include "scenarios/design/design_tables.hpp"
#include "tests/catch.hpp"
#include "tests/mistakes_in.hpp"
#include "tests/stand_reference.hpp"
#include "tests/trial_parts.hpp"

using namespace stoverturn;

namespace {

const std::string trial_table =
    "[trial]\nbags = 64\ntreatments = [\"closed\", \"opened\"]\nplacements = [\"surface\", \"buried\"]\n"
    "replicates = 4\nweighing = \"0.2 g\"\nbetween_bags = \"5 %\"\nlast = \"196 d\"\ndraws = 8\n";
const std::string rates = "[estimate]\nk_hol = { vary_by = \"treatment\" }\ncontact = {}\n";
const std::string difference =
    "[trial.difference]\nbetween = [\"opened\", \"closed\"]\nmass = \"5 %\"\nafter = \"100 d\"\n"
    "parameter = \"k_hol\"\nlarger_by = \"50 %\"\n";

DesignPlan plan_with(const std::string& rest, const std::vector<std::string>& overrides = {}) {
  return read_design_plan("scenario = \"trial.toml\"\n" + rest, "plan.toml", overrides);
}

DesignReport report_of(const std::string& rest, const std::vector<std::string>& overrides = {},
                       const ForEach& for_each = one_after_the_other) {
  const DesignPlan plan = plan_with(rest, overrides);
  return design_report(
      plan, design_model(plan, read_scenario(small_scenario, "trial.toml", {}), {}, for_each), for_each);
}

std::string mistakes_of(const std::string& rest) {
  return mistakes_in([&] { report_of(rest); });
}

}  // namespace

TEST_CASE("plan of a trial: best days, widths and power hold in invented trials", "[design]") {
  const DesignReport report = report_of(trial_table + "trials = 60\n" + difference + rates);
  REQUIRE(report.choices.size() == 2);
  CHECK(report.chosen.bags == 64);
  CHECK(report.chosen.days.size() == 4);
  // the search starts from evenly spaced pulls, and there is something to gain
  CHECK(report.choices[1].wider > 1.005);
  CHECK(report.searched.size() == 1);
  CHECK(report.converged == 60);
  for (const DesignEstimate& e : report.estimates) {
    INFO(e.unknown.name);
    CHECK(e.told > 0.0);
    CHECK(e.told < 1.0);
    CHECK(e.interval.lower > e.known.lower);
    // 60 widths scatter by their own standard error; the means over 8 and over 60 draws differ by some more
    CHECK(e.width_ratio == Approx(1.0).margin(0.1 + 3.0 * e.width_ratio_se));
    CHECK(e.held > 0.9 - 3.3 * std::sqrt(0.9 * 0.1 / 60.0));  // once in a thousand
  }
  const DesignPower& rate = report.powers.back();
  CHECK(rate.what == "k_hol");
  CHECK(std::abs(rate.invented - rate.power) < 0.05 + 3.3 * std::sqrt(0.25 / 60.0));
}

TEST_CASE("plan of a trial: power of one pull is R's power.t.test", "[design]") {
  const DesignReport report = report_of(trial_table + "trials = 0\n" + difference + rates);
  const std::vector<double> r = of_R("bags power");
  CHECK(report.powers[0].power == Approx(r[0]).epsilon(1e-8));
  CHECK(report.powers[0].bags_needed == r[1]);
  CHECK(report.powers[0].day == 100);
  // all pulls together, by the model, see more than one of them
  CHECK(report.powers[1].what == "mass left, by the fit");
  CHECK(report.powers[1].power > report.powers[0].power);
  CHECK(std::isfinite(report.scenario_difference));
  CHECK(report.scenario_difference < 0.0);  // of the opened less is left
  CHECK_THAT(print_design(report), contains("Not checked by invented trials"));
}

TEST_CASE("plan of a trial: more bags, narrower; own pulls beside the best", "[design]") {
  const std::string k = "[estimate]\nk_hol = {}\n";
  const DesignReport few = report_of(trial_table + "trials = 0\n" + k);
  const DesignReport more =
      report_of(trial_table + "trials = 0\npulls = [\"20 d\", \"40 d\"]\n" + k, {"trial.bags=128"});
  CHECK(more.estimates[0].interval.upper - more.estimates[0].interval.lower <
        few.estimates[0].interval.upper - few.estimates[0].interval.lower);
  REQUIRE(more.choices.size() == 3);
  CHECK(more.choices[2].name == "own pulls");
  CHECK(more.choices[2].wider > 1.0);
  CHECK(more.estimates[0].own_wider == Approx(more.choices[2].wider));  // of one unknown they are the same
}

TEST_CASE("plan of a trial: the sheet has each bag once and reads back as data", "[design]") {
  const DesignPlan plan = plan_with(trial_table + "trials = 0\nhandling = 2\n" + rates);
  const Scenario scenario = read_scenario(small_scenario, "trial.toml", {});
  const DesignReport report =
      design_report(plan, design_model(plan, scenario, {}, one_after_the_other), one_after_the_other);
  // 2 treatments x 2 placements x (2 handling + 4 replicates x 3 pulls), of 64
  REQUIRE(report.labels.size() == 56);
  CHECK(report.chosen.bags == 56);
  std::set<std::tuple<std::string, std::string, int, int>> bags;
  for (std::size_t i = 0; i < report.labels.size(); ++i) {
    const BagLabel& l = report.labels[i];
    CHECK(l.number == static_cast<int>(i) + 1);
    CHECK(l.date == parse_date("2027-10-20") + std::chrono::days(l.day));
    bags.insert({l.treatment, l.placement, l.replicate, l.day});
    if (i > 0) CHECK(l.replicate >= report.labels[i - 1].replicate);  // replicates are blocks
  }
  CHECK(bags.size() == 56);
  const TrialData sheet = read_trial_data(label_sheet(report.labels), "bags.csv", treatment_names(scenario));
  CHECK(sheet.rows.size() == 56);
  // in random order, another one with another seed
  DesignPlan other = plan;
  other.seed = 2;
  const DesignModel model = design_model(plan, scenario, {}, one_after_the_other);
  const auto order = [&](const DesignPlan& p) { return label_sheet(bag_labels(p, model, {30, 60}, 4)); };
  CHECK(order(plan) == order(plan));
  CHECK(order(plan) != order(other));
}

TEST_CASE("plan of a trial: the same bits in any order of work", "[design]") {
  const ForEach backwards = [](std::size_t n, const std::function<void(std::size_t)>& work) {
    for (std::size_t i = n; i-- > 0;) work(i);
  };
  const std::string plan = trial_table + "trials = 6\n" + difference + rates;
  CHECK(print_design(report_of(plan)) == print_design(report_of(plan, {}, backwards)));
}

TEST_CASE("plan of a trial: mistakes say where, what was found and what was wanted", "[design]") {
  const std::string k = "[estimate]\nk_hol = {}\n";
  const std::pair<std::string, std::string> cases[] = {
      {"[trial]\n" + k, "plan.toml:2:1: [trial] lacks `bags`; write bags = 120, how many can be made"},
      {k, "plan.toml:1:1: the file lacks `trial`; write [trial] with bags = 120"},
      {"[trial]\nbags = 40\nbagmass = \"20 g\"\n" + k,
       "plan.toml:4:1: unknown key `bagmass` in [trial]; did you mean 'bag_mass'?"},
      {"[trial]\nbags = 4\n" + k,
       "plan.toml:2:1: bags = 4 gives no pull; 3 kinds of bags with 3 replicates need 9 a pull"},
      {"[trial]\nbags = 40\ntreatments = [\"clozed\"]\n" + k,
       "plan.toml:2:1: the scenario has no treatment 'clozed'; did you mean 'closed'?"},
      {"[trial]\nbags = 40\nplacements = [\"below\"]\n" + k,
       "plan.toml:4:14: placements: found 'below'; wanted standing, surface or buried"},
      {"[trial]\nbags = 40\nplacements = [\"standing\"]\n" + k,
       "plan.toml:2:1: the first harvest of the scenario lays out nothing for a bag"},
      {"[trial]\nbags = 40\nlast = \"400 d\"\n" + k, "plan.toml:2:1: pulled on day"},
      {"[trial]\nbags = 40\nbetween_bags = \"0 %\"\nweighing = \"0 g\"\n" + k,
       "plan.toml:4:16: between_bags: bags without any error tell everything; wanted an error"},
      {"[trial]\nbags = 40\nkeep_pulls = true\n" + k,
       "plan.toml:4:14: keep_pulls: which? Write pulls = [\"45 d\", \"90 d\"]"},
      {"[trial]\nbags = 40\n[trial.difference]\nbetween = [\"closed\", \"opened\"]\n" + k,
       "plan.toml:5:11: between: of what? Write mass = \"5 %\" (of what was put in), parameter = \"k_hol\", "
       "or both"},
      {"[trial]\nbags = 40\n[trial.difference]\nbetween = [\"closed\", \"opened\"]\nparameter = \"k_hol\"\n" +
           k,
       "plan.toml:4:1: parameter: k_hol is not estimated for each treatment by itself; write k_hol = { "
       "vary_by = "
       "\"treatment\" } under [estimate]"},
      {"[trial]\nbags = 9\npulls = [\"20 d\", \"40 d\"]\nreplicates = 3\n" + k,
       "plan.toml:2:1: pulls: 2 pulls of 3 kinds of bags need 18 bags, and there are 9"},
  };
  for (const auto& [text, wanted] : cases) {
    INFO(text);
    CHECK_THAT(mistakes_of(text), Matchers::StartsWith(wanted));
  }
}
