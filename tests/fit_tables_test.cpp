/// What is computed from a fit: quantiles, derived quantities, quality, comparison; draws; checksums.
#include <cmath>
#include <numbers>

#include "fitting/normal_draws.hpp"
#include "scenarios/files/checksum.hpp"
#include "scenarios/trial/derived_quantities.hpp"
#include "scenarios/trial/fit_tables.hpp"
#include "scenarios/trial/model_comparison.hpp"
#include "tests/catch.hpp"
#include "tests/trial_parts.hpp"

using namespace stoverturn;

namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

Eigen::VectorXd exponential(double k, int days) {
  return (-k * Eigen::VectorXd::LinSpaced(days, 0.0, days - 1.0)).array().exp();
}

const DerivedQuantity& find(const std::vector<DerivedQuantity>& all, const std::string& name,
                            const std::string& treatment) {
  for (const DerivedQuantity& d : all) {
    if (d.name == name && d.treatment == treatment) return d;
  }
  FAIL("no " << name << " of " << treatment);
  return all.front();
}

/// Two treatments on the surface, without simulations; a day of the first is worth half a day at 25 C.
FitProblem two_curves() {
  FitProblem problem;
  problem.treatments = {"closed", "opened"};
  problem.sites = {0, 0};
  problem.components = {{"stalk"}, {"stalk"}};
  problem.corrected_time_d.resize(2);
  for (auto& of_treatment : problem.corrected_time_d) {
    for (int day = 0; day <= 300; ++day) of_treatment[1].push_back(0.5 * day);
  }
  return problem;
}

DailyCurves curves_of(const std::vector<double>& k, const std::vector<int>& last_day, int days) {
  DailyCurves curves;
  for (std::size_t i = 0; i < k.size(); ++i) {
    curves.keys.push_back({i, Measure::mass, -1, 1, last_day[i]});
    curves.days.push_back(days);
    curves.estimate.push_back(exponential(k[i], days));
    curves.draws.emplace_back();
  }
  return curves;
}

/// Masses of two treatments on days 50, 100 and 200, and what else a row needs.
FitProblem problem_of(const std::string& rows,
                      const std::string& head = "treatment,days [d],mass left [%]\n") {
  const FitPlan plan = plan_of("k_hol = {}\n");
  return fit_problem(plan, {small_trial(head + rows, plan)});
}

const ComparedModel& find(const std::vector<ComparedModel>& models, const std::string& name) {
  for (const ComparedModel& m : models) {
    if (m.name == name) return m;
  }
  FAIL("no " << name);
  return models.front();
}

}  // namespace

TEST_CASE("quantiles between neighbours, as R's type 7", "[fit]") {
  // quantile(c(16, 1, 8, 2, 4), p) of R; by hand 1 + 0.4, and 8 + 0.6 * 8
  const std::vector<double> values = {16.0, 1.0, 8.0, 2.0, 4.0};
  CHECK(quantile(values, 0.1) == Approx(1.4));
  CHECK(quantile(values, 0.5) == 4.0);
  CHECK(quantile(values, 0.9) == Approx(12.8));
  CHECK(quantile(values, 0.0) == 1.0);
  CHECK(quantile(values, 1.0) == 16.0);
  CHECK(quantile({3.0}, 0.3) == 3.0);
  CHECK(std::isnan(quantile({}, 0.5)));
  // what failed is left out; what is never reached counts as the largest
  CHECK(quantile({not_there, 2.0, 1.0}, 0.5) == 1.5);
  CHECK(quantile({infinity, 1.0, infinity}, 1.0) == infinity);
  CHECK(quantile({infinity, 1.0, infinity}, 0.75) == infinity);
  const Central c = central(values, 0.8);
  CHECK(c.lower == Approx(1.4));
  CHECK(c.median == 4.0);
  CHECK(c.upper == Approx(12.8));
}

