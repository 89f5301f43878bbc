#pragma once
#include "fitting/covariance.hpp"
#include "fitting/least_squares.hpp"

namespace stoverturn {

/// How much a residual counts, by its size u in robust standard deviations.
///
///   squares: every bag counts as it is.
///
///   huber: weight min(1, c/|u|), c = 1.345; limits the pull of an outlier.
///   Huber 1964, Ann. Math. Stat. 35, 73-101.
///
///   tukey: weight (1 - (u/c)^2)^2 within c = 4.685, none beyond; a gross outlier counts nothing at all.
///   Beaton and Tukey 1974, Technometrics 16, 147-185.
///
///   student: weight (nu + 1)/(nu + u^2), nu = 4; errors of a t distribution, a likelihood that priors and
///   samplers can use. Lange, Little and Taylor 1989, J. Am. Stat. Assoc. 84, 881-896.
///
/// huber and tukey lose 5 % of efficiency where errors are normal. Volumes and pages are from memory.
enum class Loss { squares, huber, tukey, student };

/// The loss itself (u^2/2 near zero), its slope psi = d loss/du, the weight psi/u, and the slope of psi.
struct LossAt {
  double loss = 0.0, psi = 0.0, weight = 1.0, bend = 1.0;
};
LossAt loss_at(Loss loss, double u);

struct RobustOptions {
  Loss loss = Loss::tukey;
  Spread spread =
      Spread::estimated;  ///< known: residuals are in units of their deviation; it is not estimated
  int most_rounds = 200;
  LeastSquaresOptions inner;
};

struct RobustFit {
  LeastSquaresFit
      fit;  ///< residuals and Jacobian are the plain ones; cost is the sum of losses times scale^2
  Eigen::VectorXd weights;  ///< by residual
  double scale = 1.0;       ///< robust standard deviation of the residuals
  Covariance covariance;  ///< of M-estimates: s^2 mean(psi^2)/mean(psi')^2 (J'J)^-1 (Huber 1981, section 7.6)
  std::vector<std::size_t> outliers;  ///< residuals beyond 3.5 robust deviations
  int rounds = 0;
};

/// Fit by iteratively reweighted least squares. It begins from the three quarters of residuals that are
/// smallest, sought both from the plain fit and from the start, because an outlier may have carried the plain
/// fit far away. The scale is the median size of residuals, first about a Huber fit, and held while the final
/// loss is minimised (for student, the maximum likelihood scale, estimated along).
RobustFit fit_robust(const LeastSquares& problem, const Eigen::VectorXd& start,
                     const RobustOptions& options = {});

/// Median |r| / 0.6745, with the p smallest left out for the parameters estimated.
double robust_scale(const Eigen::VectorXd& residuals, Eigen::Index parameters);

}  // namespace stoverturn
