#pragma once
#include <Eigen/Core>

#include "engine/random_stream.hpp"

namespace stoverturn {

/// Places offered to walkers, and what the log ratio of densities is to be raised by when it is decided
/// whether a walker goes there (Hastings' ratio; -infinity: it stays).
struct Offers {
  Eigen::MatrixXd points;     ///< unknowns x walkers
  Eigen::VectorXd log_ratio;  ///< by walker
};

/// One offer to each walker of a half, made from differences between walkers of the other half alone, so that
/// all of a half can move at once. `moving` and `others`: unknowns x walkers; others: three or more. Shares
/// and sizes:
///
/// - 80 %: along a difference of two others, times 2.38 / sqrt(2 unknowns) (ter Braak 2006), +-10 %;
/// - 10 %: the same, times 1, so that a walker can go from one mode to another (same);
/// - 10 %: snooker: along the line through a third other, by the difference of two as it is seen on that
/// line, times
///   1.2 to 2.2; the ratio is (distance to the third afterwards / before)^(unknowns - 1)
///   (ter Braak and Vrugt 2008).
///
/// The first two are jittered by 0.0001 deviations of the others, so that every place can be reached.
Offers offers_to(const Eigen::MatrixXd& moving, const Eigen::MatrixXd& others, RandomStream& stream);

}  // namespace stoverturn
