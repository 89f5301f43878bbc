#include "scenarios/report/fit_report.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include <boost/math/distributions/normal.hpp>
#include <boost/math/statistics/bivariate_statistics.hpp>

#include "scenarios/report/fit_charts.hpp"
#include "scenarios/report/fit_curve_names.hpp"
#include "scenarios/report/fit_says.hpp"
#include "tests/catch.hpp"
#include "tests/invented_fit.hpp"

using namespace stoverturn;

namespace {

/// As a fit of a trial with two placements and two measures, one of them an amount of the field.
FitResult trial_fit() {
  FitResult fit = invented_fit();
  fit.level = 0.9;
  fit.treatments = {"closed, long", "opened"};
  fit.residuals.clear();
  fit.curves.clear();
  fit.derived.clear();
  fit.quality.clear();
  double rate = 0.002;
  for (const std::string& treatment : fit.treatments) {
    for (const std::string placement : {"surface", "buried"}) {
      FitCurve curve{treatment + ", " + placement, placement, "", "mass left", "1", {}, {}, {}, {}};
      for (int day = 0; day <= 900; ++day) {
        curve.estimate.push_back(std::exp(-rate * day));
        curve.median.push_back(curve.estimate.back());
        curve.lower.push_back(0.97 * curve.estimate.back());
        curve.upper.push_back(1.03 * curve.estimate.back());
      }
      for (const int day : {50, 200, 400}) {
        FitResidual r;
        r.line = static_cast<int>(fit.residuals.size()) + 2;
        r.data = "north.csv";
        r.treatment = treatment;
        r.placement = placement;
        r.measure = "mass left";
        r.unit = "1";
        r.day = day;
        r.predicted = curve.estimate[static_cast<std::size_t>(day)];
        r.sd = 0.04;
        r.standardised = fit.residuals.size() % 2 == 0 ? 0.5 : -1.25;
        r.observed = r.predicted + r.standardised * r.sd;
        fit.residuals.push_back(r);
      }
      fit.quality.push_back({curve.treatment, "mass left", "1", 3, 0.04, -0.01, 0.9});
      fit.derived.push_back({"half-life",
                             curve.treatment,
                             "d",
                             std::log(2.0) / rate,
                             {0.9 * std::log(2.0) / rate, 1.1 * std::log(2.0) / rate}});
      if (treatment == "opened") {
        fit.derived.push_back(
            {"rate ratio to closed, long, " + placement, curve.treatment, "1", 1.6, {1.3, 1.9}});
      }
      fit.curves.push_back(std::move(curve));
      rate += 0.001;
    }
  }
  FitResidual soil = fit.residuals.front();
  soil.placement.clear();
  soil.measure = "mineral nitrogen";
  soil.unit = "g/m2";
  soil.observed = 5.0;
  soil.predicted = 4.0;
  soil.sd = 0.25;
  soil.standardised = 4.0;
  soil.suspicious = true;
  soil.line = 77;
  fit.residuals.push_back(soil);
  fit.quality.push_back({"closed, long", "mineral nitrogen", "g/m2", 1, 1.0, -1.0, not_there});
  return fit;
}

Report in(FitResult fit, const std::string& units) {
  fit.units = units;
  return report_of_fit(fit);
}

const ReportSection* section(const Report& report, const std::string& name) {
  for (const ReportSection& s : report.sections) {
    if (s.name == name) return &s;
  }
  return nullptr;
}

const Chart& chart(const Report& report, const std::string& name) {
  for (const ReportSection& s : report.sections) {
    for (const Chart& c : s.charts) {
      if (c.name == name) return c;
    }
  }
  FAIL("no chart " << name);
  return report.sections.front().charts.front();
}

std::string all_words(const Report& report) {
  std::string text = report.title + "\n" + report.kind + "\n";
  const auto add = [&](const std::vector<std::string>& words) {
    for (const std::string& w : words) text += w + "\n";
  };
  add(report.about);
  add(report.says);
  for (const ReportSection& s : report.sections) {
    add(s.words);
    for (const Chart& c : s.charts) add({c.title, c.says});
    for (const ReportTable& t : s.tables) {
      add({t.caption});
      add(t.heads);
      for (const auto& row : t.rows) add(row);
    }
  }
  add(report.cautions);
  return text;
}

/// Of a page that people can use: names differ, columns and rows are whole, nothing says NaN.
void check_sound(const FitResult& fit) {
  const Report si = in(fit, "si"), us = in(fit, "us");
  REQUIRE(si.sections.size() == us.sections.size());
  CHECK(si.says.size() == us.says.size());
  CHECK_FALSE(si.says.empty());
  CHECK(si.says.size() <= 3);
  std::set<std::string> names, anchors;
  for (std::size_t s = 0; s < si.sections.size(); ++s) {
    const ReportSection &a = si.sections[s], &b = us.sections[s];
    INFO(a.name);
    CHECK(anchors.insert(a.name).second);
    CHECK(a.name == b.name);
    CHECK(a.words.size() == b.words.size());
    REQUIRE(a.charts.size() == b.charts.size());
    REQUIRE(a.tables.size() == b.tables.size());
    for (std::size_t c = 0; c < a.charts.size(); ++c) {
      INFO(a.charts[c].name);
      CHECK(names.insert(a.charts[c].name).second);
      CHECK_FALSE(a.charts[c].says.empty());
      for (const ChartField& f : a.charts[c].fields)
        CHECK(std::max(f.numbers.size(), f.texts.size()) == a.charts[c].rows());
      CHECK_NOTHROW(chart_json(a.charts[c], b.charts[c]).dump());
    }
    for (std::size_t t = 0; t < a.tables.size(); ++t) {
      CHECK(a.tables[t].rows.size() == b.tables[t].rows.size());
      for (const auto& row : a.tables[t].rows) CHECK(row.size() == a.tables[t].heads.size());
    }
  }
  for (const char* wrong : {"nan", "inf ", "inf)", "inf,"}) {
    INFO(wrong);
    CHECK(all_words(si).find(wrong) == std::string::npos);
  }
}

}  // namespace

