#pragma once
#include <array>

#include "engine/access.hpp"
#include "engine/layout.hpp"
#include "engine/stoichiometry.hpp"

namespace stoverturn {

/// N, P and S of decomposers, g per g C, by element.
template <class Real>
using MicrobialRatios = std::array<Real, elements>;
template <class Real>
MicrobialRatios<Real> microbial_ratios(const Parameters<Real>& field);

/// All that one cohort brings to the right-hand side, computed once before a run. Rates are at 25 C and best
/// moisture, d-1; water coefficients mm-1; ratios g per g C.
template <class Real>
struct CohortTraits {
  std::size_t place = 0;  ///< Placement as an index
  int falls_to = -1;
  Real k_sol, k_hol, k_lig, k_rem, k_dec, p_lig;
  Real opening;       ///< a, rate at which closed tissue is opened
  Real lignin_share;  ///< lam, lignin share of closed carbon
  Real e_sol, e_hol, e_lig, e_rem, a_rem, a_som;
  Real k_wash_sol, k_leach, b_closed;
  std::array<Real, elements> q_sol, q_str;
  MicrobialRatios<Real> q_mic;
  std::array<Real, pools> fresh;  ///< pools of one gram of fresh dry matter
  Real carbon;                    ///< carbon of dry matter, g g-1
  Real carbon_ash_free;           ///< carbon of ash-free dry matter, g g-1
};

/// `component` holds the parameters of the cohort's component, `field` those of the decomposers.
template <class Real>
CohortTraits<Real> cohort_traits(const Cohort& cohort, const Pieces& pieces,
                                 const Parameters<Real>& component, const Parameters<Real>& field);

/// Carbon, N, P or S in a cohort's pools, g m-2. `x` points at the cohort's first pool.
template <class Real>
Real carbon_in(const Real* x);
template <class Real>
Real element_in(const CohortTraits<Real>& traits, Element element, const Real* x);

}  // namespace stoverturn
