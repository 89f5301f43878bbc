#include "scenarios/trial/daily_curves.hpp"

#include <algorithm>
#include <cmath>

#include "fitting/quantile.hpp"

namespace stoverturn {

bool belongs(const Observation& o, const CurveKey& key) {
  return o.treatment == key.treatment && o.measure == key.measure && o.component == key.component &&
         o.placement == key.placement;
}

std::vector<CurveKey> curve_keys(const std::vector<Observation>& observations) {
  std::vector<CurveKey> keys;
  for (const Observation& o : observations) {
    auto key = std::find_if(keys.begin(), keys.end(), [&](const CurveKey& k) { return belongs(o, k); });
    if (key == keys.end()) {
      keys.push_back({o.treatment, o.measure, o.component, o.placement, 0});
      key = keys.end() - 1;
    }
    key->last_day = std::max(key->last_day, o.day);
  }
  return keys;
}

DailyCurves daily_curves(const TrialPosterior& posterior, const Eigen::VectorXd& z,
                         const Eigen::MatrixXd& draws) {
  DailyCurves curves;
  curves.keys = curve_keys(posterior.model().observations());
  std::vector<Observation> daily;
  std::vector<Eigen::Index> first;
  for (const CurveKey& key : curves.keys) {
    const int days =
        static_cast<int>(posterior.model().treatments()[key.treatment].plan.drivers->days.size());
    curves.days.push_back(days + 1);
    first.push_back(static_cast<Eigen::Index>(daily.size()));
    for (int day = 0; day <= days; ++day) {
      Observation o;
      o.treatment = key.treatment;
      o.measure = key.measure;
      o.component = key.component;
      o.placement = key.placement;
      o.day = day;
      daily.push_back(o);
    }
  }
  const TrialModel model = posterior.model().measuring(std::move(daily));
  Eigen::VectorXd values;
  const bool ok = model.predict(posterior.model_values(z), values, nullptr);
  Eigen::MatrixXd points(static_cast<Eigen::Index>(model.parameters()), draws.cols()), many;
  for (Eigen::Index d = 0; d < draws.cols(); ++d) points.col(d) = posterior.model_values(draws.col(d));
  if (draws.cols() > 0) model.predict_many(points, many);
  for (std::size_t k = 0; k < curves.keys.size(); ++k) {
    curves.estimate.push_back(ok ? values.segment(first[k], curves.days[k]).eval() : Eigen::VectorXd());
    curves.draws.push_back(draws.cols() > 0 ? many.middleRows(first[k], curves.days[k]).eval()
                                            : Eigen::MatrixXd());
  }
  return curves;
}

namespace {

std::vector<double> sorted_without_nan(std::vector<double> values) {
  values.erase(std::remove_if(values.begin(), values.end(), [](double v) { return std::isnan(v); }),
               values.end());
  std::sort(values.begin(), values.end());
  return values;
}

}  // namespace

double quantile(std::vector<double> values, double share) {
  return quantile_of_sorted(sorted_without_nan(std::move(values)), share);
}

Central central(std::vector<double> values, double level) {
  const std::vector<double> sorted = sorted_without_nan(std::move(values));
  const double tail = 0.5 * (1.0 - level);
  return {quantile_of_sorted(sorted, tail), quantile_of_sorted(sorted, 0.5),
          quantile_of_sorted(sorted, 1.0 - tail)};
}

}  // namespace stoverturn
