#pragma once
#include "engine/day_factors.hpp"
#include "engine/nitrogen_limitation.hpp"

namespace stoverturn {

/// Dissolved organic matter as a consumer: d = k_sol C, growth e_sol d goes straight to SOM.
/// docs/model.md, Eq. 12
template <class Real>
Demand<Real> dissolved_demand(const Parameters<Real>& field, const MicrobialRatios<Real>& q_mic,
                              const Real* x);

/// Adds decay of dissolved organic matter (with its N limiter `l`) and of SOM, and the downward loss of the
/// former. `x` and `dxdt` point at the field's pools. N exchanged with the mineral pools is not added here.
template <class Real>
void add_soil_organic(const Parameters<Real>& field, const MicrobialRatios<Real>& q_mic,
                      const DayFactors<Real>& day, const Real& l, const Real* x, Real* dxdt);

}  // namespace stoverturn
