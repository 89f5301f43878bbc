#pragma once
#include <array>

#include "engine/layout.hpp"
#include "engine/parameters.hpp"

namespace stoverturn {

/// Carbon pools and element ratios of fresh residue.                 docs/model.md, Eq. 1 and 2
/// Carbon in g per g dry matter; ratios in g per g C of their pool, by Element.
template <class Real>
struct Stoichiometry {
  Real C_sol, C_hol, C_lig, K, P_inorganic;
  std::array<Real, elements> q_sol, q_hol, q_lig;
  std::array<Real, elements> structural_share;  ///< E_use / E_str: 1 unless the residue is too poor in E
};

/// Splits an element between structure and solubles:
///   E_str = C_hol/CE_hol + C_lig/CE_lig,  E_cap = 0.8 E_org,  E_use = (E_str^-8 + E_cap^-8)^(-1/8)
///   q_hol = (E_use/E_str)/CE_hol,  q_lig = (E_use/E_str)/CE_lig,  q_sol = (E_org - E_use)/C_sol
/// E_org is all N or S, and the organic part of P. Positive contents are a precondition.
template <class Real>
Stoichiometry<Real> stoichiometry(const Parameters<Real>& component);

}  // namespace stoverturn
