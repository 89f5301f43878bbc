#include "engine/stoichiometry.hpp"

namespace stoverturn {

template <class Real>
Stoichiometry<Real> stoichiometry(const Parameters<Real>& p) {
  Stoichiometry<Real> s;
  s.C_sol = p.soluble * p.carbon;
  s.C_lig = p.lignin * p.carbon;
  s.C_hol = p.carbon - s.C_sol - s.C_lig;
  s.K = p.potassium;
  s.P_inorganic = p.phi_P * p.phosphorus;

  const std::array<Real, elements> organic = {p.nitrogen, Real(p.phosphorus - s.P_inorganic), p.sulfur};
  const std::array<Real, elements> relative = {p.N_structure, p.P_structure, p.S_structure};
  for (std::size_t e = 0; e < elements; ++e) {
    s.q_str[e] = relative[e] * organic[e] / p.carbon;
    s.q_sol[e] = (organic[e] - s.q_str[e] * (s.C_hol + s.C_lig)) / s.C_sol;
  }
  return s;
}

template Stoichiometry<double> stoichiometry(const Parameters<double>&);
template Stoichiometry<Dual> stoichiometry(const Parameters<Dual>&);
template Stoichiometry<Lanes> stoichiometry(const Parameters<Lanes>&);

}  // namespace stoverturn
