#include "fitting/moves.hpp"

#include <array>
#include <cmath>
#include <limits>

#include <boost/random/normal_distribution.hpp>
#include <boost/random/uniform_01.hpp>
#include <boost/random/uniform_int_distribution.hpp>

namespace stoverturn {
namespace {

constexpr double share_snooker = 0.1, share_whole = 0.1, jitter = 1e-4;

double between(double from, double to, RandomStream& stream) {
  return from + (to - from) * boost::random::uniform_01<double>()(stream);
}

/// Three different numbers below n.
std::array<Eigen::Index, 3> three_of(Eigen::Index n, RandomStream& stream) {
  boost::random::uniform_int_distribution<Eigen::Index> any(0, n - 1);
  std::array<Eigen::Index, 3> chosen{any(stream), any(stream), any(stream)};
  while (chosen[1] == chosen[0]) chosen[1] = any(stream);
  while (chosen[2] == chosen[0] || chosen[2] == chosen[1]) chosen[2] = any(stream);
  return chosen;
}

Eigen::VectorXd deviations(const Eigen::MatrixXd& points) {
  const Eigen::VectorXd mean = points.rowwise().mean();
  return (points.colwise() - mean).rowwise().norm() / std::sqrt(static_cast<double>(points.cols()));
}

}  // namespace

Offers offers_to(const Eigen::MatrixXd& moving, const Eigen::MatrixXd& others, RandomStream& stream) {
  boost::random::normal_distribution<double> normal;
  const double unknowns = static_cast<double>(moving.rows());
  const Eigen::VectorXd jitters = jitter * deviations(others);
  Offers offers{moving, Eigen::VectorXd::Zero(moving.cols())};
  for (Eigen::Index i = 0; i < moving.cols(); ++i) {
    const double kind = between(0.0, 1.0, stream);
    const auto [a, b, c] = three_of(others.cols(), stream);
    const Eigen::VectorXd difference = others.col(a) - others.col(b);
    if (kind < share_snooker) {
      const Eigen::VectorXd line = moving.col(i) - others.col(c);
      const double far2 = line.squaredNorm();
      const double along = between(1.2, 2.2, stream) * difference.dot(line) / far2;  // in lengths of the line
      offers.points.col(i) += along * line;
      offers.log_ratio[i] = (unknowns - 1.0) * std::log(std::abs(1.0 + along));
      if (!(far2 > 0.0)) {
        offers.points.col(i) = moving.col(i);
        offers.log_ratio[i] = -std::numeric_limits<double>::infinity();
      }
      continue;
    }
    const bool whole = kind < share_snooker + share_whole;
    const double size = whole ? 1.0 : between(0.9, 1.1, stream) * 2.38 / std::sqrt(2.0 * unknowns);
    offers.points.col(i) += size * difference;
    for (Eigen::Index j = 0; j < moving.rows(); ++j) offers.points(j, i) += jitters[j] * normal(stream);
  }
  return offers;
}

}  // namespace stoverturn
