#pragma once
#include "engine/cohort.hpp"

namespace stoverturn {

/// Wash-out by `water_mm_d` of water, Eq. 22.                          docs/model.md, Eq. 8
///   w_s = k_wash_sol w (1 - b z) of S, to dissolved organic matter;  w_l = k_leach w (1 - b z) of K and Pi,
///   to the soil;  z = Z/(Z + H + L + 1e-12), the closed share
template <class Real>
void add_leaching(const CohortTraits<Real>& cohort, const Real& water_mm_d, const Real* x, Real* dxdt,
                  Real* field_dxdt);

}  // namespace stoverturn