TEST_CASE("fit report: alike in both systems, whole for any fit", "[fit][report]") {
  check_sound(trial_fit());
  check_sound(invented_fit());
  check_sound(FitResult{});
  FitResult fit = trial_fit();
  SECTION("without draws, profiles and intervals") {
    fit.draws.resize(0, 0);
    fit.profiles.clear();
    for (FittedUnknown& u : fit.unknowns) {
      u.posterior = u.profile = u.bootstrap = u.curvature = {};
      u.rhat = u.ess = not_there;
    }
    for (FitCurve& c : fit.curves) {
      c.lower.clear();
      c.median.clear();
      c.upper.clear();
    }
    for (DerivedQuantity& d : fit.derived) d.between = {};
    fit.draws_refused = "no minimum, no draws";
    check_sound(fit);
    const Report report = in(fit, "si");
    CHECK(section(report, "draws") == nullptr);
    CHECK(section(report, "estimates")->charts.empty());
    CHECK_THAT(all_words(report), contains("no minimum, no draws"));
    CHECK_THAT(all_words(report), contains("How sure these numbers are is not known"));
    CHECK_THAT(all_words(report), contains("no bands"));
  }
  SECTION("one bag") {
    fit.residuals.resize(1);
    fit.curves.resize(1);
    fit.derived.clear();
    fit.quality.resize(1);
    fit.models.clear();
    fit.treatments.resize(1);
    check_sound(fit);
    CHECK_THAT(in(fit, "si").says.front(), contains("k_hol is 0.0210 1/d (0.0171 to 0.0262)"));
  }
  SECTION("all on bounds, times never reached") {
    for (FittedUnknown& u : fit.unknowns) u.on_bound = "upper";
    for (DerivedQuantity& d : fit.derived) {
      d.estimate = std::numeric_limits<double>::infinity();
      d.between = {d.estimate, d.estimate};
    }
    check_sound(fit);
    CHECK_THAT(all_words(in(fit, "si")), contains("k_hol ended on its upper bound, 0.21"));
  }
  SECTION("draws that do not move, or do not fit the unknowns") {
    fit.draws.setConstant(0.1);
    check_sound(fit);
    CHECK(draws_charts(fit).empty());
    fit.draws.resize(2, 9);
    fit.draws.setConstant(1.0);
    check_sound(fit);
    fit.profiles.push_back({99, {1.0, 2.0}, {0.0, 1.0}});
    fit.residuals[0].day = std::numeric_limits<double>::infinity();
    fit.residuals[1].day = not_there;
    CHECK_NOTHROW(in(fit, "si"));
  }
}

