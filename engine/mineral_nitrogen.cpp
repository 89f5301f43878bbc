#include "engine/mineral_nitrogen.hpp"

namespace stoverturn {

template <class Real>
void add_mineral_nitrogen(const Parameters<Real>& p, const DayFactors<Real>& day, const Real* x, Real* dxdt) {
  const Real wash_d = p.k_wash * day.surface_water_mm_d;

  const Real hydrolysed = p.k_hyd * day.f_T_surface * x[surface_urea_N];
  const Real urea_washed_in = wash_d * x[surface_urea_N];
  const Real urea_ammonium_in = (wash_d + p.k_in) * x[surface_urea_ammonium_N];
  const Real ammonium_in = (wash_d + p.k_in) * x[surface_ammonium_N];
  const Real urea_lost = day.urea_loss_d * x[surface_urea_ammonium_N];
  const Real ammonium_lost = day.ammonium_loss_d * x[surface_ammonium_N];
  const Real background = p.N_bg * day.f_soil;
  const Real from_manure = p.k_man * day.f_soil * x[manure_N];
  const Real nitrified = day.nitrification_d * x[ammonium_N];
  const Real denitrified = day.denitrification_d * x[nitrate_N];
  const Real to_subsoil = day.drained_top_d * x[nitrate_N];
  const Real leached = day.drained_sub_d * x[subsoil_nitrate_N];
  const Real N = x[ammonium_N] + x[nitrate_N] + x[subsoil_nitrate_N];
  const Real of_N = Real(1.0) / (N + Real(0.5));
  const Real crop_d = day.crop_demand_g_m2_d * of_N;
  const Real cover_d = day.cover_demand_g_m2_d * of_N;
  const Real taken_d = crop_d + cover_d;

  dxdt[surface_urea_N] -= hydrolysed + urea_washed_in;
  dxdt[surface_urea_ammonium_N] += hydrolysed - urea_ammonium_in - urea_lost;
  dxdt[surface_ammonium_N] -= ammonium_in + ammonium_lost;
  dxdt[ammonium_N] += urea_washed_in + urea_ammonium_in + ammonium_in + background + p.deposition_N +
                      from_manure - nitrified - taken_d * x[ammonium_N];
  dxdt[nitrate_N] += nitrified - to_subsoil - denitrified - taken_d * x[nitrate_N];
  dxdt[subsoil_nitrate_N] += to_subsoil - leached - taken_d * x[subsoil_nitrate_N];
  dxdt[manure_N] -= from_manure;
  dxdt[cover_N] += cover_d * N;

  dxdt[deposition_in_N] += p.deposition_N;
  dxdt[background_in_N] += background;
  dxdt[volatilised_N] += urea_lost + ammonium_lost;
  dxdt[denitrified_N] += denitrified;
  dxdt[leached_N] += leached;
  dxdt[crop_N] += crop_d * N;
}

template void add_mineral_nitrogen(const Parameters<double>&, const DayFactors<double>&, const double*,
                                   double*);
template void add_mineral_nitrogen(const Parameters<Dual>&, const DayFactors<Dual>&, const Dual*, Dual*);
template void add_mineral_nitrogen(const Parameters<Lanes>&, const DayFactors<Lanes>&, const Lanes*, Lanes*);

}  // namespace stoverturn
