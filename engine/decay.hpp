#pragma once
#include "engine/cohort.hpp"

namespace stoverturn {

/// What a cohort's decomposers would do at 25 C and best moisture with N in plenty, g C m-2 d-1.
/// docs/model.md, Eq. 6
template <class Real>
struct DecayRates {
  Real sol, hol, lig, rem;  ///< substrates decayed
  Real opened;              ///< closed tissue opened
  Real growth;              ///< g = sum e_i d_i
  Real death;               ///< t, not limited by N
};

///   d_sol = k_sol S;  d_rem = k_rem R;  d_lig = k_lig m L;  d_hol = k_hol m exp(-p_lig LCI) H
///   LCI = (L + 1e-3 lam Z)/(H + L + 1e-3 Z + 1e-12);  opened = a Z;  t = k_dec B
template <class Real>
DecayRates<Real> decay_rates(const CohortTraits<Real>& cohort, const Real* x);

/// Adds decay, opening, growth and death to the derivatives of a cohort and of the field.  docs/model.md, Eq.
/// 7 `f` is the climate factor, `l` the N limiter; both multiply the rates as stated there.
template <class Real>
void add_decay(const CohortTraits<Real>& cohort, const DecayRates<Real>& rates, const Real& f, const Real& l,
               Real* dxdt, Real* field_dxdt);

}  // namespace stoverturn