TEST_CASE("fit report: a fit that has not converged says so first, and quotes nothing", "[fit][report]") {
  FitResult fit = trial_fit();
  fit.converged = false;
  check_sound(fit);
  const Report report = in(fit, "si");
  CHECK(report.says.front() == "NOT CONVERGED: do not use these estimates.");
  CHECK(report.sections.front().name == "warnings");
  CHECK(report.sections.front().words.front() == report.says.front());
  for (const std::string& said : report.says) CHECK(said.find("Half was gone") == std::string::npos);
  fit.converged = true;
  fit.warnings.clear();
  CHECK(in(fit, "si").sections.front().name == "data");
}

TEST_CASE("fit report: what is said is written from the numbers", "[fit][report]") {
  FitResult fit = trial_fit();
  const std::vector<std::string> says = fit_says(fit);
  REQUIRE(says.size() == 3);
  // half-lives ln 2 / 0.005 and ln 2 / 0.002; the last bag is of day 400
  CHECK(says[0] ==
        "Half was gone after 139 days (125 to 152) in \"opened, buried\", and after 347 days (312 to 381) in "
        "\"closed, long, surface\": the fastest and the slowest of 4.");
  CHECK(says[1] ==
        "\"opened, surface\" decayed 1.60 (1.30 to 1.90) times as fast as \"closed, long, surface\", the "
        "largest difference. All 2 differences are more than chance.");
  CHECK_THAT(says[2], contains("hold the truth in 90 of 100 such trials"));
  CHECK_THAT(says[2], contains("b_closed@stalk ended on a bound"));
  fit.derived[0].estimate = 520.0;
  fit.derived[3].between = {0.8, 1.9};
  fit.level = 0.95;
  const std::vector<std::string> changed = fit_says(fit);
  CHECK_THAT(changed[0],
             contains("520 days (312 to 381) in \"closed, long, surface\" (a forecast: the last bag "
                      "is of day 400)"));
  CHECK_THAT(changed[1], contains("1 of the 2 differences is more than chance."));
  CHECK_THAT(changed[2], contains("95 of 100"));
  // 100 * 0.04: one standard deviation of a bag, in %
  CHECK_THAT(chart(in(fit, "si"), "data-mass-left").says, contains("lies 4.0 % off by chance"));
  fit.models[0].aicc = -203.6;
  CHECK_THAT(says_of_models(fit).front(), contains("about as well: its AICc is 0.5 lower"));
  fit.models[0].aicc = -190.0;
  CHECK_THAT(says_of_models(fit).front(),
             contains("A simple curve describes the masses better: its AICc is 13.1 higher"));
}

