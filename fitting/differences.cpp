#include "fitting/differences.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace stoverturn {
namespace {

struct Neighbours {
  const Residuals& evaluate;
  Eigen::VectorXd x;
  Eigen::Index j;
  bool ok = true;

  Eigen::VectorXd at(double offset, Eigen::Index residuals) {
    Eigen::VectorXd moved = x, r(residuals);
    moved[j] += offset;
    ok = ok && evaluate(moved, r);
    return r;
  }
};

}  // namespace

LeastSquares with_differences(std::size_t residuals, const Eigen::VectorXd& lower,
                              const Eigen::VectorXd& upper, Residuals evaluate, double step) {
  LeastSquares problem;
  problem.residuals = residuals;
  problem.lower = lower;
  problem.upper = upper;
  problem.evaluate = [=, evaluate = std::move(evaluate)](const Eigen::VectorXd& x, Eigen::VectorXd& r,
                                                         Eigen::MatrixXd* jacobian) {
    if (!evaluate(x, r)) return false;
    if (!jacobian) return true;
    const Eigen::Index n = r.size();
    jacobian->resize(n, x.size());
    for (Eigen::Index j = 0; j < x.size(); ++j) {
      if (lower[j] == upper[j]) {
        jacobian->col(j).setZero();
        continue;
      }
      Neighbours near{evaluate, x, j};
      const double below = x[j] - lower[j], above = upper[j] - x[j];
      const double size = std::abs(x[j]) > 1e-6 ? std::abs(x[j]) : 1.0;
      const double h = std::min(step * size, 0.5 * (upper[j] - lower[j]));
      if (below >= h && above >= h) {
        const Eigen::VectorXd wide = (near.at(h, n) - near.at(-h, n)) / (2.0 * h);
        const Eigen::VectorXd narrow = (near.at(0.5 * h, n) - near.at(-0.5 * h, n)) / h;
        jacobian->col(j) = (4.0 * narrow - wide) / 3.0;
      } else {
        // away from the nearer bound: forward differences at h, h/2, h/4, h/8, extrapolated to the fourth
        // order
        const double side = above >= below ? h : -h;
        Eigen::VectorXd slope[4];
        for (int k = 0; k < 4; ++k) slope[k] = (near.at(std::ldexp(side, -k), n) - r) / std::ldexp(side, -k);
        for (int order = 1; order < 4; ++order) {
          const double weight = std::ldexp(1.0, order);
          for (int k = 3; k >= order; --k) slope[k] = (weight * slope[k] - slope[k - 1]) / (weight - 1.0);
        }
        jacobian->col(j) = slope[3];
      }
      if (!near.ok) return false;
    }
    return true;
  };
  return problem;
}

}  // namespace stoverturn
