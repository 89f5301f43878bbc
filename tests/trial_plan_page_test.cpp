/// The page of a trial's plan.
#include "scenarios/report/report_of_trial_plan.hpp"

#include <nlohmann/json.hpp>

#include "scenarios/design/design_tables.hpp"
#include "tests/alike_reports.hpp"
#include "tests/trial_parts.hpp"

using namespace stoverturn;

namespace {

const std::string trial_plan =
    "scenario = \"trial.toml\"\n[trial]\nbags = 64\ntreatments = [\"closed\", \"opened\"]\n"
    "placements = [\"surface\", \"buried\"]\nreplicates = 4\nlast = \"196 d\"\ndraws = 4\ntrials = 0\n"
    "handling = 1\n";
const std::string estimate = "[estimate]\nk_hol = { vary_by = \"treatment\" }\ncontact = {}\n";
const std::string difference =
    "[trial.difference]\nbetween = [\"opened\", \"closed\"]\nmass = \"5 %\"\nafter = \"100 d\"\n";

DesignReport plan_report(const std::string& text) {
  const DesignPlan plan = read_design_plan(text, "plan.toml", {});
  return design_report(
      plan, design_model(plan, read_scenario(small_scenario, "trial.toml", {}), {}, one_after_the_other),
      one_after_the_other);
}

TidyFile file_of(const DesignReport& report) {
  return {"an invented plan", std::string(plan_file_kind), design_tables(report), report.notes, {}, {}};
}

}  // namespace

TEST_CASE("plan page: what it shows is what the plan found", "[design][report]") {
  const DesignReport plan = plan_report(trial_plan + difference + estimate);
  const TidyFile file = file_of(plan);
  const Report si = report_of_trial_plan(file, "si"), us = report_of_trial_plan(file, "us");
  check_alike(si, us);

  const Chart& left = chart_in(us, "mass-left");
  CHECK(left.facet == "where");
  // four kinds, day 0 and the days that bags may be pulled on (those of the grid and day 100)
  REQUIRE(left.rows() == numbers_in(file, "curves", "left").size());
  CHECK(left.rows() % 4 == 0);
  std::size_t pulled = 0;
  for (const std::string& text : left.field("pulled").texts) pulled += text == "yes";
  CHECK(pulled == 4 * plan.chosen.days.size());
  for (std::size_t i = 0; i < left.rows(); ++i) {
    CHECK(left.field("lower").numbers[i] <= left.field("left").numbers[i]);
    CHECK(left.field("left").numbers[i] <= left.field("upper").numbers[i]);
  }
  CHECK(left.field("left").numbers.front() == 1.0);
  CHECK(left.field("left").shown(1.0) == 100.0);

  const Chart& sizes = chart_in(us, "sizes");
  for (std::size_t i = 1; i < sizes.rows(); ++i) {  // a pull more never tells less
    CHECK(sizes.field("wider").numbers[i] < sizes.field("wider").numbers[i - 1]);
  }
  // as many pulls as the best: the same search, the same width
  CHECK(sizes.field("wider").numbers[plan.chosen.days.size() - 1] == Approx(1.0).epsilon(1e-12));

  const Chart& power = chart_in(us, "power");
  const auto planned =
      std::find(power.field("planned").texts.begin(), power.field("planned").texts.end(), "yes");
  REQUIRE(planned != power.field("planned").texts.end());
  CHECK(power.field("chance")
            .numbers[static_cast<std::size_t>(planned - power.field("planned").texts.begin())] ==
        Approx(plan.powers.front().power).epsilon(1e-12));

  // 16 kinds x replicates and 4 handling bags, all to be fetched once
  int bags = 0;
  for (const auto& row : us.handout.table.rows)
    bags += row[3].empty() ? 0 : std::stoi(row[3]);  // rows to fill in
  CHECK(bags == static_cast<int>(plan.labels.size()));
  CHECK(us.handout.table.rows.front()[0] == "handling");
  CHECK(us.handout.table.rows.size() == 3 + plan.chosen.days.size());  // handling, and two to fill in
}

TEST_CASE("plan page: words are written from the numbers", "[design][report]") {
  DesignReport plan = plan_report(trial_plan + difference + estimate);
  plan.powers.resize(1);
  plan.powers[0].power = 0.4;
  plan.powers[0].bags_needed = 17;
  const auto says = [&] { return report_of_trial_plan(file_of(plan), "us").says[1]; };
  CHECK(says() ==
        "A difference of 5 points of mass left after 100 days (mass left, bags of one pull) between opened "
        "and "
        "closed shows in 40 of 100 such trials; the other 60 show nothing. For 80 of 100 it takes 17 bags of "
        "each treatment on that day.");
  plan.powers[0].power = 0.93;
  CHECK_THAT(says(), contains("shows in 93 of 100 such trials."));
  plan.searched = {{"3 replicates", 3, 60, {10, 20}, 0.0, 1.2}, {"4 replicates", 4, 64, {10, 20}, 0.0, 1.0}};
  CHECK_THAT(all_words(section_in(report_of_trial_plan(file_of(plan), "us"), "choice")),
             contains("Only one number of replicates comes within 3 % of the best"));
}

TEST_CASE("plan page: tables come back as the plan they were made of", "[design][report]") {
  const DesignReport plan =
      plan_report(trial_plan + "pulls = [\"30 d\", \"90 d\", \"180 d\"]\n" + difference + estimate);
  const TidyFile file = file_of(plan);
  const std::vector<TidyTable> again = design_tables(design_of_tables(file));
  REQUIRE(again.size() == file.tables.size());
  for (std::size_t t = 0; t < again.size(); ++t) {
    INFO(again[t].name);
    CHECK(tidy_csv(again[t]) == tidy_csv(file.tables[t]));
  }
}

TEST_CASE("plan page: files that lack tables", "[design][report]") {
  const TidyFile whole = file_of(plan_report(trial_plan + estimate));  // no difference is asked for
  check_alike(report_of_trial_plan(whole, "si"), report_of_trial_plan(whole, "us"));
  for (std::size_t without = 0; without < whole.tables.size(); ++without) {
    TidyFile lacks = whole;
    INFO(lacks.tables[without].name);
    lacks.tables.erase(lacks.tables.begin() + static_cast<std::ptrdiff_t>(without));
    check_alike(report_of_trial_plan(lacks, "si"), report_of_trial_plan(lacks, "us"));
  }
  const TidyFile empty{"nothing", std::string(plan_file_kind), {}, {}, {}, {}};
  check_alike(report_of_trial_plan(empty, "si"), report_of_trial_plan(empty, "us"));
}