TEST_CASE("fit report: bags and curves of a chart are those of the fit", "[fit][report]") {
  const FitResult fit = trial_fit();
  const Report report = in(fit, "us");
  const Chart& c = chart(report, "data-mass-left");
  CHECK(c.facet == "treatment");
  const auto number = [&](const char* name, std::size_t row) { return c.field(name).numbers[row]; };
  std::size_t bags = 0, days = 0;
  for (std::size_t i = 0; i < c.rows(); ++i) {
    const std::string &treatment = c.field("treatment").texts[i], &where = c.field("place").texts[i];
    if (std::isnan(number("measured", i))) {
      ++days;
      const auto curve = std::find_if(fit.curves.begin(), fit.curves.end(), [&](const FitCurve& f) {
        return f.treatment == treatment + ", " + where;
      });
      REQUIRE(curve != fit.curves.end());
      const auto day = static_cast<std::size_t>(number("day", i));
      CHECK(number("fitted", i) == curve->estimate[day]);
      CHECK(number("fitted_low", i) == curve->lower[day]);
      CHECK(number("fitted_high", i) == curve->upper[day]);
      CHECK(day <= 600);  // half as long again as there are bags
    } else {
      const FitResidual& r = fit.residuals[bags++];
      CHECK(treatment == r.treatment);
      CHECK(where == r.placement);
      CHECK(number("day", i) == r.day);
      CHECK(number("line", i) == r.line);
      CHECK(number("measured", i) == r.observed);
      CHECK(number("measured_high", i) - number("measured", i) == Approx(r.sd));
    }
  }
  CHECK(bags == 12);
  CHECK(days > 4 * 60);
  CHECK(days <= 4 * 400);
  // 100 g/m2 are 1000 kg/ha, and 892.18 lb/acre: 1 lb = 0.45359237 kg, 1 acre = 4046.8564224 m2 (exact)
  const ChartField& soil = chart(report, "data-mineral-nitrogen").field("measured");
  CHECK(soil.numbers.back() == 5.0);
  CHECK(soil.shown.unit == "lb/acre");
  CHECK(soil.shown(100.0) == Approx(100.0 * 4046.8564224 / 453.59237));
  const ReportSection& missed = *section(report, "residuals");
  CHECK_THAT(missed.words.back(), contains("north.csv:77: closed, long, mineral nitrogen on day 50 is 44.61 "
                                           "lb/acre, the fit says 35.69 (4.0 sd)"));
  const Chart& by_day = chart(report, "residuals-day");
  REQUIRE(by_day.rows() == fit.residuals.size());
  for (std::size_t i = 0; i < by_day.rows(); ++i)
    CHECK(by_day.field("standardised").numbers[i] == fit.residuals[i].standardised);
  CHECK(by_day.field("odd").texts.back() == "line 77");
  CHECK(by_day.field("odd").texts.front().empty());
}

TEST_CASE("fit report: labels of older files say where bags lay", "[fit][report]") {
  FitResult fit = trial_fit();
  for (FitCurve& c : fit.curves) c.placement.clear();
  CHECK(place_of(fit, fit.curves[1]).treatment == "closed, long");
  CHECK(place_of(fit, fit.curves[1]).where == "buried");
  CHECK(curve_of(fit, fit.residuals[4]) == &fit.curves[1]);
  CHECK(curve_of(fit, fit.residuals.back()) == nullptr);
}

TEST_CASE("fit report: an interval of a profile ends at the chi-square quantile", "[fit][report]") {
  // a chi-square of one degree of freedom is a squared normal
  const boost::math::normal standard;
  for (const double level : {0.5, 0.9, 0.95, 0.99}) {
    const double z = boost::math::quantile(standard, 0.5 * (1.0 + level));
    CHECK(cost_at_interval(level) == Approx(0.5 * z * z).epsilon(1e-12));  // round-off
  }
  // 2.706 and 3.841: any table of the distribution
  CHECK(2.0 * cost_at_interval(0.90) == Approx(2.706).margin(0.0005));
  CHECK(2.0 * cost_at_interval(0.95) == Approx(3.841).margin(0.0005));
  const Chart c = profile_charts(trial_fit()).front();
  CHECK(c.field("value").numbers == std::vector<double>{0.018, 0.021, 0.024});
  CHECK(c.field("cost").numbers == std::vector<double>{1.2, 0.0, 1.1});
  CHECK(c.spec["concat"].size() == 1);  // one point alone is no profile
  CHECK(c.spec["concat"][0].dump().find(nlohmann::json(cost_at_interval(0.9)).dump()) != std::string::npos);
  CHECK_THAT(c.says, contains("1.353 above the best, lies the 90 % interval: k_hol 0.0165 to 0.0259."));
}

