#include "fitting/optimum.hpp"

namespace stoverturn {

std::vector<Bound> bounds_reached(const Eigen::VectorXd& x, const Eigen::VectorXd& lower,
                                  const Eigen::VectorXd& upper) {
  std::vector<Bound> result;
  for (Eigen::Index i = 0; i < x.size(); ++i) {
    result.push_back(x[i] <= lower[i] ? Bound::lower : x[i] >= upper[i] ? Bound::upper : Bound::none);
  }
  return result;
}

Eigen::VectorXd within(const Eigen::VectorXd& x, const Eigen::VectorXd& lower, const Eigen::VectorXd& upper) {
  return x.cwiseMax(lower).cwiseMin(upper);
}

std::string_view words(Stop stop) {
  switch (stop) {
    case Stop::converged:
      return "converged";
    case Stop::stalled:
      return "stalled: no more progress, but not at an optimum";
    case Stop::evaluations_spent:
      return "not finished: the limit of evaluations came first";
    case Stop::cancelled:
      return "stopped on request";
    case Stop::bad_start:
      return "failed: the model cannot be evaluated at the start";
  }
  return "";
}

}  // namespace stoverturn
