#pragma once
#include <cmath>

#include "scenarios/text/calendar.hpp"
#include "scenarios/trial/fit_result.hpp"
#include "tests/invented_results.hpp"

/// An invented fit with every list filled, awkward texts and values, for tests of what consumes fits.
namespace stoverturn {

inline FittedUnknown invented_unknown(const std::string& name, const std::string& unit, Fit scale,
                                      double estimate, std::vector<FitTarget> targets) {
  FittedUnknown u;
  u.unknown = {name, unit, "meaning of " + name, scale, 1.1 * estimate, 0.1 * estimate, 10.0 * estimate, {}};
  u.targets = std::move(targets);
  u.estimate = estimate;
  u.se_on_scale = 0.1;
  u.curvature = {0.8 * estimate, 1.2 * estimate};
  return u;
}

/// k_hol of all, k_sol by treatment, b_closed of stalks, and the size of an error.
inline FitResult invented_fit(std::size_t draws = 40) {
  FitResult f;
  f.title = "Invented trial: Müller's \"lower, forty\"";
  f.program = "stoverturn 0.1.0";
  f.level = 0.9;
  f.treatments = {"stalks opened ⅓", "left closed"};
  f.treatment_keys = {"opened", "closed"};
  f.unknowns = {
      invented_unknown("k_hol", "1/d", Fit::log, 0.021, {{"k_hol", "", ""}}),
      invented_unknown("k_sol [opened]", "1/d", Fit::log, 0.31, {{"k_sol", "", "opened"}}),
      invented_unknown("k_sol [closed]", "1/d", Fit::log, 0.11, {{"k_sol", "", "closed"}}),
      invented_unknown("b_closed@stalk", "1", Fit::logit, 0.05, {{"b_closed", "stalk", ""}}),
      invented_unknown("error of mass", "1", Fit::log, 0.04, {}),
  };
  f.unknowns[0].unknown.prior = {Prior::Shape::normal, std::log(0.02), 0.5};
  f.unknowns[0].posterior = {0.0171, 0.0262};
  f.unknowns[0].profile = {0.0165, 0.0259};
  f.unknowns[1].bootstrap = {0.24, not_there};
  f.unknowns[3].on_bound = "lower";
  f.unknowns[3].identifiable = "poorly: the data hardly tell it";
  f.unknowns[0].rhat = 1.004;
  f.unknowns[0].ess = 812.0;
  f.log_density = -12.25;
  f.log_likelihood = 31.5;
  f.observations = 96;
  f.converged = true;
  const auto n = static_cast<Eigen::Index>(f.unknowns.size());
  f.covariance = Eigen::MatrixXd::Identity(n, n) * 0.01;
  f.covariance(0, 1) = f.covariance(1, 0) = -1.0 / 3000.0;
  f.draws.resize(n, static_cast<Eigen::Index>(draws));
  for (Eigen::Index i = 0; i < n; ++i) {
    for (Eigen::Index d = 0; d < f.draws.cols(); ++d) {
      // a spread of about 10 %, different for each unknown, no two draws alike
      const double z = std::sin(1.0 + 2.0 * static_cast<double>(i) + 0.7 * static_cast<double>(d));
      f.draws(i, d) = f.unknowns[static_cast<std::size_t>(i)].estimate * (1.0 + 0.1 * z);
    }
  }
  f.draws_are = "posterior";
  f.profiles = {{0, {0.018, 0.021, 0.024}, {1.2, 0.0, 1.1}}, {3, {0.05}, {0.0}}};
  f.stages = {{"multi-start", "8 of 8 starts reached the best cost at one place", 812, 3.25, 12.25},
              {"draws", "all chains agree", 50000, 61.5, not_there}};
  f.derived = {{"half-life", "stalks opened ⅓", "d", 141.0, {128.0, 155.0}},
               {"rate ratio to left closed", "stalks opened ⅓", "1", 2.8, {2.1, 3.9}}};
  f.quality = {{"stalks opened ⅓", "mass", "%", 48, 3.4, -0.2, 0.96},
               {"left closed", "mass", "%", 48, 4.1, 0.6, 0.91}};
  f.models = {
      {"this model", 5, 3.8, -210.2, -198.0, 0.97, 4.6, 6.1, ""},
      {"double exponential, days at 25 C", 6, 4.2, -203.1, -189.5, 0.03, 5.9, not_there, "one site only"}};
  FitResidual r;
  r.line = 17;
  r.data = "trial, north.csv";
  r.treatment = "stalks opened ⅓";
  r.placement = "surface";
  r.component = "stalk";
  r.block = "B1";
  r.replicate = "3";
  r.measure = "mass";
  r.unit = "%";
  r.day = 91.0;
  r.observed = 71.3;
  r.predicted = 70.1;
  r.sd = 4.0;
  r.standardised = 0.3;
  f.residuals = {r, r};
  f.residuals[1].line = 18;
  f.residuals[1].observed = 55.1;
  f.residuals[1].standardised = -3.75;
  f.residuals[1].suspicious = true;
  FitCurve c{"stalks opened ⅓", "surface", "", "mass", "%", {}, {}, {}, {}};
  for (int day = 0; day < 300; ++day) {
    c.estimate.push_back(100.0 * std::exp(-0.004 * day));
    c.median.push_back(c.estimate.back() - 0.1);
    c.lower.push_back(c.estimate.back() - 1.0 / 3.0);
    c.upper.push_back(c.estimate.back() + 1.0 / 7.0);
  }
  f.curves = {c, {"left closed", "surface", "stalk", "mass", "%", {100.0, 99.5, 99.1}, {}, {}, {}}};
  f.start = parse_date("2012-10-20");
  f.warnings = {"b_closed@stalk ended on its lower bound; widen it or fix the parameter."};
  f.methods = {"Invented data were used.", "Nothing else was done."};
  f.texts = {{"fit", two_lines}, {"data trial.csv", "treatment,date\n"}, {"empty", ""}};
  f.checksums = {{"trial.csv", std::string(64, 'a')}};
  return f;
}

}  // namespace stoverturn