TEST_CASE("fit report: draws in pairs, the most tied unknowns", "[fit][report]") {
  FitResult fit = trial_fit();
  fit.unknowns.push_back(invented_unknown("a", "1", Fit::linear, 1.0, {{"a", "", ""}}));
  fit.unknowns.push_back(invented_unknown("b", "mm/d", Fit::linear, 1.0, {{"b", "", ""}}));
  fit.draws.conservativeResize(7, 1000);
  for (Eigen::Index d = 0; d < 1000; ++d) {
    const double x = static_cast<double>(d);
    for (Eigen::Index i = 0; i < 5; ++i)
      fit.draws(i, d) = 0.05 + 0.01 * std::sin(0.3 * x + 1.3 * static_cast<double>(i));
    fit.draws(5, d) = std::sin(7.1 * x);
    fit.draws(6, d) = -fit.draws(5, d) + 0.2 * std::sin(1.7 * x);
  }
  const Eigen::MatrixXd r = draws_correlation(fit);
  const Eigen::VectorXd a = fit.draws.row(5), b = fit.draws.row(6);
  CHECK(r(5, 6) == Approx(boost::math::statistics::correlation_coefficient(a, b)).epsilon(1e-10));
  CHECK(r(5, 5) == Approx(1.0));
  // of unknowns on a log scale it is that of their logarithms
  const Eigen::VectorXd log0 = fit.draws.row(0).array().log(), log1 = fit.draws.row(1).array().log();
  CHECK(r(0, 1) == Approx(boost::math::statistics::correlation_coefficient(log0, log1)).epsilon(1e-10));
  const Chart c = draws_charts(fit).front();
  CHECK(c.rows() == 300);
  CHECK(c.fields.size() == 5);
  CHECK(c.spec["concat"].size() == 10);
  CHECK(c.field("a").numbers[1] == fit.draws(5, 3));  // every third or fourth: 1 * 1000 / 300
  CHECK(c.field("b").shown.unit == "mm/d");
  CHECK_THAT(c.says, contains("Most tied are a and b: correlation -0.98"));
  CHECK_THAT(c.says, contains("hardly tell the two apart"));
}

TEST_CASE("fit report: names of files pass as they are, as plain text", "[fit][report]") {
  const std::string hostile = "<script>alert('\"&\\')</script>";
  FitResult fit = trial_fit();
  fit.title = hostile;
  fit.treatments = {hostile, "opened"};
  for (std::size_t i = 0; i < 2; ++i) fit.curves[i].treatment = hostile + (i == 0 ? ", surface" : ", buried");
  for (FitResidual& r : fit.residuals) r.treatment = r.treatment == "opened" ? r.treatment : hostile;
  for (FittedUnknown& u : fit.unknowns) u.unknown.name = hostile;
  fit.derived[0].treatment = hostile;
  fit.residuals[0].measure = "\xff[a.b]";  // no UTF-8, and a path in Vega-Lite
  fit.models[1].name = hostile;
  fit.warnings = {hostile};
  fit.profiles[0].unknown = 1;
  const Report report = in(fit, "si");
  CHECK(report.title == hostile);
  CHECK(section(report, "warnings")->words.front() == hostile);
  CHECK(chart(report, "data-mass-left").field("treatment").texts.front() == hostile);
  CHECK(section(report, "estimates")->tables.front().rows.front().front() == hostile);
  for (const ReportSection& s : report.sections) {
    for (const Chart& c : s.charts) {
      std::set<std::string> fields;
      for (const ChartField& f : c.fields) {
        CHECK(fields.insert(f.name).second);
        CHECK(std::all_of(f.name.begin(), f.name.end(), [](char x) { return std::isalnum(x) || x == '_'; }));
      }
      CHECK(std::all_of(c.name.begin(), c.name.end(), [](char x) { return std::isalnum(x) || x == '-'; }));
    }
  }
}

TEST_CASE("fit report: inputs and their checksums go along", "[fit][report]") {
  const FitResult fit = trial_fit();
  const Report report = in(fit, "us");
  CHECK(report.units == "us");
  CHECK(report.program == fit.program);
  REQUIRE(report.texts.size() == fit.texts.size());
  CHECK(report.texts[0].text == two_lines);
  CHECK(report.checksums == fit.checksums);
  CHECK(report.cautions.size() >= 4);
  CHECK_THAT(report.cautions.back(), contains("local rules"));
}
