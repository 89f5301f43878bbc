#include "fitting/normal_draws.hpp"

#include <cmath>
#include <vector>

#include <Eigen/Eigenvalues>
#include <boost/random/normal_distribution.hpp>

#include "engine/random_stream.hpp"

namespace stoverturn {
namespace {

constexpr int most_tries = 200;

/// A square root of the covariance of what is not held; zero rows for the rest.
Eigen::MatrixXd root_of(const Eigen::MatrixXd& covariance) {
  std::vector<Eigen::Index> free;
  for (Eigen::Index i = 0; i < covariance.rows(); ++i) {
    if (std::isfinite(covariance(i, i))) free.push_back(i);
  }
  const Eigen::MatrixXd inner = covariance(free, free);
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> solver(inner);
  Eigen::MatrixXd root = Eigen::MatrixXd::Zero(covariance.rows(), inner.cols());
  root(free, Eigen::all) =
      solver.eigenvectors() * solver.eigenvalues().cwiseMax(0.0).cwiseSqrt().asDiagonal();
  return root;
}

}  // namespace

Eigen::MatrixXd normal_draws(const Eigen::VectorXd& mean, const Eigen::MatrixXd& covariance,
                             const Eigen::VectorXd& lower, const Eigen::VectorXd& upper, std::uint64_t seed,
                             Eigen::Index count) {
  const Eigen::MatrixXd root = root_of(covariance);
  Eigen::MatrixXd draws(mean.size(), count);
  Eigen::Index kept = 0;
  for (Eigen::Index d = 0; d < count; ++d) {
    RandomStream stream = random_stream(seed, "normal draws", static_cast<std::uint64_t>(d));
    boost::random::normal_distribution<double> normal;
    for (int attempt = 0; attempt < most_tries; ++attempt) {
      Eigen::VectorXd u(root.cols());
      for (double& v : u) v = normal(stream);
      const Eigen::VectorXd z = mean + root * u;
      if ((z.array() < lower.array()).any() || (z.array() > upper.array()).any()) continue;
      draws.col(kept++) = z;
      break;
    }
  }
  return draws.leftCols(kept);
}

}  // namespace stoverturn
