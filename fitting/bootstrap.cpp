#include "fitting/bootstrap.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <stdexcept>

#include <boost/math/distributions/normal.hpp>
#include <boost/random/uniform_int_distribution.hpp>

#include "engine/random_stream.hpp"

namespace stoverturn {
namespace {

constexpr double missing = std::numeric_limits<double>::quiet_NaN();
constexpr std::size_t batch = 16;  ///< fits between two calls of `progress`
constexpr std::size_t few = 20;    ///< estimates below which quantiles mean nothing

using Rows = std::vector<std::size_t>;  ///< observations of a case
using Stratum = std::vector<Rows>;      ///< cases

/// Strata and cases in the order of their numbers.
std::vector<Stratum> strata_of(const std::vector<int>& case_of, const std::vector<int>& stratum_of) {
  std::map<int, int> home;
  std::map<int, std::map<int, Rows>> rows;
  for (std::size_t i = 0; i < case_of.size(); ++i) {
    if (home.emplace(case_of[i], stratum_of[i]).first->second != stratum_of[i])
      throw std::invalid_argument("a case lies in two strata");
    rows[stratum_of[i]][case_of[i]].push_back(i);
  }
  std::vector<Stratum> strata;
  for (const auto& [stratum, cases] : rows) {
    strata.emplace_back();
    for (const auto& [number, observations] : cases) strata.back().push_back(observations);
  }
  return strata;
}

std::vector<double> drawn_weights(const std::vector<Stratum>& strata, std::size_t observations,
                                  RandomStream stream) {
  std::vector<double> weights(observations, 0.0);
  for (const Stratum& cases : strata) {
    boost::random::uniform_int_distribution<std::size_t> any(0, cases.size() - 1);
    for (std::size_t draw = 0; draw < cases.size(); ++draw) {
      for (const std::size_t row : cases[any(stream)]) weights[row] += 1.0;
    }
  }
  return weights;
}

/// The quantile of sorted values at p: between order statistics, p (n + 1) being the rank.
double quantile(const Eigen::VectorXd& sorted, double p) {
  const double rank = std::clamp(p * static_cast<double>(sorted.size() + 1), 1.0, double(sorted.size()));
  const Eigen::Index below = static_cast<Eigen::Index>(rank);
  const double next = sorted[std::min(below, sorted.size() - 1)];
  return sorted[below - 1] + (rank - static_cast<double>(below)) * (next - sorted[below - 1]);
}

/// Acceleration by unknown, strata weighed as samples of their own (Davison and Hinkley 1997, Bootstrap
/// Methods, section 5.3, from memory). `left_out` by stratum: estimates without each of its cases.
Eigen::VectorXd acceleration(const std::vector<Eigen::MatrixXd>& left_out, Eigen::Index unknowns) {
  Eigen::VectorXd cubes = Eigen::VectorXd::Zero(unknowns), squares = cubes;
  for (const Eigen::MatrixXd& estimates : left_out) {
    if (estimates.cols() < 2) continue;
    const double n = static_cast<double>(estimates.cols());
    const Eigen::VectorXd mean = estimates.rowwise().mean();
    const Eigen::ArrayXXd influence =
        (n - 1.0) / n * (mean.replicate(1, estimates.cols()) - estimates).array();
    cubes += influence.cube().rowwise().sum().matrix();
    squares += influence.square().rowwise().sum().matrix();
  }
  const Eigen::ArrayXd spread = squares.array().pow(1.5);
  return (spread > 0.0).select(cubes.array() / (6.0 * spread), 0.0);
}

Interval bca_interval(const Eigen::VectorXd& sorted, double estimate, double acceleration, double level) {
  const boost::math::normal normal;
  const double n = static_cast<double>(sorted.size());
  const double below = static_cast<double>((sorted.array() < estimate).count());
  const double same = static_cast<double>((sorted.array() == estimate).count());
  const double share = (below + 0.5 * same) / n;
  if (share <= 0.0 || share >= 1.0) return {missing, missing};
  const double bias = boost::math::quantile(normal, share);
  const auto at = [&](double p) {
    const double z = bias + boost::math::quantile(normal, p);
    return quantile(sorted, boost::math::cdf(normal, bias + z / (1.0 - acceleration * z)));
  };
  return {at(0.5 * (1.0 - level)), at(0.5 * (1.0 + level))};
}

/// Fits done in batches; empty vectors where one failed.
struct Fits {
  const Eigen::VectorXd& estimate;
  const WeightedFit& fit;
  const BootstrapOptions& options;
  std::size_t planned, done = 0;

