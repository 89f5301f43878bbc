#include "fitting/bounded_linear.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include <Eigen/QR>

namespace stoverturn {
namespace {

bool inside(const Eigen::VectorXd& p, const Eigen::VectorXd& lower, const Eigen::VectorXd& upper) {
  return (p.array() >= lower.array()).all() && (p.array() <= upper.array()).all();
}

struct ActiveSet {
  std::vector<bool> free;

  std::vector<Eigen::Index> columns() const {
    std::vector<Eigen::Index> result;
    for (std::size_t j = 0; j < free.size(); ++j) {
      if (free[j]) result.push_back(static_cast<Eigen::Index>(j));
    }
    return result;
  }
};

/// Moves the free members of p to their unconstrained optimum, or as far as the first bound, which then
/// holds. Returns whether a bound was met.
bool move_free(const Eigen::MatrixXd& A, const Eigen::VectorXd& b, const Eigen::VectorXd& lower,
               const Eigen::VectorXd& upper, Eigen::VectorXd& p, ActiveSet& set) {
  const std::vector<Eigen::Index> columns = set.columns();
  if (columns.empty()) return false;
  const Eigen::MatrixXd part = A(Eigen::all, columns);
  const Eigen::VectorXd move = part.colPivHouseholderQr().solve(b - A * p);
  double share = 1.0;
  Eigen::Index met = -1;
  for (std::size_t k = 0; k < columns.size(); ++k) {
    const Eigen::Index j = columns[k];
    const double step = move[static_cast<Eigen::Index>(k)];
    const double room = step > 0.0 ? upper[j] - p[j] : lower[j] - p[j];
    if (std::abs(step) > std::abs(room) && std::abs(room) <= share * std::abs(step)) {
      share = room / step;
      met = j;
    }
  }
  for (std::size_t k = 0; k < columns.size(); ++k) {
    p[columns[k]] += share * move[static_cast<Eigen::Index>(k)];
  }
  if (met < 0) return false;
  const bool up =
      move[static_cast<Eigen::Index>(std::find(columns.begin(), columns.end(), met) - columns.begin())] > 0.0;
  p[met] = up ? upper[met] : lower[met];
  set.free[static_cast<std::size_t>(met)] = false;
  return true;
}

}  // namespace

Eigen::VectorXd bounded_linear_least_squares(const Eigen::MatrixXd& A, const Eigen::VectorXd& b,
                                             const Eigen::VectorXd& lower, const Eigen::VectorXd& upper) {
  const Eigen::Index n = A.cols();
  Eigen::VectorXd unbounded = A.colPivHouseholderQr().solve(b);
  if (inside(unbounded, lower, upper)) return unbounded;

  Eigen::VectorXd p = Eigen::VectorXd::Zero(n);
  ActiveSet set{std::vector<bool>(static_cast<std::size_t>(n))};
  for (Eigen::Index j = 0; j < n; ++j) {
    set.free[static_cast<std::size_t>(j)] = lower[j] < 0.0 && upper[j] > 0.0;
  }
  const double noise = 16.0 * std::numeric_limits<double>::epsilon() * b.norm();
  std::vector<bool> tried(static_cast<std::size_t>(n), false);
  for (Eigen::Index round = 0; round < 10 * n + 10; ++round) {
    while (move_free(A, b, lower, upper, p, set)) {
    }
    // a parameter on a bound is freed where that lowers |A p - b|
    const Eigen::VectorXd downhill = A.transpose() * (b - A * p);
    Eigen::Index best = -1;
    double most = 0.0;
    for (Eigen::Index j = 0; j < n; ++j) {
      const std::size_t s = static_cast<std::size_t>(j);
      if (set.free[s] || tried[s] || lower[j] == upper[j]) continue;
      const double norm = A.col(j).norm();
      const double inward = p[j] <= lower[j] ? downhill[j] : -downhill[j];
      if (inward > noise * norm && inward > most * norm) {
        most = inward / norm;
        best = j;
      }
    }
    if (best < 0) break;
    const double before = (b - A * p).squaredNorm();
    const Eigen::VectorXd kept = p;
    set.free[static_cast<std::size_t>(best)] = true;
    move_free(A, b, lower, upper, p, set);
    // round-off may call uphill downhill: such a parameter goes back and is not tried again
    if ((b - A * p).squaredNorm() >= before) {
      p = kept;
      set.free[static_cast<std::size_t>(best)] = false;
      tried[static_cast<std::size_t>(best)] = true;
    }
  }
  return p;
}

}  // namespace stoverturn
