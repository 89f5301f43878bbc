#include <algorithm>
#include <cmath>

#include "fitting/identifiability.hpp"
#include "scenarios/fit/fit_work.hpp"
#include "scenarios/trial/identifiability_advice.hpp"

namespace stoverturn {
namespace {

constexpr double negligible = 0.01;  ///< of the error of a bag

}  // namespace

Answers answers(const FitWork& run) {
  Answers a;
  const TrialPosterior& posterior = run.posterior();
  const Eigen::VectorXd& z = run.best.optimum.x;
  const LeastSquares squares = posterior.least_squares(z, &a.unknowns);
  Eigen::VectorXd x(static_cast<Eigen::Index>(a.unknowns.size())), residuals;
  a.unit = x;
  for (std::size_t c = 0; c < a.unknowns.size(); ++c) {
    const Eigen::Index i = static_cast<Eigen::Index>(a.unknowns[c]), at = static_cast<Eigen::Index>(c);
    const Prior& prior = posterior.unknowns()[a.unknowns[c]].prior;
    x[at] = z[i];
    a.unit[at] =
        prior.shape == Prior::Shape::normal ? prior.sd : (posterior.upper()[i] - posterior.lower()[i]) / 6.0;
  }
  Eigen::MatrixXd all;
  const Eigen::Index n = static_cast<Eigen::Index>(posterior.model().observations().size());
  if (squares.evaluate(x, residuals, &all)) a.jacobian = all.topRows(n);
  return a;
}

// of the model's parameters: spreads and effects are held together by their priors.
void what_data_tell(FitWork& run, const Answers& a) {
  if (a.jacobian.size() == 0) return;
  std::vector<std::string> names;
  std::vector<Eigen::Index> columns;
  for (std::size_t c = 0; c < a.unknowns.size(); ++c) {
    if (!run.is_of_model(a.unknowns[c])) continue;
    columns.push_back(static_cast<Eigen::Index>(c));
    names.push_back(run.posterior().unknowns()[a.unknowns[c]].name);
  }
  const Identifiability seen = identifiability(a.jacobian(Eigen::all, columns), a.unit(columns));
  std::vector<std::string>& warnings = run.result.warnings;
  if (!seen.confounded.empty())
    warnings.erase(std::remove(warnings.begin(), warnings.end(), ends_elsewhere), warnings.end());
  for (std::string& sentence : identifiability_sentences(seen, names)) {
    warnings.push_back(std::move(sentence));
  }
}

MassUnknowns mass_unknowns(const FitWork& run, const Answers& a) {
  MassUnknowns of_mass;
  const std::vector<Observation>& all = run.posterior().model().observations();
  for (std::size_t c = 0; c < a.unknowns.size(); ++c) {
    const Eigen::Index at = static_cast<Eigen::Index>(c);
    const double se = run.result.unknowns[a.unknowns[c]].se_on_scale;
    const double step = std::isfinite(se) ? std::min(se, a.unit[at]) : a.unit[at];
    double largest = a.jacobian.size() > 0 ? 0.0 : negligible;
    for (Eigen::Index i = 0; i < a.jacobian.rows(); ++i) {
      if (all[static_cast<std::size_t>(i)].measure != Measure::mass) continue;
      largest = std::max(largest, std::abs(a.jacobian(i, at)) * step);
    }
    if (largest >= negligible) {
      ++of_mass.count;
    } else {
      of_mass.without.push_back(run.posterior().unknowns()[a.unknowns[c]].name);
    }
  }
  return of_mass;
}

}  // namespace stoverturn
