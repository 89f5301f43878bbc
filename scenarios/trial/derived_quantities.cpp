#include "scenarios/trial/derived_quantities.hpp"

#include <algorithm>
#include <cmath>
#include <functional>

#include <fmt/format.h>

#include "scenarios/trial/trial_words.hpp"

namespace stoverturn {
namespace {

constexpr double year_d = 365.25;
constexpr double never = std::numeric_limits<double>::infinity();

/// A curve seen by day; of the estimate, or of one draw.
using Curve = Eigen::Ref<const Eigen::VectorXd>;

double time_until(const Curve& left, double share) {
  if (!left.allFinite()) return not_there;  // a draw that failed
  for (Eigen::Index day = 1; day < left.size(); ++day) {
    if (left[day] > share) continue;
    const double fall = left[day - 1] - left[day];
    return static_cast<double>(day) - (fall > 0.0 ? (share - left[day]) / fall : 0.0);
  }
  return never;
}

double rate(const Curve& left, int last_day, double time_d) { return -std::log(left[last_day]) / time_d; }

struct Question {
  std::string name, unit;
  std::function<double(const Curve& left)> answer;
};

std::vector<Question> questions_of(const FitProblem& problem, const CurveKey& key, int days) {
  const int last = key.last_day;
  std::vector<Question> all = {
      {half_life, "d", [](const Curve& left) { return time_until(left, 0.5); }},
      {"time to 95 % lost", "d", [](const Curve& left) { return time_until(left, 0.05); }},
      {decay_rate, "1/d", [last](const Curve& left) { return rate(left, last, last); }}};
  if (const double time = corrected_time_d(problem, key.treatment, key.placement, last); time > 0.0) {
    all.push_back(
        {"decay rate at 25 C", "1/d", [last, time](const Curve& left) { return rate(left, last, time); }});
  }
  for (int year = 1; year <= 2; ++year) {
    const int day = static_cast<int>(year * year_d);
    if (day >= days) break;
    all.push_back({year == 1 ? "left after 1 year" : "left after 2 years", "%",
                   [day](const Curve& left) { return 100.0 * left[day]; }});
  }
  return all;
}

template <class Of>
Between between_draws(const Eigen::MatrixXd& draws, double level, const Of& of) {
  if (draws.cols() == 0) return {};
  std::vector<double> values;
  for (Eigen::Index d = 0; d < draws.cols(); ++d) values.push_back(of(d));
  const Central c = central(values, level);
  return {c.lower, c.upper};
}

DerivedQuantity ratio(const FitProblem& problem, const DailyCurves& curves, std::size_t k, std::size_t first,
                      double level) {
  const CurveKey &mine = curves.keys[k], &other = curves.keys[first];
  DerivedQuantity q;
  q.name = rate_ratio_to + curve_label(problem, other);
  q.treatment = curve_label(problem, mine);
  q.unit = "1";
  const int day = std::min(mine.last_day, other.last_day);  // rates slow down: both over the same time
  const auto of = [&](const Curve& a, const Curve& b) { return rate(a, day, day) / rate(b, day, day); };
  q.estimate = of(curves.estimate[k], curves.estimate[first]);
  q.between = between_draws(curves.draws[k], level, [&](Eigen::Index d) {
    return of(curves.draws[k].col(d), curves.draws[first].col(d));
  });
  return q;
}

}  // namespace

std::string curve_label(const FitProblem& problem, const CurveKey& key) {
  std::string label = problem.treatments[key.treatment];
  if (key.placement >= 0) {
    label += fmt::format(", {}", placement_name(key.placement));
  }
  if (key.component >= 0) {
    label += fmt::format(", {}", problem.components[key.treatment][static_cast<std::size_t>(key.component)]);
  }
  return label;
}

std::vector<DerivedQuantity> derived_quantities(const FitProblem& problem, const DailyCurves& curves,
                                                double level) {
  std::vector<DerivedQuantity> derived;
  std::vector<std::size_t> seen;
  for (std::size_t k = 0; k < curves.keys.size(); ++k) {
    const CurveKey& key = curves.keys[k];
    if (key.measure != Measure::mass || curves.estimate[k].size() == 0 || key.last_day == 0) continue;
    for (const Question& question : questions_of(problem, key, curves.days[k])) {
      DerivedQuantity q;
      q.name = question.name;
      q.treatment = curve_label(problem, key);
      q.unit = question.unit;
      q.estimate = question.answer(curves.estimate[k]);
      q.between = between_draws(curves.draws[k], level,
                                [&](Eigen::Index d) { return question.answer(curves.draws[k].col(d)); });
      derived.push_back(std::move(q));
    }
    const auto first = std::find_if(seen.begin(), seen.end(), [&](std::size_t s) {
      return curves.keys[s].placement == key.placement && curves.keys[s].component == key.component &&
             problem.sites[curves.keys[s].treatment] == problem.sites[key.treatment];
    });
    if (first != seen.end()) derived.push_back(ratio(problem, curves, k, *first, level));
    seen.push_back(k);
  }
  return derived;
}

}  // namespace stoverturn
