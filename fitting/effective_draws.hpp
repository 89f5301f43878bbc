#pragma once
#include <Eigen/Core>

namespace stoverturn {

/// What sequences of draws of one quantity are worth: Vehtari, Gelman, Simpson, Carpenter and Bürkner 2021,
/// Bayesian Analysis 16, 667-718. Matrices are draws x sequences.

/// First and second half of each sequence as sequences of their own, first halves first; the middle draw of
/// an odd number is left out.
Eigen::MatrixXd in_halves(const Eigen::MatrixXd& sequences);

/// Normal scores of the ranks among all draws (their Eq. 14); equal ones share the mean of their ranks.
Eigen::MatrixXd rank_normalised(const Eigen::MatrixXd& sequences);

/// Distance of each draw from the median of all.
Eigen::MatrixXd folded(const Eigen::MatrixXd& sequences);

/// R-hat of these sequences as they are (their Eq. 4); NaN when none of them moves.
double r_hat(const Eigen::MatrixXd& sequences);

/// Effective number of draws of the mean, from autocorrelations within and between sequences (their Eqs. 10
/// to 13) summed up to Geyer's initial monotone sequence (1992, Statistical Science 7, 473-483); at most n
/// log10(n) of n draws. NaN when nothing moves.
double effective_draws(const Eigen::MatrixXd& sequences);

/// Of the halves of rank-normalised sequences.
double ess_bulk(const Eigen::MatrixXd& sequences);
/// The smaller one of the shares below the 5 % and the 95 % quantile.
double ess_tail(const Eigen::MatrixXd& sequences);

}  // namespace stoverturn
