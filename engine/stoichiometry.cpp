#include "engine/stoichiometry.hpp"

namespace stoverturn {
namespace {

template <class Real>
Real power_minus_eighth(const Real& x) {
  using std::sqrt;
  const Real square_root = sqrt(x);
  const Real fourth_root = sqrt(square_root);
  return Real(1.0) / sqrt(fourth_root);
}

template <class Real>
Real eighth_power(const Real& x) {
  const Real x2 = x * x;
  const Real x4 = x2 * x2;
  return x4 * x4;
}

}  // namespace

template <class Real>
Stoichiometry<Real> stoichiometry(const Parameters<Real>& p) {
  Stoichiometry<Real> s;
  s.C_sol = p.soluble * p.carbon;
  s.C_lig = p.lignin * p.carbon;
  s.C_hol = p.carbon - s.C_sol - s.C_lig;
  s.K = p.potassium;
  s.P_inorganic = p.phi_P * p.phosphorus;

  const std::array<Real, elements> organic = {p.nitrogen, Real(p.phosphorus - s.P_inorganic), p.sulfur};
  const std::array<Real, elements> CE_hol = {p.CN_hol, p.CP_str, p.CS_str};
  const std::array<Real, elements> CE_lig = {p.CN_lig, p.CP_str, p.CS_str};
  for (std::size_t e = 0; e < elements; ++e) {
    const Real E_str = s.C_hol / CE_hol[e] + s.C_lig / CE_lig[e];
    const Real E_cap = Real(0.8) * organic[e];
    const Real ratio = E_str / E_cap;
    const Real share = power_minus_eighth(Real(Real(1.0) + eighth_power(ratio)));  // E_use / E_str
    s.structural_share[e] = share;
    s.q_hol[e] = share / CE_hol[e];
    s.q_lig[e] = share / CE_lig[e];
    s.q_sol[e] = (organic[e] - share * E_str) / s.C_sol;
  }
  return s;
}

template Stoichiometry<double> stoichiometry(const Parameters<double>&);
template Stoichiometry<Dual> stoichiometry(const Parameters<Dual>&);
template Stoichiometry<Lanes> stoichiometry(const Parameters<Lanes>&);

}  // namespace stoverturn
