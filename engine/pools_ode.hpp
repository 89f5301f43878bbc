#pragma once
#include <memory>

#include "engine/cohort.hpp"
#include "engine/day_factors.hpp"
#include "engine/soil_organic.hpp"

namespace stoverturn {

/// The right-hand side of all pools: a callable (x, dxdt, t) on the state of `Layout`, autonomous within a
/// day. The state may end with the pools that move (Layout::moving). Holds its scratch, so that a call
/// allocates nothing; one object a thread.
template <class Real>
class PoolsOde {
 public:
  PoolsOde(const std::vector<CohortTraits<Real>>& cohorts, const Parameters<Real>& field);
  void set_day(const DayFactors<Real>& day) { day_ = day; }
  void operator()(const State<Real>& x, State<Real>& dxdt, double t);
  long calls() const { return calls_; }

 private:
  const std::vector<CohortTraits<Real>>& cohorts_;
  const Parameters<Real>& field_;
  MicrobialRatios<Real> q_mic_;
  std::array<bool, placements> occupied_{};
  DayFactors<Real> day_;
  std::vector<DecayRates<Real>> rates_;
  std::vector<Demand<Real>> demands_;
  long calls_ = 0;
};

}  // namespace stoverturn
