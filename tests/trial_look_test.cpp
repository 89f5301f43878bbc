/// A trial before any model.
#include "scenarios/trial/trial_look.hpp"

#include "tests/catch.hpp"
#include "tests/mistakes_in.hpp"
#include "tests/trial_parts.hpp"

using namespace stoverturn;

namespace {

TrialLook look_at(const std::string& data, const std::string& data_section = "") {
  return trial_look({small_trial(data, plan_of("k_hol = {}", data_section))});
}

WelchTerm term(double coefficient, const std::vector<double>& values) {
  const double n = static_cast<double>(values.size());
  double sum = 0.0, squares = 0.0;
  for (const double v : values) sum += v;
  for (const double v : values) squares += (v - sum / n) * (v - sum / n);
  return {coefficient, sum / n, std::sqrt(squares / (n - 1.0)), static_cast<int>(values.size())};
}

}  // namespace

TEST_CASE("look: Welch's interval of Student's sleep data", "[trial]") {
  // Student 1908, Biometrika 6, 1-25, hours of sleep gained; R 4: t.test(extra ~ group, data = sleep) prints
  // df = 17.776, 95 percent confidence interval -3.3654832 0.2054832, means 0.75 and 2.33
  const WelchTerm first = term(1.0, {0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0});
  const WelchTerm second = term(-1.0, {1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4});
  const WelchInterval w = welch({first, second}, 0.95);
  CHECK(w.value == Approx(0.75 - 2.33));
  CHECK(w.freedom == Approx(17.776).epsilon(1e-4));            // printed to five digits
  CHECK(w.between.lower == Approx(-3.3654832).epsilon(1e-7));  // printed to eight
  CHECK(w.between.upper == Approx(0.2054832).epsilon(1e-6));
  // one group is Student's t of its mean: R 4: t.test(sleep$extra[1:10]) prints -0.5297804 2.0297804
  const WelchInterval one = welch({first}, 0.95);
  CHECK(one.freedom == Approx(9.0));
  CHECK(one.between.lower == Approx(-0.5297804).epsilon(1e-6));
  CHECK(one.between.upper == Approx(2.0297804).epsilon(1e-6));
  CHECK(std::isnan(welch({{1.0, 0.5, not_there, 1}}, 0.9).between.lower));
}

TEST_CASE("look: means, differences by pull and over the course", "[trial]") {
  const TrialLook look = look_at(
      "treatment,placement,replicate,days [d],mass left [%]\n"
      "closed,buried,1,40,80\nclosed,buried,2,40,84\nclosed,buried,3,40,82\n"
      "opened,buried,1,40,70\nopened,buried,2,40,74\n"
      "closed,buried,1,80,60\nclosed,buried,2,80,64\n"
      "opened,buried,1,80,50\nopened,buried,2,80,52\n");
  REQUIRE(look.groups.size() == 4);
  CHECK(look.groups[0].treatment == "closed long");
  CHECK(look.groups[0].placement == "buried");
  CHECK(look.groups[0].measure == "mass left");
  CHECK(look.groups[0].n == 3);
  CHECK(look.groups[0].mean == Approx(0.82));
  CHECK(look.groups[0].sd == Approx(0.02));
  CHECK(format_date(look.groups[0].date) == "2027-11-29");
  REQUIRE(look.differences.size() == 3);
  const LookDifference& course = look.differences[0];
  CHECK(course.pull == -1);
  // (0.72 - 0.82 + 0.51 - 0.62) / 2; variances over n: 0.0004/3, 0.0008/2, 0.0008/2, 0.0002/2, over 4 (by
  // hand)
  CHECK(course.difference == Approx(-0.105));
  CHECK(course.n_first == 5);
  CHECK(course.n_second == 4);
  CHECK(course.se == Approx(std::sqrt((0.0004 / 3.0 + 0.0004 + 0.0004 + 0.0001) / 4.0)));
  CHECK(look.differences[1].pull == 40);
  CHECK(look.differences[1].difference == Approx(-0.10));
  CHECK(look.differences[2].difference == Approx(-0.11));
  CHECK(look.differences[2].between.lower < -0.11);
}

