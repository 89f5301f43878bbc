#pragma once
#include <string_view>
#include <vector>

#include "fitting/covariance.hpp"
#include "fitting/model_choice.hpp"
#include "fitting/multi_start.hpp"

namespace stoverturn {

/// Simple curves of what is left at time t >= 0, as a multiple of the start M [same unit as the data]. Time
/// is in any unit, calendar or corrected for temperature and moisture; rates are per that unit.
/// docs/statistics.md
///
///   exponential: m = M exp(-k t). Olson 1963, Ecology 44, 322-331.
///
///   double_exponential: m = M (a exp(-k1 t) + (1 - a) exp(-k2 t)), k1 >= k2.
///
///   asymptotic: m = M (a + (1 - a) exp(-k t)).
///
///   weibull: m = M exp(-(k t)^c). Frechet 1927; Weibull 1951, J. Appl. Mech. 18, 293-297.
///
/// The last three are among those of Wieder and Lang 1982, Ecology 63, 1636-1642. Volumes and pages are from
/// memory.
enum class Curve { exponential, double_exponential, asymptotic, weibull };

/// Names of the parameters in order; the start, where it is estimated, comes last.
std::vector<std::string_view> curve_parameters(Curve curve);

/// Share of the start that is left at t, 0 to 1, and its derivatives by the curve's parameters where asked
/// for.
double share_left(Curve curve, const Eigen::VectorXd& p, double t, Eigen::VectorXd* by_parameter = nullptr);
/// d share_left/dt.
double share_slope(Curve curve, const Eigen::VectorXd& p, double t);
/// When this share is left; infinity where the curve never falls so low.
double time_to_share(Curve curve, const Eigen::VectorXd& p, double share);

struct DecayData {
  std::vector<double> time, left;
  std::vector<double> sd;  ///< by observation, all above zero; empty: all alike and unknown
};

struct CurveOptions {
  bool estimate_start = true;
  double start = 1.0;                 ///< what is there at time 0, where it is not estimated
  Spread spread = Spread::estimated;  ///< known needs `sd`; estimated takes `sd` as relative
};

struct Estimate {
  double value = 0.0, se = 0.0;
};

struct CurveFit {
  Curve curve = Curve::exponential;
  LeastSquaresFit fit;  ///< x: curve_parameters, then the start where it is estimated
  Covariance covariance;
  MultiStart starts;             ///< how the searches from several starts agreed
  InformationCriteria criteria;  ///< the error's size counts as a parameter where it is estimated
  Estimate half_life;  ///< time until half of the start is left; se by the delta method, NaN where refused
  Estimate time_to_5_percent;  ///< time until 95 % is lost
};

/// Fits a curve by least squares from a grid of starts that contains what simpler curves find. Rates are held
/// at or below 50 over the first time after zero: what decays faster is gone before anyone looks. A start on
/// a bound is reported in fit.on_bound. std::invalid_argument for sizes that differ, times below zero or not
/// finite, no two different times, sd not above zero, or Spread::known without sd.
CurveFit fit_curve(Curve curve, const DecayData& data, const CurveOptions& options = {});

/// What is left by the fitted curve, in the data's unit.
double predicted(const CurveFit& fit, const CurveOptions& options, double t);

}  // namespace stoverturn
