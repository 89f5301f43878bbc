#pragma once
#include "engine/day_factors.hpp"

namespace stoverturn {

/// Adds what happens to mineral N without the decomposers of residue, all rates at once.
/// `x` and `dxdt` point at the field's pools (FieldPool).            docs/model.md, Eq. 13 to 17, 41, 43
///   dU_s = -k_hyd f_T U_s - k_wash w_0 U_s
///   dA_u = k_hyd f_T U_s - (loss of A_u + k_wash w_0 + k_in) A_u             [ammonium from urea]
///   dA_s = -(loss of A_s + k_wash w_0 + k_in) A_s                            [ammonium spread]
///   dA   = wash-in and entry + N_bg f_soil + deposition + k_man f_soil M - k_nit f_nit A - crops
///   dO   = k_nit f_nit A - w_top O - k_den f_den O - crops
///   dO_sub = w_top O - w_sub O_sub - crops;  leached = w_sub O_sub
///   dM   = -k_man f_soil M                                                   [available N of manure]
///   crops = demand N/(N + 0.5) of N = A + O + O_sub, in proportion; a cover crop keeps what it takes
template <class Real>
void add_mineral_nitrogen(const Parameters<Real>& field, const DayFactors<Real>& day, const Real* x,
                          Real* dxdt);

}  // namespace stoverturn
