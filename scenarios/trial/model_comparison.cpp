#include "scenarios/trial/model_comparison.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <set>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "fitting/decay_curves.hpp"
#include "fitting/model_choice.hpp"

namespace stoverturn {
namespace {

using Indices = std::vector<std::size_t>;

/// The masses of a problem, and what simple curves need of them.
struct Masses {
  Indices at;  ///< in the observations
  std::vector<double> left, bags, calendar_d, corrected_d;
  std::vector<int> curve, group, site;  ///< curve: number of its treatment, placement and component
  std::size_t size() const { return at.size(); }
  const std::vector<double>& time(bool corrected) const { return corrected ? corrected_d : calendar_d; }
};

Masses masses_of(const FitProblem& problem) {
  const std::vector<Observation>& all = problem.posterior->model().observations();
  std::vector<std::array<int, 3>> curves;
  Masses m;
  for (std::size_t i = 0; i < all.size(); ++i) {
    const Observation& o = all[i];
    if (o.measure != Measure::mass) continue;
    const std::array<int, 3> key = {static_cast<int>(o.treatment), o.placement, o.component};
    const auto found = std::find(curves.begin(), curves.end(), key);
    m.curve.push_back(static_cast<int>(found - curves.begin()));
    if (found == curves.end()) curves.push_back(key);
    m.at.push_back(i);
    m.left.push_back(o.value);
    m.bags.push_back(o.n);
    m.calendar_d.push_back(o.day);
    m.corrected_d.push_back(corrected_time_d(problem, o.treatment, o.placement, o.day));
    m.group.push_back(problem.origins[i].group);
    m.site.push_back(problem.origins[i].site);
  }
  return m;
}

/// Fits one curve to some masses and predicts others; empty where it cannot be fitted.
std::vector<double> fit_and_predict(Curve curve, const Masses& m, bool corrected, const Indices& known,
                                    const Indices& wanted) {
  const std::vector<double>& time = m.time(corrected);
  DecayData data;
  for (const std::size_t i : known) {
    data.time.push_back(time[i]);
    data.left.push_back(m.left[i]);
    data.sd.push_back(1.0 / std::sqrt(m.bags[i]));
  }
  const std::set<double> times(data.time.begin(), data.time.end());
  if (times.size() < curve_parameters(curve).size() + 1) return {};
  CurveOptions options;
  options.estimate_start = false;
  const CurveFit fit = fit_curve(curve, data, options);
  if (!std::isfinite(fit.fit.cost)) return {};
  std::vector<double> predictions;
  for (const std::size_t i : wanted) predictions.push_back(predicted(fit, options, time[i]));
  return predictions;
}

/// Fills rmse, AICc and BIC for normal errors of one size, estimated.
void judge_fit(const Masses& m, const std::vector<double>& predictions, int parameters,
               ComparedModel& model) {
  const double n = static_cast<double>(m.size());
  double squares = 0.0, weighted = 0.0, log_bags = 0.0;
  for (std::size_t i = 0; i < m.size(); ++i) {
    const double r = m.left[i] - predictions[i];
    squares += r * r;
    weighted += m.bags[i] * r * r;
    log_bags += std::log(m.bags[i]);
  }
  const double log_likelihood =
      -0.5 * n * (std::log(2.0 * std::numbers::pi * weighted / n) + 1.0) + 0.5 * log_bags;
  const InformationCriteria criteria =
      information_criteria(log_likelihood, parameters + 1, static_cast<int>(m.size()));
  model.parameters = parameters + 1;
  model.rmse = std::sqrt(squares / n);
  model.aicc = criteria.aicc;
  model.bic = criteria.bic;
}

bool several(const std::vector<int>& groups) {
  return std::set<int>(groups.begin(), groups.end()).size() > 1;
}

double left_out(const std::vector<int>& groups, const Masses& m, const FitAndPredict& fit) {
  if (!several(groups)) return not_there;
  const GroupPrediction prediction = leave_one_group_out(groups, m.left, fit);
  return prediction.failed.empty() ? prediction.overall_rmse : not_there;
}

std::string curve_words(Curve curve) {
  switch (curve) {
    case Curve::exponential:
      return "single exponential";
    case Curve::double_exponential:
      return "double exponential";
    case Curve::asymptotic:
      return "asymptotic";
    default:
      return "Weibull";
  }
}

constexpr const char* time_words(bool corrected) { return corrected ? "25 C days" : "days"; }

ComparedModel one_for_all(Curve curve, const Masses& m, bool corrected) {
  ComparedModel model;
  model.name = fmt::format("{}, {}, one for all", curve_words(curve), time_words(corrected));
  Indices all(m.size());
  for (std::size_t i = 0; i < all.size(); ++i) all[i] = i;
  const std::vector<double> predictions = fit_and_predict(curve, m, corrected, all, all);
  if (predictions.empty()) {
    model.remark = "too few dates";
    return model;
  }
  judge_fit(m, predictions, static_cast<int>(curve_parameters(curve).size()), model);
  const FitAndPredict again = [&](const Indices& known, const Indices& wanted) {
    return fit_and_predict(curve, m, corrected, known, wanted);
  };
  model.left_out_treatment = left_out(m.group, m, again);
  model.left_out_site = left_out(m.site, m, again);
  return model;
}

ComparedModel one_for_each(Curve curve, const Masses& m, bool corrected) {
  ComparedModel model;
  model.name = fmt::format("{}, {}, one each", curve_words(curve), time_words(corrected));
  std::vector<double> predictions(m.size());
  const int curves = *std::max_element(m.curve.begin(), m.curve.end()) + 1;
  for (int c = 0; c < curves; ++c) {
    Indices mine;
    for (std::size_t i = 0; i < m.size(); ++i) {
      if (m.curve[i] == c) mine.push_back(i);
    }
    const std::vector<double> part = fit_and_predict(curve, m, corrected, mine, mine);
    if (part.empty()) {
      model.remark = "too few dates";
      return model;
    }
    for (std::size_t i = 0; i < mine.size(); ++i) predictions[mine[i]] = part[i];
  }
  judge_fit(m, predictions, curves * static_cast<int>(curve_parameters(curve).size()), model);
  return model;
}

bool differs_by_treatment(const FitProblem& problem) {
  for (const std::vector<FitTarget>& targets : problem.targets) {
    for (const FitTarget& target : targets) {
      if (!target.treatment.empty()) return true;
    }
  }
  return false;
}

ComparedModel this_model(const FitProblem& problem, const Masses& m, const Eigen::VectorXd& predicted,
                         const MassUnknowns& unknowns, const WeightedPredictions& refit) {
  ComparedModel model;
  model.name = this_model_name;
  std::vector<double> predictions;
  for (const std::size_t i : m.at) predictions.push_back(predicted[static_cast<Eigen::Index>(i)]);
  judge_fit(m, predictions, unknowns.count, model);
  if (!unknowns.without.empty()) {
    model.remark =
        fmt::format("{} not counted, told by other measures than mass", fmt::join(unknowns.without, ", "));
  }
  if (!refit) return model;
  const std::vector<Observation>& all = problem.posterior->model().observations();
  const auto without = [&](bool by_site) {
    return [&, by_site](const Indices&, const Indices& wanted) -> std::vector<double> {
      const ObservationOrigin& out = problem.origins[m.at[wanted.front()]];
      std::vector<double> weights(all.size(), 1.0);
      for (std::size_t i = 0; i < all.size(); ++i) {
        const ObservationOrigin& o = problem.origins[i];
        if (by_site ? o.site == out.site : o.group == out.group) weights[i] = 0.0;
      }
      const Eigen::VectorXd values = refit(weights);
      if (values.size() == 0) return {};
      std::vector<double> answer;
      for (const std::size_t i : wanted) answer.push_back(values[static_cast<Eigen::Index>(m.at[i])]);
      return answer;
    };
  };
  if (!differs_by_treatment(problem)) model.left_out_treatment = left_out(m.group, m, without(false));
  model.left_out_site = left_out(m.site, m, without(true));
  return model;
}

}  // namespace

std::vector<ComparedModel> compared_models(const FitProblem& problem, const Eigen::VectorXd& predicted,
                                           const MassUnknowns& unknowns, const WeightedPredictions& refit) {
  const Masses m = masses_of(problem);
  if (m.size() < 3) return {};
  std::vector<ComparedModel> models = {this_model(problem, m, predicted, unknowns, refit)};
  const bool can_correct =
      std::none_of(m.corrected_d.begin(), m.corrected_d.end(), [](double time) { return std::isnan(time); });
  for (const bool corrected : {false, true}) {
    if (corrected && !can_correct) continue;
    for (const Curve curve :
         {Curve::exponential, Curve::double_exponential, Curve::asymptotic, Curve::weibull}) {
      models.push_back(one_for_each(curve, m, corrected));
      if (several(m.curve)) models.push_back(one_for_all(curve, m, corrected));
    }
  }
  std::vector<double> criteria;
  for (const ComparedModel& model : models) {
    criteria.push_back(std::isnan(model.aicc) ? std::numeric_limits<double>::infinity() : model.aicc);
  }
  const std::vector<double> weights = akaike_weights(criteria);
  for (std::size_t i = 0; i < models.size(); ++i) models[i].weight = weights[i];
  return models;
}

}  // namespace stoverturn
