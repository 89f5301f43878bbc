#include "fitting/covariance.hpp"

#include <cmath>

#include <Eigen/Eigenvalues>
#include <Eigen/SVD>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>

namespace stoverturn {
namespace {

constexpr double missing = std::numeric_limits<double>::quiet_NaN();

std::vector<Eigen::Index> free_parameters(const std::vector<Bound>& on_bound) {
  std::vector<Eigen::Index> free;
  for (std::size_t j = 0; j < on_bound.size(); ++j) {
    if (on_bound[j] == Bound::none) free.push_back(static_cast<Eigen::Index>(j));
  }
  return free;
}

Covariance empty_for(const std::vector<Bound>& on_bound) {
  Covariance result;
  const Eigen::Index n = static_cast<Eigen::Index>(on_bound.size());
  for (const Bound bound : on_bound) result.held.push_back(bound != Bound::none);
  result.matrix.setConstant(n, n, missing);
  result.correlation.setConstant(n, n, missing);
  result.se.setConstant(n, missing);
  return result;
}

/// Fills in the result from the covariance of the free parameters.
void spread_out(const Eigen::MatrixXd& matrix, const std::vector<Eigen::Index>& free, Covariance& result) {
  result.ok = true;
  const Eigen::VectorXd se = matrix.diagonal().cwiseSqrt();
  result.matrix(free, free) = matrix;
  result.se(free) = se;
  result.correlation(free, free) = se.cwiseInverse().asDiagonal() * matrix * se.cwiseInverse().asDiagonal();
}

void say_blind(const Eigen::VectorXd& scaled, const Eigen::VectorXd& lengths,
               const std::vector<Eigen::Index>& free, Covariance& result) {
  result.blind.setZero(result.se.size());
  result.blind(free) = scaled.cwiseQuotient(lengths) / scaled.cwiseAbs().maxCoeff();
}

}  // namespace

Covariance covariance_of(const LeastSquaresFit& fit, Spread spread, double blindness) {
  const std::vector<Eigen::Index> free = free_parameters(fit.on_bound);
  Covariance result = empty_for(fit.on_bound);
  const Eigen::Index n = static_cast<Eigen::Index>(free.size());
  if (spread == Spread::estimated) {
    result.freedom = static_cast<int>(fit.residuals.size() - n);
    if (result.freedom < 1) return result;
    result.variance_scale = 2.0 * fit.cost / result.freedom;
  }
  if (n == 0) {
    result.ok = true;
    return result;
  }
  const Eigen::MatrixXd J = fit.jacobian(Eigen::all, free);
  Eigen::VectorXd lengths = J.colwise().norm().transpose();
  lengths = (lengths.array() > 0.0).select(lengths, 1.0);
  const Eigen::JacobiSVD<Eigen::MatrixXd> svd(J * lengths.cwiseInverse().asDiagonal(),
                                              Eigen::ComputeThinU | Eigen::ComputeFullV);
  const Eigen::VectorXd& singular = svd.singularValues();
  result.rank = static_cast<int>((singular.array() > blindness * singular[0]).count());
  if (result.rank < n) {
    say_blind(svd.matrixV().col(n - 1), lengths, free, result);
    return result;
  }
  const Eigen::MatrixXd root =
      lengths.cwiseInverse().asDiagonal() * svd.matrixV() * singular.cwiseInverse().asDiagonal();
  spread_out(result.variance_scale * root * root.transpose(), free, result);
  return result;
}

Covariance covariance_of(const Eigen::MatrixXd& hessian, const std::vector<Bound>& on_bound,
                         double blindness) {
  const std::vector<Eigen::Index> free = free_parameters(on_bound);
  Covariance result = empty_for(on_bound);
  if (free.empty()) {
    result.ok = true;
    return result;
  }
  const Eigen::MatrixXd H = hessian(free, free);
  Eigen::VectorXd lengths = H.diagonal().cwiseAbs().cwiseSqrt();
  lengths = (lengths.array() > 0.0).select(lengths, 1.0);
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> eigen(lengths.cwiseInverse().asDiagonal() * H *
                                                             lengths.cwiseInverse().asDiagonal());
  const Eigen::VectorXd& values = eigen.eigenvalues();  // ascending
  // an eigenvalue is the square of a singular value of the Jacobian, but rounded to the machine's precision
  const double least = std::max(blindness * blindness, 1e-13) * values.cwiseAbs().maxCoeff();
  result.rank = static_cast<int>((values.array() > least).count());
  if (result.rank < values.size()) {
    say_blind(eigen.eigenvectors().col(0), lengths, free, result);
    return result;
  }
  const Eigen::MatrixXd root = lengths.cwiseInverse().asDiagonal() * eigen.eigenvectors() *
                               values.cwiseSqrt().cwiseInverse().asDiagonal();
  spread_out(root * root.transpose(), free, result);
  return result;
}

namespace {
double quantile_of(int freedom, double level) {
  const double p = 0.5 * (1.0 + level);
  if (freedom > 0) return boost::math::quantile(boost::math::students_t(freedom), p);
  return boost::math::quantile(boost::math::normal(), p);
}
}  // namespace

Interval t_interval(double estimate, double se, int freedom, double level) {
  const double half = quantile_of(freedom, level) * se;
  return {estimate - half, estimate + half};
}

Interval log_t_interval(double estimate, double se, int freedom, double level) {
  const double factor = std::exp(quantile_of(freedom, level) * se / estimate);
  return {estimate / factor, estimate * factor};
}

}  // namespace stoverturn
