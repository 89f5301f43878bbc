#include <algorithm>
#include <cmath>

#include <Eigen/Cholesky>

#include "fitting/bounded_linear.hpp"
#include "fitting/least_squares.hpp"
#include "fitting/minimise.hpp"

namespace stoverturn {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

}  // namespace

double newton_distance(const Eigen::VectorXd& x, const Eigen::VectorXd& gradient,
                       const Eigen::MatrixXd& hessian, const Eigen::VectorXd& lower,
                       const Eigen::VectorXd& upper) {
  // a parameter pressed against its bound takes no part
  std::vector<Eigen::Index> free;
  for (Eigen::Index j = 0; j < x.size(); ++j) {
    const bool pressed = (x[j] <= lower[j] && gradient[j] >= 0.0) || (x[j] >= upper[j] && gradient[j] <= 0.0);
    if (!pressed) free.push_back(j);
  }
  if (free.empty()) return 0.0;
  if (!hessian.size() || !hessian.allFinite() || !gradient.allFinite()) return infinity;
  const Eigen::MatrixXd H = hessian(free, free);
  Eigen::VectorXd size = H.diagonal().cwiseAbs().cwiseSqrt();
  size = (size.array() > 0.0).select(size, 1.0);
  const Eigen::LLT<Eigen::MatrixXd> root(size.cwiseInverse().asDiagonal() * H *
                                         size.cwiseInverse().asDiagonal());
  if (root.info() != Eigen::Success) return infinity;  // a saddle or a flat place
  const Eigen::VectorXd g = gradient(free), at = x(free), low = lower(free), high = upper(free);
  const Eigen::VectorXd target = -root.matrixL().solve(g.cwiseQuotient(size));
  const Eigen::MatrixXd A = root.matrixU();
  const Eigen::VectorXd step =
      bounded_linear_least_squares(A, target, size.cwiseProduct(low - at), size.cwiseProduct(high - at));
  const Eigen::VectorXd moved = A * step;
  return std::sqrt(std::max(0.0, 2.0 * moved.dot(target) - moved.squaredNorm()));
}

Cost cost_of(const LeastSquares& problem) {
  Cost cost{problem.lower, problem.upper, {}, {}};
  cost.evaluate = [problem](const Eigen::VectorXd& x, Eigen::VectorXd* gradient) {
    Eigen::VectorXd r(static_cast<Eigen::Index>(problem.residuals));
    Eigen::MatrixXd J;
    if (gradient) J.resize(r.size(), x.size());
    if (!problem.evaluate(x, r, gradient ? &J : nullptr)) return infinity;
    if (gradient) *gradient = J.transpose() * r;
    return 0.5 * r.squaredNorm();
  };
  cost.distance_se = [problem](const Eigen::VectorXd& x) {
    Eigen::VectorXd r(static_cast<Eigen::Index>(problem.residuals));
    Eigen::MatrixXd J(r.size(), x.size());
    if (!problem.evaluate(x, r, &J) || !J.allFinite()) return infinity;
    return distance_in_se(x, r, J, problem.lower, problem.upper);
  };
  return cost;
}

Cost cost_of(const LogDensity& density) {
  Cost cost{density.lower, density.upper, {}, {}};
  cost.evaluate = [density](const Eigen::VectorXd& x, Eigen::VectorXd* gradient) {
    const double value = -density.evaluate(x, gradient);
    if (gradient) *gradient = -*gradient;
    return value;
  };
  const Cost plain = cost;
  cost.distance_se = [plain](const Eigen::VectorXd& x) {
    Eigen::VectorXd gradient(x.size());
    if (!std::isfinite(plain.evaluate(x, &gradient)) || !gradient.allFinite()) return infinity;
    return newton_distance(x, gradient, second_derivatives(plain, x), plain.lower, plain.upper);
  };
  return cost;
}

Eigen::MatrixXd second_derivatives(const Cost& cost, const Eigen::VectorXd& x, double step) {
  const Eigen::Index n = x.size();
  Eigen::MatrixXd H(n, n);
  for (Eigen::Index j = 0; j < n; ++j) {
    const double h = step * std::max(std::abs(x[j]), 1e-3);
    Eigen::VectorXd up = x, down = x, above(n), below(n);
    up[j] = std::min(x[j] + h, cost.upper[j]);
    down[j] = std::max(x[j] - h, cost.lower[j]);
    if (up[j] == down[j]) {
      H.col(j).setZero();
      continue;
    }
    if (!std::isfinite(cost.evaluate(up, &above)) || !std::isfinite(cost.evaluate(down, &below))) return {};
    H.col(j) = (above - below) / (up[j] - down[j]);
  }
  return 0.5 * (H + H.transpose());
}

}  // namespace stoverturn
