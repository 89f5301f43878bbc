#include "engine/soil_organic.hpp"

namespace stoverturn {

template <class Real>
Demand<Real> dissolved_demand(const Parameters<Real>& p, const MicrobialRatios<Real>& q_mic, const Real* x) {
  const Real growth = p.e_sol * p.k_sol * x[dom_C];
  return demand<Real>(growth * q_mic[nitrogen], p.k_sol * x[dom_N], Real(0.0));
}

template <class Real>
void add_soil_organic(const Parameters<Real>& p, const MicrobialRatios<Real>& q_mic,
                      const DayFactors<Real>& day, const Real& l, const Real* x, Real* dxdt) {
  const Real decay_d = day.f_soil * l * p.k_sol;
  const Real decayed_C = decay_d * x[dom_C];
  const Real growth_C = p.e_sol * decayed_C;
  const Real decayed_P = decay_d * x[dom_P];
  const Real decayed_S = decay_d * x[dom_S];
  dxdt[dom_C] -= decayed_C;
  dxdt[dom_N] -= decay_d * x[dom_N];
  dxdt[dom_P] -= decayed_P;
  dxdt[dom_S] -= decayed_S;
  dxdt[respired_C] += decayed_C - growth_C;
  dxdt[som_C] += growth_C;
  dxdt[to_soil_P] += decayed_P - growth_C * q_mic[phosphorus];
  dxdt[to_soil_S] += decayed_S - growth_C * q_mic[sulfur];

  const Real down = Real(day.drained_top_d);
  const Real down_C = down * x[dom_C], down_N = down * x[dom_N];
  const Real down_P = down * x[dom_P], down_S = down * x[dom_S];
  dxdt[dom_C] -= down_C;
  dxdt[dom_N] -= down_N;
  dxdt[dom_P] -= down_P;
  dxdt[dom_S] -= down_S;
  dxdt[dom_out_C] += down_C;
  dxdt[dom_out_N] += down_N;
  dxdt[dom_out_P] += down_P;
  dxdt[dom_out_S] += down_S;

  const Real som_decayed = p.k_som * day.f_soil * x[som_C];
  dxdt[som_C] -= som_decayed;
  dxdt[respired_C] += som_decayed;
  dxdt[ammonium_N] += som_decayed * q_mic[nitrogen];
  dxdt[to_soil_P] += som_decayed * q_mic[phosphorus];
  dxdt[to_soil_S] += som_decayed * q_mic[sulfur];
}

template Demand<double> dissolved_demand(const Parameters<double>&, const MicrobialRatios<double>&,
                                         const double*);
template Demand<Dual> dissolved_demand(const Parameters<Dual>&, const MicrobialRatios<Dual>&, const Dual*);
template Demand<Lanes> dissolved_demand(const Parameters<Lanes>&, const MicrobialRatios<Lanes>&,
                                        const Lanes*);
template void add_soil_organic(const Parameters<double>&, const MicrobialRatios<double>&,
                               const DayFactors<double>&, const double&, const double*, double*);
template void add_soil_organic(const Parameters<Dual>&, const MicrobialRatios<Dual>&, const DayFactors<Dual>&,
                               const Dual&, const Dual*, Dual*);
template void add_soil_organic(const Parameters<Lanes>&, const MicrobialRatios<Lanes>&,
                               const DayFactors<Lanes>&, const Lanes&, const Lanes*, Lanes*);

}  // namespace stoverturn