TEST_CASE("derived quantities of exponentials, in closed form", "[fit]") {
  const double slow = 0.004, fast = 0.01;
  DailyCurves curves = curves_of({slow, fast}, {300, 200}, 401);
  const std::vector<DerivedQuantity> derived = derived_quantities(two_curves(), curves, 0.9);
  const auto value = [&](const char* name, const char* treatment) {
    return find(derived, name, treatment).estimate;
  };
  // a straight line within a day is k/8 days off an exponential at most
  CHECK(value("half-life", "closed, surface") == Approx(std::log(2.0) / slow).margin(slow / 8));
  CHECK(value("half-life", "opened, surface") == Approx(std::log(2.0) / fast).margin(fast / 8));
  CHECK(value("time to 95 % lost", "opened, surface") == Approx(std::log(20.0) / fast).margin(fast / 8));
  CHECK(value("time to 95 % lost", "closed, surface") == infinity);  // 749 days, beyond the run
  CHECK(value("decay rate", "closed, surface") == Approx(slow));
  CHECK(value("decay rate at 25 C", "closed, surface") == Approx(2.0 * slow));
  CHECK(value("left after 1 year", "opened, surface") == Approx(100.0 * std::exp(-365.0 * fast)));
  CHECK(find(derived, "left after 1 year", "opened, surface").unit == "%");
  CHECK(value("rate ratio to closed, surface", "opened, surface") == Approx(fast / slow));
  for (const DerivedQuantity& d : derived) {
    CHECK(d.name != "left after 2 years");  // the run is shorter
    CHECK(std::isnan(d.between.lower));     // no draws
  }
}

TEST_CASE("derived quantities: a ratio compares the same days, draw by draw, within a site", "[fit]") {
  DailyCurves curves = curves_of({0.01, 0.01}, {300, 100}, 301);
  // slows down after day 100: over its own 300 days the first would look slower than the second
  for (int day = 101; day <= 300; ++day) curves.estimate[0][day] = curves.estimate[0][100];
  FitProblem problem = two_curves();
  const auto ratio_of = [&] {
    return find(derived_quantities(problem, curves, 0.8), "rate ratio to closed, surface", "opened, surface");
  };
  CHECK(ratio_of().estimate == Approx(1.0));
  // five draws whose rates go together: each ratio is 2, whatever the spread of the rates
  for (std::size_t t = 0; t < 2; ++t) {
    curves.draws[t].resize(301, 6);
    for (Eigen::Index d = 0; d < 5; ++d)
      curves.draws[t].col(d) = exponential((t + 1.0) * 0.002 * (d + 1.0), 301);
    curves.draws[t].col(5).setConstant(not_there);  // a draw that failed
  }
  CHECK(ratio_of().between.lower == Approx(2.0));
  CHECK(ratio_of().between.upper == Approx(2.0));
  const auto derived = derived_quantities(problem, curves, 0.8);
  // rates 0.002 to 0.010; shares 0.1 and 0.9 of five lie 0.4 steps inside
  CHECK(find(derived, "decay rate", "closed, surface").between.lower == Approx(0.0028));
  CHECK(find(derived, "decay rate", "closed, surface").between.upper == Approx(0.0092));
  // half-lives 347, 173, 116, 87, 69: the first is not reached in 300 days, and the failed draw is no draw
  const Between half = find(derived, "half-life", "closed, surface").between;
  CHECK(half.upper == infinity);
  CHECK(half.lower ==
        Approx(std::log(2.0) / 0.010 + 0.4 * std::log(2.0) * (1 / 0.008 - 1 / 0.010)).margin(0.002));
  problem.sites = {0, 1};
  for (const DerivedQuantity& d : derived_quantities(problem, curves, 0.8)) {
    CHECK(d.name.find("ratio") == std::string::npos);
  }
}

TEST_CASE("fitted curves say of what they are", "[fit]") {
  DailyCurves curves = curves_of({0.01, 0.02}, {300, 300}, 301);
  curves.keys[1].component = 0;
  curves.keys[1].placement = -1;
  const std::vector<FitCurve> all = fit_curves(two_curves(), curves, 0.9);
  REQUIRE(all.size() == 2);
  CHECK(all[0].treatment == "closed, surface");
  CHECK(all[0].placement == "surface");
  CHECK(all[0].component.empty());
  CHECK(all[1].treatment == "opened, stalk");
  CHECK(all[1].placement.empty());
  CHECK(all[1].component == "stalk");
  CHECK(all[1].estimate[300] == curves.estimate[1][300]);
}

