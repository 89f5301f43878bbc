#include "fitting/effective_draws.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <vector>

#include <boost/math/distributions/normal.hpp>

namespace stoverturn {
namespace {

constexpr double not_known = std::numeric_limits<double>::quiet_NaN();

double variance(const Eigen::VectorXd& x) {
  return (x.array() - x.mean()).square().sum() / static_cast<double>(x.size() - 1);
}

/// Linear between order statistics, as R's default (type 7 of Hyndman and Fan 1996, The American Statistician
/// 50).
double quantile(const Eigen::MatrixXd& all, double share) {
  std::vector<double> x(all.data(), all.data() + all.size());
  const double place = share * static_cast<double>(x.size() - 1);
  const auto below = static_cast<std::ptrdiff_t>(std::floor(place));
  std::nth_element(x.begin(), x.begin() + below, x.end());
  const double low = x[static_cast<std::size_t>(below)];
  if (below + 1 == static_cast<std::ptrdiff_t>(x.size())) return low;
  const double high = *std::min_element(x.begin() + below + 1, x.end());
  return low + (place - static_cast<double>(below)) * (high - low);
}

/// Autocorrelation at a lag, what differs between sequences counted as correlated for ever.
struct Autocorrelation {
  Eigen::MatrixXd centred;  ///< each sequence less its mean
  double within = 0.0, all = 0.0;

  explicit Autocorrelation(const Eigen::MatrixXd& sequences)
      : centred(sequences.rowwise() - sequences.colwise().mean()) {
    const double n = static_cast<double>(sequences.rows());
    within = covariance(0) * n / (n - 1.0);
    all = covariance(0);
    if (sequences.cols() > 1) all += variance(sequences.colwise().mean().transpose());
  }
  double covariance(Eigen::Index lag) const {
    const Eigen::Index left = centred.rows() - lag;
    return centred.topRows(left).cwiseProduct(centred.bottomRows(left)).sum() /
           static_cast<double>(centred.size());
  }
  double at(Eigen::Index lag) const { return lag == 0 ? 1.0 : 1.0 - (within - covariance(lag)) / all; }
};

}  // namespace

Eigen::MatrixXd in_halves(const Eigen::MatrixXd& sequences) {
  const Eigen::Index half = sequences.rows() / 2;
  Eigen::MatrixXd result(half, 2 * sequences.cols());
  result << sequences.topRows(half), sequences.bottomRows(half);
  return result;
}

Eigen::MatrixXd rank_normalised(const Eigen::MatrixXd& sequences) {
  const auto n = static_cast<std::size_t>(sequences.size());
  std::vector<std::size_t> order(n);
  std::iota(order.begin(), order.end(), 0);
  const double* x = sequences.data();
  std::sort(order.begin(), order.end(),
            [x](std::size_t a, std::size_t b) { return x[a] < x[b] || (x[a] == x[b] && a < b); });
  Eigen::MatrixXd result(sequences.rows(), sequences.cols());
  const boost::math::normal standard;
  for (std::size_t first = 0, end = 0; first < n; first = end) {
    while (end < n && x[order[end]] == x[order[first]]) ++end;
    const double rank = 0.5 * static_cast<double>(first + 1 + end);
    const double score = boost::math::quantile(standard, (rank - 0.375) / (static_cast<double>(n) + 0.25));
    for (std::size_t i = first; i < end; ++i) result.data()[order[i]] = score;
  }
  return result;
}

Eigen::MatrixXd folded(const Eigen::MatrixXd& sequences) {
  return (sequences.array() - quantile(sequences, 0.5)).abs();
}

double r_hat(const Eigen::MatrixXd& sequences) {
  const double n = static_cast<double>(sequences.rows());
  const Eigen::VectorXd means = sequences.colwise().mean();
  const double within =
      (sequences.rowwise() - means.transpose()).squaredNorm() / (n - 1.0) / static_cast<double>(means.size());
  return within > 0.0 ? std::sqrt((n - 1.0) / n + variance(means) / within) : not_known;
}

double effective_draws(const Eigen::MatrixXd& sequences) {
  if (sequences.rows() < 3) return not_known;
  const Autocorrelation correlation(sequences);
  if (!(correlation.all > 0.0)) return not_known;
  double tau = -1.0, before = std::numeric_limits<double>::infinity();
  for (Eigen::Index lag = 0;; lag += 2) {
    const double even = correlation.at(lag), pair = even + correlation.at(lag + 1);
    if (!(pair > 0.0) || lag + 5 >= sequences.rows()) {  // the last lags have few products
      tau += std::max(even, 0.0);
      break;
    }
    before = std::min(before, pair);
    tau += 2.0 * before;
  }
  const double n = static_cast<double>(sequences.size());
  return n / std::max(tau, 1.0 / std::log10(n));
}

double ess_bulk(const Eigen::MatrixXd& sequences) {
  return effective_draws(rank_normalised(in_halves(sequences)));
}

double ess_tail(const Eigen::MatrixXd& sequences) {
  double least = std::numeric_limits<double>::infinity();
  for (const double share : {0.05, 0.95}) {
    const double limit = quantile(sequences, share);
    const double effective = effective_draws(in_halves((sequences.array() <= limit).cast<double>()));
    if (!(effective >= least)) least = effective;
  }
  return least;
}

}  // namespace stoverturn
