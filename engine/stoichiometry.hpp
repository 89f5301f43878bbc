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
  std::array<Real, elements> q_sol, q_str;  ///< of solubles; of structure, that is holocellulose and lignin
};

/// Splits an element between structure and solubles by rho_E = N_structure, P_structure, S_structure:
///   q_str = rho_E E_org/C,  q_sol = (E_org - q_str (C_hol + C_lig))/C_sol
/// E_org is all N or S, and the organic part of P. Positive contents are a precondition. With rho_E at most 1
/// solubles are never poorer than the whole.
template <class Real>
Stoichiometry<Real> stoichiometry(const Parameters<Real>& component);

}  // namespace stoverturn