  /// As many as were reached before `progress` said no.
  std::vector<Eigen::VectorXd> operator()(std::size_t count,
                                          const std::function<std::vector<double>(std::size_t)>& weights) {
    std::vector<Eigen::VectorXd> found;
    while (found.size() < count) {
      if (options.progress && !options.progress(double(done) / double(planned))) break;
      const std::size_t first = found.size(), size = std::min(batch, count - first);
      found.resize(first + size);
      options.for_each(size, [&](std::size_t i) {
        Eigen::VectorXd x = fit(weights(first + i));
        if (x.size() == estimate.size() && x.allFinite()) found[first + i] = std::move(x);
      });
      done += size;
    }
    return found;
  }
};

/// Estimates without each case, by stratum; nothing where a fit failed or the end was asked for. A stratum of
/// one case never changes in a resample, so it has no influence either.
std::vector<Eigen::MatrixXd> leave_each_out(const std::vector<Stratum>& strata, std::size_t observations,
                                            Fits& fits) {
  std::vector<const Rows*> cases;
  for (const Stratum& stratum : strata) {
    for (const Rows& rows : stratum) {
      if (stratum.size() > 1) cases.push_back(&rows);
    }
  }
  const std::vector<Eigen::VectorXd> found = fits(cases.size(), [&](std::size_t i) {
    std::vector<double> weights(observations, 1.0);
    for (const std::size_t row : *cases[i]) weights[row] = 0.0;
    return weights;
  });
  std::vector<Eigen::MatrixXd> result;
  std::size_t next = 0;
  for (const Stratum& stratum : strata) {
    if (stratum.size() < 2) continue;
    result.emplace_back(fits.estimate.size(), static_cast<Eigen::Index>(stratum.size()));
    for (Eigen::Index i = 0; i < result.back().cols(); ++i, ++next) {
      if (next >= found.size() || !found[next].size()) return {};
      result.back().col(i) = found[next];
    }
  }
  return result;
}

Eigen::VectorXd sorted_row(const Eigen::MatrixXd& estimates, Eigen::Index j) {
  Eigen::VectorXd row = estimates.row(j).transpose();
  std::sort(row.begin(), row.end());
  return row;
}

}  // namespace

Bootstrap bootstrap(const std::vector<int>& case_of, const std::vector<int>& stratum_of,
                    const Eigen::VectorXd& estimate, const WeightedFit& fit,
                    const BootstrapOptions& options) {
  const std::size_t observations = case_of.size();
  if (stratum_of.size() != observations)
    throw std::invalid_argument("a case and a stratum for each observation");
  const std::vector<Stratum> strata = strata_of(case_of, stratum_of);
  const std::size_t wanted = static_cast<std::size_t>(std::max(0, options.resamples));
  std::size_t cases = 0;
  for (const Stratum& stratum : strata) cases += stratum.size() > 1 ? stratum.size() : 0;
  Fits fits{estimate, fit, options, std::max<std::size_t>(1, wanted + cases)};

  const std::vector<Eigen::VectorXd> found = fits(wanted, [&](std::size_t i) {
    return drawn_weights(strata, observations, random_stream(options.seed, "bootstrap", i));
  });
  Bootstrap result;
  result.resamples = static_cast<int>(found.size());
  result.failed = static_cast<int>(
      std::count_if(found.begin(), found.end(), [](const Eigen::VectorXd& x) { return x.size() == 0; }));
  result.estimates.resize(estimate.size(), result.resamples - result.failed);
  Eigen::Index column = 0;
  for (const Eigen::VectorXd& x : found) {
    if (x.size()) result.estimates.col(column++) = x;
  }
  std::vector<Eigen::MatrixXd> left_out;
  if (found.size() == wanted) left_out = leave_each_out(strata, observations, fits);
  result.finished = found.size() == wanted && fits.done == fits.planned;
  if (column < static_cast<Eigen::Index>(few)) return result;
  const Eigen::VectorXd bent = acceleration(left_out, estimate.size());
  for (Eigen::Index j = 0; j < estimate.size(); ++j) {
    const Eigen::VectorXd sorted = sorted_row(result.estimates, j);
    result.percentile.push_back(
        {quantile(sorted, 0.5 * (1.0 - options.level)), quantile(sorted, 0.5 * (1.0 + options.level))});
    if (!left_out.empty()) result.bca.push_back(bca_interval(sorted, estimate[j], bent[j], options.level));
  }
  return result;
}

}  // namespace stoverturn
