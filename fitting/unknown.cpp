#include "fitting/unknown.hpp"

#include <cmath>
#include <stdexcept>

#include <boost/math/distributions/normal.hpp>

namespace stoverturn {

double to_fit_scale(Fit scale, double value) {
  if (scale == Fit::log) return std::log(value);
  if (scale == Fit::logit) return std::log(value / (1.0 - value));
  return value;
}

double from_fit_scale(Fit scale, double z) {
  if (scale == Fit::log) return std::exp(z);
  if (scale == Fit::logit) return z > 0.0 ? 1.0 / (1.0 + std::exp(-z)) : std::exp(z) / (1.0 + std::exp(z));
  return z;
}

double slope_of_fit_scale(Fit scale, double z) {
  if (scale == Fit::log) return std::exp(z);
  if (scale == Fit::logit) return from_fit_scale(scale, z) * from_fit_scale(scale, -z);
  return 1.0;
}

double log_prior(const Prior& prior, double z, double* slope) {
  if (prior.shape == Prior::Shape::flat) return 0.0;
  const double u = (z - prior.mean) / prior.sd;
  if (slope) *slope -= u / prior.sd;
  return -0.5 * u * u - std::log(prior.sd) - 0.5 * std::log(2.0 * M_PI);
}

namespace {
/// Standard deviations from the mean to the ends of the central share.
double reach_of(double level) { return boost::math::quantile(boost::math::normal(), 0.5 * (1.0 + level)); }
}  // namespace

Prior prior_between(Fit scale, double lower, double upper, double level) {
  const double low = to_fit_scale(scale, lower), high = to_fit_scale(scale, upper);
  if (!std::isfinite(low) || !std::isfinite(high) || !(low < high)) {
    throw std::invalid_argument("a prior needs a lower value below an upper one, both possible on its scale");
  }
  if (!(level > 0.0 && level < 1.0)) throw std::invalid_argument("a prior's level lies between 0 and 1");
  return {Prior::Shape::normal, 0.5 * (low + high), 0.5 * (high - low) / reach_of(level)};
}

std::pair<double, double> central_range(const Prior& prior, double level) {
  const double half = reach_of(level) * prior.sd;
  return {prior.mean - half, prior.mean + half};
}

}  // namespace stoverturn