TEST_CASE("look: rows that are means keep their bags' scatter", "[trial]") {
  const TrialLook look = look_at(
      "treatment,days [d],mass left [%],sd [%],n\nclosed,40,80,4,3\nclosed,40,86,2,3\nopened,40,70,,4\n");
  REQUIRE(look.groups.size() == 2);
  // within 2 * 16 + 2 * 4, between 3 * 9 + 3 * 9 (percent squared), over 5
  CHECK(look.groups[0].mean == Approx(0.83));
  CHECK(look.groups[0].sd == Approx(0.01 * std::sqrt((40.0 + 54.0) / 5.0)));
  CHECK(std::isnan(look.groups[1].sd));
  CHECK(std::isnan(look.differences.at(0).between.lower));
}

TEST_CASE("look: odd bags, each with its reason, and the loss in handling", "[trial]") {
  std::string data = "treatment,placement,replicate,days [d],mass left [%],nitrogen [%]\n";
  data += "closed,buried,1,0,98,\nclosed,buried,2,0,97,\nclosed,buried,3,0,99,\n";
  data +=
      "closed,buried,1,20,80,0.70\nclosed,buried,2,20,82,0.72\nclosed,buried,3,20,81,2.1\nclosed,buried,4,20,"
      "79,0.71\n";
  data += "closed,buried,1,60,70,\nclosed,buried,2,60,69,\nclosed,buried,3,60,96,\nclosed,buried,4,60,71,\n";
  const TrialLook look = look_at(data);
  REQUIRE(look.handling.size() == 1);
  CHECK(look.handling[0].loss == Approx(0.02));
  std::vector<std::pair<int, Oddity>> found;
  for (const LookOddBag& o : look.odd) {
    if (o.bag.measure == Measure::mass || o.bag.why == Oddity::odd_content)
      found.emplace_back(o.bag.line, o.bag.why);
  }
  CHECK(found == std::vector<std::pair<int, Oddity>>{
                     {7, Oddity::odd_content}, {11, Oddity::off_its_group}, {11, Oddity::gain_after_loss}});
  CHECK(median({3.0, 1.0, 2.0}) == 2.0);
  CHECK(median({4.0, 1.0, 2.0, 3.0}) == 2.5);
}

TEST_CASE("look: the printed page fits and says everything", "[trial]") {
  std::string data = "treatment,placement,replicate,days [d],mass left [%],mineral nitrogen [kg/ha]\n";
  for (const char* treatment : {"closed", "opened"}) {
    for (const int day : {0, 10, 20, 30, 40, 50, 60, 70, 80}) {
      for (int r = 1; r < 4; ++r) {
        data += std::string(treatment) + ",buried," + std::to_string(r) + "," + std::to_string(day) + "," +
                std::to_string(100 - day + r) + (r == 1 ? ",20\n" : ",\n");
      }
    }
  }
  const std::string page = print_look(look_at(data));
  CHECK(page.find("  A   closed long\n  B   opened\n") != std::string::npos);
  CHECK(page.find("mass left, buried, %: mean (sd between bags), n = 3 each") != std::string::npos);
  CHECK(page.find("mineral nitrogen, kg/ha: mean") != std::string::npos);
  CHECK(page.find("92.0 (1.0)") != std::string::npos);
  CHECK(page.find("+0.0 +-1.7") != std::string::npos);  // t(4; 0.95) = 2.132 (any table) * sqrt(2/3)
  CHECK(page.find("Lost between laying out and lifting on day 0") != std::string::npos);
  std::size_t widest = 0;
  for (std::size_t from = 0; from < page.size();) {
    const std::size_t to = page.find('\n', from);
    widest = std::max(widest, to - from);
    from = to + 1;
  }
  CHECK(widest <= 100);
}
