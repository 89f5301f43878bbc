#include "fitting/identifiability.hpp"

#include <algorithm>
#include <limits>
#include <map>
#include <stdexcept>

#include <Eigen/QR>
#include <Eigen/SVD>

namespace stoverturn {
namespace {

constexpr double nothing = 1e-3;      ///< sd, a change that no data could show
constexpr double blindness = 1e-9;    ///< as in covariance.hpp
constexpr double other_cause = 10.0;  ///< how much worse a set must be than the sets it holds

using Set = std::vector<Eigen::Index>;

/// 1/sqrt(least eigenvalue of S'S) through the least singular value of S.
double index_of(double least) {
  return least > blindness ? 1.0 / least : std::numeric_limits<double>::infinity();
}

/// Sets of `size` of the numbers below n, in order.
std::vector<Set> sets_of(Eigen::Index n, std::size_t size) {
  std::vector<Set> result;
  Set set;
  for (Eigen::Index i = 0; i < static_cast<Eigen::Index>(size); ++i) set.push_back(i);
  while (static_cast<Eigen::Index>(size) <= n) {
    result.push_back(set);
    std::size_t place = size;
    while (place > 0 && set[place - 1] == n - static_cast<Eigen::Index>(size - place) - 1) --place;
    if (place == 0) break;
    ++set[place - 1];
    for (std::size_t i = place; i < size; ++i) set[i] = set[i - 1] + 1;
  }
  return result;
}

/// The largest index of the sets with one unknown less; an index only grows with the set.
double worst_within(const Set& set, const std::map<Set, double>& smaller) {
  double worst = 1.0;
  for (std::size_t left_out = 0; set.size() > 2 && left_out < set.size(); ++left_out) {
    Set part = set;
    part.erase(part.begin() + static_cast<std::ptrdiff_t>(left_out));
    worst = std::max(worst, smaller.at(part));
  }
  return worst;
}

/// `R`: square, its columns of length 1 with the angles of the sensitivities.
std::vector<Collinear> confounded_sets(const Eigen::MatrixXd& R, const std::vector<std::size_t>& seen,
                                       double limit, std::size_t largest_set) {
  std::vector<Collinear> result;
  std::map<Set, double> smaller;
  for (std::size_t size = 2; size <= largest_set; ++size) {
    std::map<Set, double> indices;
    for (const Set& set : sets_of(R.cols(), size)) {
      const Eigen::JacobiSVD<Eigen::MatrixXd> svd(R(Eigen::all, set));
      const double index = index_of(svd.singularValues().minCoeff());
      indices[set] = index;
      const double worst = worst_within(set, smaller);
      if (index <= limit || (worst > limit && !(index > other_cause * worst))) continue;
      Collinear found{{}, index};
      for (const Eigen::Index j : set) found.unknowns.push_back(seen[static_cast<std::size_t>(j)]);
      result.push_back(found);
    }
    smaller = std::move(indices);
  }
  std::stable_sort(result.begin(), result.end(),
                   [](const Collinear& a, const Collinear& b) { return a.index > b.index; });
  return result;
}

}  // namespace

Identifiability identifiability(const Eigen::MatrixXd& jacobian, const Eigen::VectorXd& unit, double limit,
                                std::size_t largest_set) {
  if (unit.size() != jacobian.cols() || jacobian.rows() == 0)
    throw std::invalid_argument("sensitivities need a unit for each unknown, and at least one residual");
  if (!jacobian.allFinite() || !unit.allFinite())
    throw std::invalid_argument("sensitivities and units must be finite");
  Identifiability result;
  const Eigen::VectorXd lengths = jacobian.colwise().norm().transpose();
  const Eigen::VectorXd change = lengths.cwiseProduct(unit.cwiseAbs());
  result.sensitivity = change / std::sqrt(static_cast<double>(jacobian.rows()));
  result.weakest.setZero(jacobian.cols());
  std::vector<std::size_t> seen;
  for (Eigen::Index j = 0; j < jacobian.cols(); ++j) {
    (change[j] < nothing ? result.blind : seen).push_back(static_cast<std::size_t>(j));
  }
  if (seen.empty()) return result;
  const Eigen::Index n = static_cast<Eigen::Index>(seen.size());
  const Eigen::VectorXd length = lengths(seen);
  const Eigen::MatrixXd S = jacobian(Eigen::all, seen) * length.cwiseInverse().asDiagonal();
  const Eigen::HouseholderQR<Eigen::MatrixXd> qr(S);
  const Eigen::Index rows = std::min(n, S.rows());
  Eigen::MatrixXd R = Eigen::MatrixXd::Zero(n, n);
  R.topRows(rows) = qr.matrixQR().topRows(rows).triangularView<Eigen::Upper>();
  const Eigen::JacobiSVD<Eigen::MatrixXd> svd(R, Eigen::ComputeFullV);
  result.eigenvalues = svd.singularValues().cwiseAbs2();
  result.index = index_of(svd.singularValues()[n - 1]);
  const Eigen::VectorXd least = svd.matrixV().col(n - 1);
  result.weakest(seen) = least.cwiseQuotient(length) / least.cwiseAbs().maxCoeff();
  result.confounded = confounded_sets(R, seen, limit, largest_set);
  return result;
}

}  // namespace stoverturn
