#include "fitting/model_choice.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <set>
#include <stdexcept>

namespace stoverturn {

InformationCriteria information_criteria(double log_likelihood, int parameters, int observations) {
  InformationCriteria result;
  result.log_likelihood = log_likelihood;
  result.parameters = parameters;
  result.observations = observations;
  const double K = parameters, n = observations, left = n - K - 1.0;
  result.aic = 2.0 * K - 2.0 * log_likelihood;
  result.aicc =
      left > 0.0 ? result.aic + 2.0 * K * (K + 1.0) / left : std::numeric_limits<double>::infinity();
  result.bic = K * std::log(n) - 2.0 * log_likelihood;
  return result;
}

InformationCriteria information_criteria(const LeastSquaresFit& fit, Spread spread,
                                         const std::vector<double>& sd) {
  const double n = static_cast<double>(fit.residuals.size()), squares = 2.0 * fit.cost;
  double log_sd = 0.0;
  for (const double s : sd) log_sd += std::log(s);
  const double constant = -0.5 * n * std::log(2.0 * M_PI) - log_sd;
  const bool known = spread == Spread::known;
  const double log_likelihood = constant - (known ? 0.5 * squares : 0.5 * n * (std::log(squares / n) + 1.0));
  return information_criteria(log_likelihood, static_cast<int>(fit.x.size()) + (known ? 0 : 1),
                              static_cast<int>(n));
}

std::vector<double> akaike_weights(const std::vector<double>& criteria) {
  std::vector<double> weights(criteria.size(), 0.0);
  if (criteria.empty()) return weights;
  const double best = *std::min_element(criteria.begin(), criteria.end());
  if (!std::isfinite(best)) return weights;
  std::transform(criteria.begin(), criteria.end(), weights.begin(),
                 [&](double value) { return std::exp(0.5 * (best - value)); });
  const double sum = std::accumulate(weights.begin(), weights.end(), 0.0);
  for (double& weight : weights) weight /= sum;
  return weights;
}

GroupPrediction leave_one_group_out(const std::vector<int>& groups, const std::vector<double>& observed,
                                    const FitAndPredict& fit) {
  if (groups.size() != observed.size())
    throw std::invalid_argument("groups and observations must be equally many");
  const std::set<int> distinct(groups.begin(), groups.end());
  if (distinct.size() < 2) throw std::invalid_argument("leaving one group out needs two");
  GroupPrediction result;
  double all_squares = 0.0;
  std::vector<double> seen;
  for (const int group : distinct) {
    std::vector<std::size_t> known, wanted;
    for (std::size_t i = 0; i < groups.size(); ++i) (groups[i] == group ? wanted : known).push_back(i);
    const std::vector<double> values = fit(known, wanted);
    result.group.push_back(group);
    if (values.size() != wanted.size() ||
        !std::all_of(values.begin(), values.end(), [](double v) { return std::isfinite(v); })) {
      result.failed.push_back(group);
      result.rmse.push_back(std::numeric_limits<double>::quiet_NaN());
      result.bias.push_back(std::numeric_limits<double>::quiet_NaN());
      continue;
    }
    double squares = 0.0, sum = 0.0;
    for (std::size_t k = 0; k < wanted.size(); ++k) {
      const double miss = values[k] - observed[wanted[k]];
      squares += miss * miss;
      sum += miss;
      seen.push_back(observed[wanted[k]]);
    }
    const double n = static_cast<double>(wanted.size());
    result.rmse.push_back(std::sqrt(squares / n));
    result.bias.push_back(sum / n);
    all_squares += squares;
  }
  result.predicted = seen.size();
  const double n = static_cast<double>(seen.size());
  const double mean = std::accumulate(seen.begin(), seen.end(), 0.0) / n;
  double about_mean = 0.0;
  for (const double value : seen) about_mean += (value - mean) * (value - mean);
  result.overall_rmse = std::sqrt(all_squares / n);
  result.efficiency = 1.0 - all_squares / about_mean;
  return result;
}

}  // namespace stoverturn
