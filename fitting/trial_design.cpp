#include "fitting/trial_design.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <boost/random/normal_distribution.hpp>

#include "engine/random_stream.hpp"
#include "fitting/covariance.hpp"
#include "fitting/least_squares.hpp"

namespace stoverturn {
namespace {

/// Below this share of the largest a pivot is a direction that is not seen.
constexpr double open_direction = 1e-12;

Eigen::MatrixXd information_of(const DesignProblem& problem, const Design& design, std::size_t draw) {
  Eigen::MatrixXd sum = problem.prior;
  for (const std::size_t day : design.days) sum += design.replicates * problem.information[draw][day];
  return sum;
}

/// Inverse, with unknowns in units that make the diagonal 1; empty where it has none.
Eigen::MatrixXd inverse_of(const Eigen::MatrixXd& information) {
  const Eigen::VectorXd root = information.diagonal().cwiseSqrt();
  if (!(root.minCoeff() > 0.0)) return {};
  const Eigen::VectorXd unit = root.cwiseInverse();
  const Eigen::MatrixXd scaled = unit.asDiagonal() * information * unit.asDiagonal();
  const Eigen::LDLT<Eigen::MatrixXd> factors(scaled);
  if (factors.info() != Eigen::Success || factors.vectorD().minCoeff() < open_direction) return {};
  const Eigen::MatrixXd inverse = factors.solve(Eigen::MatrixXd::Identity(scaled.rows(), scaled.cols()));
  return unit.asDiagonal() * inverse * unit.asDiagonal();
}

/// A square root L of the precision, L'L; also where directions are open.
Eigen::MatrixXd root_of(const Eigen::MatrixXd& precision) {
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> solver(precision);
  return solver.eigenvalues().cwiseMax(0.0).cwiseSqrt().asDiagonal() * solver.eigenvectors().transpose();
}

struct Exchange {
  double score;
  std::size_t out, in;
};

Exchange best_exchange(const DesignProblem& problem, const Design& design, std::size_t candidates,
                       double score) {
  Exchange best{score, 0, 0};
  for (std::size_t out = 0; out < design.days.size(); ++out) {
    for (std::size_t in = 0; in < candidates; ++in) {
      if (std::find(design.days.begin(), design.days.end(), in) != design.days.end()) continue;
      Design tried = design;
      tried.days[out] = in;
      const double found = design_score(problem, tried);
      if (found < best.score) best = {found, out, in};
    }
  }
  return best;
}

}  // namespace

Eigen::MatrixXd design_covariance(const DesignProblem& problem, const Design& design, std::size_t draw) {
  return inverse_of(information_of(problem, design, draw));
}

double design_score(const DesignProblem& problem, const Design& design) {
  double sum = 0.0;
  for (std::size_t draw = 0; draw < problem.information.size(); ++draw) {
    const Eigen::MatrixXd covariance = design_covariance(problem, design, draw);
    if (covariance.size() == 0) return std::numeric_limits<double>::infinity();
    sum += 0.5 * covariance.diagonal().array().log().mean();
  }
  return sum / static_cast<double>(problem.information.size());
}

DesignSearch best_days(const DesignProblem& problem, const Design& start, std::size_t candidates) {
  constexpr double least_gain = 1e-9;  // of the score: less is round-off
  DesignSearch search{start, design_score(problem, start), 0};
  for (;;) {
    const Exchange found = best_exchange(problem, search.design, candidates, search.score);
    if (!(found.score < search.score - least_gain)) break;
    search.design.days[found.out] = found.in;
    search.score = found.score;
    ++search.exchanges;
  }
  std::sort(search.design.days.begin(), search.design.days.end());
  return search;
}

InventedFits fit_invented(const LeastSquares& predicted, const Eigen::VectorXd& prior_mean,
                          const Eigen::MatrixXd& prior, const Eigen::MatrixXd& truths, std::uint64_t seed,
                          const ForEach& for_each) {
  const Eigen::MatrixXd root = root_of(prior);
  const Eigen::Index n = static_cast<Eigen::Index>(predicted.residuals), k = root.rows();
  InventedFits fits{
      truths,
      Eigen::MatrixXd::Constant(truths.rows(), truths.cols(), std::numeric_limits<double>::quiet_NaN()),
      std::vector<Eigen::MatrixXd>(static_cast<std::size_t>(truths.cols()))};
  for_each(static_cast<std::size_t>(truths.cols()), [&](std::size_t trial) {
    const Eigen::VectorXd truth = truths.col(static_cast<Eigen::Index>(trial));
    Eigen::VectorXd measured;
    if (!predicted.evaluate(truth, measured, nullptr)) return;
    RandomStream stream = random_stream(seed, "errors of an invented trial", trial);
    boost::random::normal_distribution<double> normal;
    for (double& m : measured) m += normal(stream);
    LeastSquares problem = predicted;
    problem.residuals = static_cast<std::size_t>(n + k);
    problem.evaluate = [&](const Eigen::VectorXd& z, Eigen::VectorXd& r, Eigen::MatrixXd* jacobian) {
      Eigen::VectorXd values;
      Eigen::MatrixXd slopes;
      if (!predicted.evaluate(z, values, jacobian ? &slopes : nullptr)) return false;
      r.resize(n + k);
      r << values - measured, root * (z - prior_mean);
      if (!jacobian) return true;
      jacobian->resize(n + k, z.size());
      *jacobian << slopes, root;
      return true;
    };
    const LeastSquaresFit fit = fit_least_squares(problem, truth);
    if (fit.stop != Stop::converged) return;
    const Covariance covariance = covariance_of(fit, Spread::known);
    if (!covariance.ok) return;
    fits.estimate.col(static_cast<Eigen::Index>(trial)) = fit.x;
    fits.covariance[trial] = covariance.matrix;
  });
  return fits;
}

}  // namespace stoverturn
