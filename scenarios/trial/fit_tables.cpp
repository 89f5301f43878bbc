#include "scenarios/trial/fit_tables.hpp"

#include <cmath>
#include <map>

#include <boost/math/distributions/fisher_f.hpp>

#include "scenarios/trial/derived_quantities.hpp"
#include "scenarios/trial/measure_names.hpp"
#include "scenarios/trial/trial_words.hpp"

namespace stoverturn {
namespace {

std::vector<double> column(const Eigen::VectorXd& values) {
  return {values.data(), values.data() + values.size()};
}

}  // namespace

std::vector<FitResidual> fit_residuals(const FitProblem& problem, const std::vector<LoadedTrial>& trials,
                                       const TrialPosterior::Predicted& predicted) {
  std::vector<FitResidual> residuals;
  const std::vector<Observation>& all = problem.posterior->model().observations();
  for (std::size_t i = 0; i < all.size(); ++i) {
    const Observation& o = all[i];
    const ObservationOrigin& origin = problem.origins[i];
    const TrialData& data = trials[origin.trial].data;
    const TrialRow& row = data.rows[origin.row];
    FitResidual r;
    r.line = row.line;
    r.data = data.name;
    r.treatment = problem.treatments[o.treatment];
    r.placement = row.placement;
    r.component = row.component;
    r.block = row.block;
    r.replicate = row.replicate;
    r.measure = name_of(o.measure).name;
    r.unit = name_of(o.measure).unit;
    r.day = o.day;
    r.observed = o.value;
    r.predicted = predicted.value[static_cast<Eigen::Index>(i)];
    r.sd = predicted.sd[static_cast<Eigen::Index>(i)];
    r.standardised = (r.observed - r.predicted) / r.sd;
    r.suspicious = std::abs(r.standardised) > suspicious_sd;
    residuals.push_back(std::move(r));
  }
  return residuals;
}

std::vector<FitQuality> fit_quality(const FitProblem& problem, const TrialPosterior::Predicted& predicted) {
  std::vector<FitQuality> table;
  const std::vector<Observation>& all = problem.posterior->model().observations();
  for (const CurveKey& key : curve_keys(all)) {
    FitQuality q;
    q.treatment = curve_label(problem, key);
    q.measure = name_of(key.measure).name;
    q.unit = name_of(key.measure).unit;
    double sum = 0.0, squares = 0.0, mean = 0.0;
    for (std::size_t i = 0; i < all.size(); ++i) {
      if (!belongs(all[i], key)) continue;
      const double off = predicted.value[static_cast<Eigen::Index>(i)] - all[i].value;
      ++q.n;
      sum += off;
      squares += off * off;
      mean += all[i].value;
    }
    mean /= q.n;
    double about_mean = 0.0;
    for (const Observation& o : all) {
      if (belongs(o, key)) about_mean += (o.value - mean) * (o.value - mean);
    }
    q.rmse = std::sqrt(squares / q.n);
    q.bias = sum / q.n;
    if (about_mean > 0.0) q.efficiency = 1.0 - squares / about_mean;
    table.push_back(std::move(q));
  }
  return table;
}

LackOfFit lack_of_fit(const FitProblem& problem, const TrialPosterior::Predicted& predicted) {
  struct Pull {
    int n = 0;
    double sum = 0.0, squares = 0.0, predicted = 0.0;
  };
  std::map<int, Pull> pulls;
  const std::vector<Observation>& all = problem.posterior->model().observations();
  for (std::size_t i = 0; i < all.size(); ++i) {
    if (all[i].measure != Measure::mass || all[i].n != 1) continue;
    Pull& pull = pulls[problem.origins[i].stratum];
    ++pull.n;
    pull.sum += all[i].value;
    pull.squares += all[i].value * all[i].value;
    pull.predicted = predicted.value[static_cast<Eigen::Index>(i)];
  }
  double within = 0.0, of_means = 0.0, off = 0.0;
  int bags = 0;
  for (const auto& [stratum, pull] : pulls) {
    const double mean = pull.sum / pull.n;
    within += pull.squares - pull.n * mean * mean;
    of_means += pull.n * (mean - pull.predicted) * (mean - pull.predicted);
    off += (mean - pull.predicted) * (mean - pull.predicted);
    bags += pull.n;
  }
  LackOfFit lack;
  const double means = static_cast<double>(pulls.size());
  const double freedom = means - static_cast<double>(problem.model_unknowns.size());
  if (bags - means < 1.0 || freedom < 1.0 || !(within > 0.0)) return lack;
  lack.of_bags = std::sqrt(within / (bags - means));
  lack.of_means = std::sqrt(off / means);
  lack.F = of_means / freedom / (lack.of_bags * lack.of_bags);
  const boost::math::fisher_f distribution(freedom, bags - means);
  lack.missed = boost::math::cdf(boost::math::complement(distribution, lack.F)) < 0.01;
  return lack;
}

std::vector<FitCurve> fit_curves(const FitProblem& problem, const DailyCurves& curves, double level) {
  std::vector<FitCurve> table;
  for (std::size_t k = 0; k < curves.keys.size(); ++k) {
    if (curves.estimate[k].size() == 0) continue;
    FitCurve c;
    c.treatment = curve_label(problem, curves.keys[k]);
    c.placement = placement_name(curves.keys[k].placement);
    if (curves.keys[k].component >= 0) {
      c.component =
          problem.components[curves.keys[k].treatment][static_cast<std::size_t>(curves.keys[k].component)];
    }
    c.measure = name_of(curves.keys[k].measure).name;
    c.unit = name_of(curves.keys[k].measure).unit;
    c.estimate = column(curves.estimate[k]);
    for (Eigen::Index day = 0; day < curves.draws[k].rows(); ++day) {
      const Central band = central(column(curves.draws[k].row(day).transpose()), level);
      c.lower.push_back(band.lower);
      c.median.push_back(band.median);
      c.upper.push_back(band.upper);
    }
    table.push_back(std::move(c));
  }
  return table;
}

}  // namespace stoverturn