TEST_CASE("fit quality by hand", "[fit]") {
  const FitProblem problem = problem_of("closed,50,80\nclosed,100,60\nclosed,200,40\nopened,50,70\n");
  TrialPosterior::Predicted predicted;
  predicted.value = (Eigen::VectorXd(4) << 0.82, 0.63, 0.36, 0.70).finished();
  predicted.sd = Eigen::VectorXd::Constant(4, 0.01);
  const std::vector<FitQuality> quality = fit_quality(problem, predicted);
  REQUIRE(quality.size() == 2);
  CHECK(quality[0].treatment == "closed long");
  CHECK(quality[0].n == 3);
  // residuals 2, 3 and -4 %: squares 4 + 9 + 16 = 29; about the mean of 60 %: 400 + 0 + 400
  CHECK(quality[0].rmse == Approx(0.01 * std::sqrt(29.0 / 3.0)));
  CHECK(quality[0].bias == Approx(0.01 / 3.0));
  CHECK(quality[0].efficiency == Approx(1.0 - 29.0 / 800.0));
  CHECK(std::isnan(quality[1].efficiency));  // one number has no spread
  const FitPlan plan = plan_of("k_hol = {}\n");
  const std::vector<LoadedTrial> trials = {small_trial(
      "treatment,days [d],mass left [%]\nclosed,50,80\nclosed,100,60\nclosed,200,40\nopened,50,70\n", plan)};
  const std::vector<FitResidual> residuals = fit_residuals(problem, trials, predicted);
  REQUIRE(residuals.size() == 4);
  CHECK(residuals[2].line == 4);
  CHECK(residuals[2].standardised == Approx(4.0));
  CHECK(residuals[2].suspicious);
  CHECK_FALSE(residuals[1].suspicious);
}

TEST_CASE("lack of fit by hand", "[fit]") {
  const FitProblem problem = problem_of(
      "closed,1,50,80\nclosed,2,50,84\nclosed,1,100,60\nclosed,2,100,64\n"
      "opened,1,50,70\nopened,2,50,74\nopened,1,100,50\nopened,2,100,54\n",
      "treatment,replicate,days [d],mass left [%]\n");
  TrialPosterior::Predicted predicted;
  const Eigen::VectorXd means =
      (Eigen::VectorXd(8) << 0.82, 0.82, 0.62, 0.62, 0.72, 0.72, 0.52, 0.52).finished();
  predicted.value = means.array() - 0.1;
  // four pairs 2 % about their means: 8 x 0.02^2 with 4 degrees of freedom; means off by 0.1: 8 x 0.01 with 3
  LackOfFit lack = lack_of_fit(problem, predicted);
  CHECK(lack.of_bags == Approx(std::sqrt(8.0 * 0.0004 / 4.0)));
  CHECK(lack.of_means == Approx(0.1));
  CHECK(lack.F == Approx(0.08 / 3.0 / 0.0008));
  CHECK(lack.missed);
  predicted.value = means.array() - 0.05;  // F = 8.3; the 1 % point of F(3, 4) is 16.69 in any table
  lack = lack_of_fit(problem, predicted);
  CHECK(lack.F == Approx(0.02 / 3.0 / 0.0008));
  CHECK_FALSE(lack.missed);
}

TEST_CASE("models compared: AICc and BIC by hand", "[fit]") {
  const FitProblem problem =
      problem_of("closed,50,80\nclosed,100,60\nclosed,200,40\nopened,50,70\nopened,100,50\nopened,200,30\n");
  const Eigen::VectorXd predicted =
      (Eigen::VectorXd(6) << 0.82, 0.58, 0.42, 0.68, 0.52, 0.28).finished();  // 2 % off, all
  std::vector<std::vector<double>> asked;
  const WeightedPredictions refit = [&](const std::vector<double>& weights) {
    asked.push_back(weights);
    return Eigen::VectorXd::Constant(6, 0.5).eval();
  };
  const auto models = compared_models(problem, predicted, {1, {"N_structure"}}, refit);
  const ComparedModel& mine = find(models, "this model");
  // -2 log L = 6 (ln(2 pi 0.0004) + 1) = -29.917; with k = 2 (the error size is one)
  const double minus_two = 6.0 * (std::log(2.0 * std::numbers::pi * 0.0004) + 1.0);
  CHECK(minus_two == Approx(-29.917).margin(0.001));
  CHECK(mine.parameters == 2);
  CHECK(mine.rmse == Approx(0.02));
  CHECK(mine.aicc == Approx(minus_two + 4.0 + 12.0 / 3.0));
  CHECK(mine.bic == Approx(minus_two + 2.0 * std::log(6.0)));
  CHECK(mine.remark == "N_structure not counted, told by other measures than mass");
  // each treatment is left out once, and predicted by 0.5
  REQUIRE(asked.size() == 2);
  CHECK(asked[0] == std::vector<double>{0, 0, 0, 1, 1, 1});
  CHECK(asked[1] == std::vector<double>{1, 1, 1, 0, 0, 0});
  CHECK(mine.left_out_treatment == Approx(std::sqrt((0.09 + 0.01 + 0.01 + 0.04 + 0.0 + 0.04) / 6.0)));
  double sum = 0.0;
  for (const ComparedModel& m : models) sum += m.weight;
  CHECK(sum == Approx(1.0));
  // stopped: the rest is there, without what takes new fits
  CHECK(std::isnan(compared_models(problem, predicted, {1, {}}, {}).front().left_out_treatment));
}

