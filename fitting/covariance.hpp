#pragma once
#include "fitting/least_squares.hpp"

namespace stoverturn {

/// Whether the residuals' standard deviations are known, so that residuals are in units of one, or known only
/// up to a common factor that the fit itself must tell.
enum class Spread { known, estimated };

/// What the curvature at the optimum says about the spread of estimates. It assumes that the model is nearly
/// linear within that spread, that errors are independent with the deviations given, and that no parameter is
/// at a bound.
struct Covariance {
  bool ok =
      false;  ///< false: the data do not see every direction; then only `rank` and `blind` mean something
  Eigen::MatrixXd matrix,
      correlation;              ///< parameters x parameters; NaN in rows and columns of held parameters
  Eigen::VectorXd se;           ///< standard errors; NaN for held parameters
  std::vector<bool> held;       ///< on a bound: taken as known there, which makes the others look surer
  double variance_scale = 1.0;  ///< residual variance (Spread::estimated), else 1
  int freedom = 0;              ///< degrees of freedom of t; 0: normal
  int rank = 0;                 ///< directions seen, of the parameters that are not held
  /// A direction in which parameters can move together without changing what is measured: changes of the
  /// parameters in their units, the largest relative to its own effect alone being 1. Empty when ok.
  Eigen::VectorXd blind;
};

/// From the Jacobian: s^2 (J'J)^-1 through singular values of J with columns of length 1. A smallest singular
/// value below `blindness` of the largest is a direction that is not seen.
Covariance covariance_of(const LeastSquaresFit& fit, Spread spread, double blindness = 1e-9);

/// From second derivatives of a cost (minus log density), all spreads known. Also not ok where these are not
/// those of a minimum.
Covariance covariance_of(const Eigen::MatrixXd& hessian, const std::vector<Bound>& on_bound,
                         double blindness = 1e-9);

struct Interval {
  double lower = 0.0, upper = 0.0;
};
/// estimate +- t se at a level such as 0.9; the normal distribution for freedom 0.
Interval t_interval(double estimate, double se, int freedom, double level);

/// The same for a positive quantity, on its logarithm: estimate * exp(+- t se/estimate).
Interval log_t_interval(double estimate, double se, int freedom, double level);

}  // namespace stoverturn
