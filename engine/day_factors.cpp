#include "engine/day_factors.hpp"

#include <algorithm>

#include "engine/ammonia.hpp"
#include "engine/denitrification.hpp"

namespace stoverturn {

double nitrification_pH(double pH) { return std::clamp(0.3 + 0.35 * (pH - 5.0), 0.05, 1.0); }

SoilReaction soil_reaction(double pH) { return {nitrification_pH(pH), ammonia_pH(pH)}; }

template <class Real>
DayFactors<Real> day_factors(const DayDrivers<Driver<Real>>& day, const ResponseForms& forms,
                             const Parameters<Real>& p, const SoilReaction& pH) {
  const Real f_W_soil = moisture_response<Real>(forms.moisture, p, day.pore_filling, day.water_potential_MPa);
  const std::array<Real, placements> f_W = {
      Real(day.standing_wetness),
      Real((Real(1.0) - p.contact) * day.surface_wetness + p.contact * f_W_soil),
      f_W_soil,
  };
  DayFactors<Real> factors;
  for (std::size_t i = 0; i < placements; ++i) {
    const Real f_T = temperature_response<Real>(forms.temperature, p, day.temperature_C[i]);
    factors.f[i] = f_T * f_W[i] * frost_response<Real>(p, day.temperature_C[i]);
    if (i == static_cast<std::size_t>(Placement::surface)) factors.f_T_surface = f_T;
  }
  const Real thawed = frost_response<Real>(p, day.soil_temperature_C);
  constexpr auto buried = static_cast<std::size_t>(Placement::buried);
  for (std::size_t i = 0; i < placements; ++i) factors.water_mm_d[i] = Real(day.water_mm_d[i]);
  factors.water_mm_d[buried] +=
      p.soak_mm_d * day.pore_filling * frost_response<Real>(p, day.temperature_C[buried]);
  factors.f_soil =
      temperature_response<Real>(forms.temperature, p, day.soil_temperature_C) * f_W_soil * thawed;
  factors.nitrification_d =
      p.k_nit * pH.nitrification * nitrification_temperature(day.soil_temperature_C) * f_W_soil * thawed;
  factors.denitrification_d =
      denitrification_rate<Real>(p, day.pore_filling, day.soil_temperature_C) * thawed;
  const Real loss_d = p.k_vol * factors.f_T_surface * day.wind_factor;
  factors.urea_loss_d = loss_d * p.c_urea;
  factors.ammonium_loss_d = loss_d * p.c_ammonium * pH.ammonia;
  factors.surface_water_mm_d = day.surface_water_mm_d;
  factors.drained_top_d = day.drained_top_d;
  factors.drained_sub_d = day.drained_sub_d;
  factors.crop_demand_g_m2_d = day.crop_demand_g_m2_d;
  factors.cover_demand_g_m2_d = day.cover_demand_g_m2_d;
  return factors;
}

template DayFactors<double> day_factors(const DayDrivers<double>&, const ResponseForms&,
                                        const Parameters<double>&, const SoilReaction&);
template DayFactors<Dual> day_factors(const DayDrivers<double>&, const ResponseForms&,
                                      const Parameters<Dual>&, const SoilReaction&);
template DayFactors<Lanes> day_factors(const DayDrivers<Lanes>&, const ResponseForms&,
                                       const Parameters<Lanes>&, const SoilReaction&);

}  // namespace stoverturn