TEST_CASE("models compared: curves through exponentials, and what predicts another treatment", "[fit]") {
  const double k[] = {0.004, 0.008};
  std::string rows;
  double squares = 0.0;
  for (int t = 0; t < 2; ++t) {
    for (const int day : {30, 60, 120, 180}) {
      rows += std::string(t == 0 ? "closed," : "opened,") + std::to_string(day) + "," +
              std::to_string(100.0 * std::exp(-k[t] * day)) + "\n";
      squares += std::pow(std::exp(-k[0] * day) - std::exp(-k[1] * day), 2);
    }
  }
  const FitProblem problem = problem_of(rows);
  const auto models = compared_models(problem, Eigen::VectorXd::Constant(8, 0.5), {1, {}}, {});
  const ComparedModel& each = find(models, "single exponential, days, one each");
  CHECK(each.parameters == 3);
  CHECK(each.rmse < 1e-6);  // texts have six decimals of a percent
  CHECK(std::isnan(each.left_out_treatment));
  // with one treatment left out the other's rate is all that is known
  const ComparedModel& all = find(models, "single exponential, days, one for all");
  CHECK(all.parameters == 2);
  CHECK(all.left_out_treatment == Approx(std::sqrt(squares / 8.0)).epsilon(1e-4));
  CHECK(all.rmse > 0.01);
}

TEST_CASE("normal draws: moments, bounds, what is held", "[fit]") {
  const Eigen::Vector3d mean(1.0, -2.0, 5.0);
  Eigen::Matrix3d covariance;
  covariance << 4.0, 1.2, 0.0, 1.2, 1.0, 0.0, 0.0, 0.0, not_there;
  const Eigen::Vector3d far = Eigen::Vector3d::Constant(100.0);
  const Eigen::Index n = 20000;
  const Eigen::MatrixXd draws = normal_draws(mean, covariance, -far, far, 3, n);
  REQUIRE(draws.cols() == n);
  const Eigen::Vector3d average = draws.rowwise().mean();
  const Eigen::MatrixXd off = draws.colwise() - average;
  const Eigen::Matrix3d spread = off * off.transpose() / (n - 1.0);
  // four standard errors of a mean (sd / root n) and of a covariance (root((1 + rho^2) v1 v2 / n))
  CHECK(average[0] == Approx(1.0).margin(4 * 2.0 / std::sqrt(n)));
  CHECK(average[1] == Approx(-2.0).margin(4 * 1.0 / std::sqrt(n)));
  CHECK(spread(0, 0) == Approx(4.0).margin(4 * 4.0 * std::sqrt(2.0 / n)));
  CHECK(spread(0, 1) == Approx(1.2).margin(4 * 2.0 * std::sqrt(1.36 / n)));
  CHECK((draws.row(2).array() == 5.0).all());
  // each draw by its number alone
  CHECK(normal_draws(mean, covariance, -far, far, 3, 10) == draws.leftCols(10));
  CHECK(normal_draws(mean, covariance, -far, far, 4, 10) != draws.leftCols(10));
  // cut off below the mean: a half normal, whose mean lies sd root(2 / pi) above
  Eigen::Vector3d lower = -far;
  lower[0] = 1.0;
  const Eigen::MatrixXd half = normal_draws(mean, covariance, lower, far, 3, n);
  REQUIRE(half.cols() == n);
  CHECK(half.row(0).minCoeff() >= 1.0);
  CHECK(half.row(0).mean() ==
        Approx(1.0 + 2.0 * std::sqrt(2.0 / std::numbers::pi)).margin(4 * 1.21 / std::sqrt(n)));
  lower[0] = 50.0;  // 24 standard deviations away: no point ever
  CHECK(normal_draws(mean, covariance, lower, far, 3, 10).cols() == 0);
}

TEST_CASE("SHA-256 of the examples of the standard", "[fit]") {
  // FIPS 180-2, appendix B (1 to 3); of the empty text from NIST's example algorithms page, from memory
  CHECK(sha256("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  CHECK(sha256("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq") ==
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
  CHECK(sha256(std::string(1000000, 'a')) ==
        "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
  CHECK(sha256("") == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}
