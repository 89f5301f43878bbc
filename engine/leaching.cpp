#include "engine/leaching.hpp"

namespace stoverturn {

template <class Real>
void add_leaching(const CohortTraits<Real>& c, const Real& water_mm_d, const Real* x, Real* dxdt,
                  Real* field_dxdt) {
  const Real z = x[closed] / (x[closed] + x[holocellulose] + x[lignin] + Real(1e-12));
  const Real wetted = (Real(1.0) - c.b_closed * z) * water_mm_d;
  const Real solubles = c.k_wash_sol * wetted * x[soluble];
  const Real K = c.k_leach * wetted * x[potassium];
  const Real Pi = c.k_leach * wetted * x[phosphate];
  dxdt[soluble] -= solubles;
  dxdt[potassium] -= K;
  dxdt[phosphate] -= Pi;
  field_dxdt[dom_C] += solubles;
  field_dxdt[dom_N] += c.q_sol[nitrogen] * solubles;
  field_dxdt[dom_P] += c.q_sol[phosphorus] * solubles;
  field_dxdt[dom_S] += c.q_sol[sulfur] * solubles;
  field_dxdt[to_soil_K] += K;
  field_dxdt[to_soil_P] += Pi;
}

template void add_leaching(const CohortTraits<double>&, const double&, const double*, double*, double*);
template void add_leaching(const CohortTraits<Dual>&, const Dual&, const Dual*, Dual*, Dual*);
template void add_leaching(const CohortTraits<Lanes>&, const Lanes&, const Lanes*, Lanes*, Lanes*);

}  // namespace stoverturn
