#pragma once
#include "engine/day_factors.hpp"

namespace stoverturn {

/// Adds what happens to mineral N without the decomposers of residue, all rates at once.
/// `x` and `dxdt` point at the field's pools (FieldPool).            docs/model.md, Eq. 13 to 17
///   dU_s = -k_hyd f_T U_s - k_wash w_0 U_s
///   dA_u = k_hyd f_T U_s - (k_vol f_T c_urea + k_wash w_0 + k_in) A_u        [ammonium from urea]
///   dA_s = -(k_vol f_T c_ammonium + k_wash w_0 + k_in) A_s                   [ammonium spread]
///   dA   = wash-in and entry + N_bg f_soil + deposition - k_nit f_nit A - crop
///   dO   = k_nit f_nit A - w_top O - crop
///   dO_sub = w_top O - w_sub O_sub - crop;  leached = w_sub O_sub
///   crop = demand N/(N + 0.5) of N = A + O + O_sub, in proportion
template <class Real>
void add_mineral_nitrogen(const Parameters<Real>& field, const DayFactors<Real>& day, const Real* x,
                          Real* dxdt);

}  // namespace stoverturn
