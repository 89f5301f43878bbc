#pragma once
#include <vector>

#include "fitting/covariance.hpp"
#include "fitting/minimise.hpp"

namespace stoverturn {

/// What the data say of an unknown by its profile.
enum class Identifiable {
  yes,         ///< the interval closes on both sides within the bounds
  open_below,  ///< practically not: any value down to the bound fits as well
  open_above,  ///< practically not: any value up to the bound fits as well
  open,        ///< practically not: open on both sides, yet not flat
  flat,        ///< structurally not: the cost does not change at all
  unknown,     ///< the profile could not be walked
};
std::string_view words(Identifiable class_);

/// The least cost that is possible with an unknown held at each of several values.
struct Profile {
  std::size_t unknown = 0;
  std::vector<double> z, cost;  ///< on the fit scale, ascending; the optimum is one of them
  std::vector<double> slope;    ///< d cost/dz of the profile, by point
  Eigen::MatrixXd others;       ///< unknowns x points: where the others went
  Interval interval;            ///< where 2 (cost - best) stays below chi-square_1(level); a bound where open
  Identifiable identifiable = Identifiable::unknown;
  /// The side is open because the cost cannot be evaluated further on; the interval ends at the last value
  /// that can.
  bool wall_below = false, wall_above = false;
  int unsure = 0;  ///< points at which no method was sure of the least: the cost there may be too high
  double better_cost = 0.0;  ///< least cost met, where that is below the best one given: the fit was not done
  Eigen::VectorXd better;    ///< its place; empty when none
  int evaluations = 0;
  bool finished = false;  ///< false: stopped on request, by a much better optimum, or a best point that fails
};

struct ProfileOptions {
  double level = 0.9;
  int most_points = 12;  ///< to each side; a few more where the end has to be found between two
  /// A profile that changes by less over its whole range is flat, in units of log likelihood.
  double flat = 0.02;
  /// Second derivatives at the best point, where they are known: saves their computation.
  Eigen::MatrixXd curvature;
  KeepGoing progress;
};

/// Walks an unknown to both sides from the best point, the others searched anew at every step (warm start),
/// with steps that aim at equal rises of the cost (Raue et al. 2009, Bioinformatics 25, 1923-1929; Venzon and
/// Moolgavkar 1988, Appl. Stat. 37, 87-94). The interval holds for any shape of the density that a
/// re-expression could make normal; it needs no curvature at the optimum. It is the stretch around the best
/// point; another valley beyond a ridge is not looked for. A side counts as closed only where the cost has
/// passed the threshold. An optimum that is better by more than a twentieth of the threshold ends the walk:
/// fit again from `better`. Bounds must be finite and hold the best point (std::invalid_argument).
Profile profile_of(const Cost& cost, const Optimum& best, std::size_t unknown,
                   const ProfileOptions& options = {});

}  // namespace stoverturn
