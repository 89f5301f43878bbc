#pragma once
#include <string>
#include <utility>

#include "engine/parameters.hpp"

namespace stoverturn {

/// What is believed of an unknown before the data, on its fit scale; the bounds cut it off.
struct Prior {
  enum class Shape { flat, normal };
  Shape shape = Shape::flat;
  double mean = 0.0, sd = 1.0;  ///< of the normal, on the fit scale
};

/// A number that is estimated. Searches and samplers move it on its fit scale, z: the value itself (linear),
/// its logarithm (log) or ln(x / (1 - x)) (logit). Densities are those of z.
struct Unknown {
  std::string name;  ///< "k_hol", "k_hol@stalk", "k_hol [opened]", "error of mass", ...
  std::string unit, meaning;
  Fit scale = Fit::linear;
  double start = 0.0, lower = 0.0, upper = 0.0;  ///< in the unit; finite on the fit scale
  Prior prior;
};

/// Not finite where the value is impossible on the scale. Fit::fixed counts as linear.
double to_fit_scale(Fit scale, double value);
double from_fit_scale(Fit scale, double z);
/// d value/dz at z.
double slope_of_fit_scale(Fit scale, double z);

/// Log density of the prior at z, up to the constant of its cutting-off (flat: 0); `slope` is added to where
/// given.
double log_prior(const Prior& prior, double z, double* slope = nullptr);

/// The normal prior whose central share `level` lies between two values of the unit. std::invalid_argument
/// unless lower < upper, both possible on the scale.
Prior prior_between(Fit scale, double lower, double upper, double level = 0.9);

/// Ends of the central share `level` of a normal prior, on the fit scale; bounds do not cut them.
std::pair<double, double> central_range(const Prior& prior, double level = 0.9);

}  // namespace stoverturn
