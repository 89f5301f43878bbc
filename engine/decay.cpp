#include "engine/decay.hpp"

namespace stoverturn {

template <class Real>
DecayRates<Real> decay_rates(const CohortTraits<Real>& c, const Real* x) {
  using std::exp;
  const Real few = Real(1e-3) * x[closed];
  const Real LCI = (x[lignin] + c.lignin_share * few) / (x[holocellulose] + x[lignin] + few + Real(1e-12));
  DecayRates<Real> d;
  d.sol = c.k_sol * x[soluble];
  d.rem = c.k_rem * x[remains];
  d.lig = c.k_lig * x[lignin];
  d.hol = c.k_hol * exp(Real(-c.p_lig * LCI)) * x[holocellulose];
  d.opened = c.opening * x[closed];
  d.growth = c.e_sol * d.sol + c.e_hol * d.hol + c.e_lig * d.lig + c.e_rem * d.rem;
  d.death = c.k_dec * x[decomposers];
  return d;
}

template <class Real>
void add_decay(const CohortTraits<Real>& c, const DecayRates<Real>& d, const Real& f, const Real& l,
               Real* dxdt, Real* field_dxdt) {
  const Real fl = f * l;
  const Real respired_share = Real(1.0) - c.a_rem - c.a_som;
  dxdt[soluble] -= fl * d.sol;
  dxdt[closed] -= fl * d.opened;
  dxdt[holocellulose] += fl * ((Real(1.0) - c.lignin_share) * d.opened - d.hol);
  dxdt[lignin] += fl * (c.lignin_share * d.opened - d.lig);
  dxdt[decomposers] += fl * d.growth - f * d.death;
  dxdt[remains] += f * c.a_rem * d.death - fl * d.rem;
  field_dxdt[som_C] += f * c.a_som * d.death;
  field_dxdt[respired_C] += fl * (d.sol + d.hol + d.lig + d.rem - d.growth) + f * respired_share * d.death;
}

template DecayRates<double> decay_rates(const CohortTraits<double>&, const double*);
template DecayRates<Dual> decay_rates(const CohortTraits<Dual>&, const Dual*);
template DecayRates<Lanes> decay_rates(const CohortTraits<Lanes>&, const Lanes*);
template void add_decay(const CohortTraits<double>&, const DecayRates<double>&, const double&, const double&,
                        double*, double*);
template void add_decay(const CohortTraits<Dual>&, const DecayRates<Dual>&, const Dual&, const Dual&, Dual*,
                        Dual*);
template void add_decay(const CohortTraits<Lanes>&, const DecayRates<Lanes>&, const Lanes&, const Lanes&,
                        Lanes*, Lanes*);

}  // namespace stoverturn
