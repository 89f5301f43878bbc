#pragma once
#include "engine/drivers.hpp"
#include "engine/moisture_response.hpp"
#include "engine/temperature_response.hpp"

namespace stoverturn {

/// Which published form each response takes.
struct ResponseForms {
  TemperatureForm temperature = TemperatureForm::lloyd_taylor;
  MoistureForm moisture = MoistureForm::pore_space;
  bool operator==(const ResponseForms&) const = default;
};

/// All that the right-hand side needs of a day, computed once a day.
template <class Real>
struct DayFactors {
  std::array<Real, placements> f;           ///< climate factor f_T f_W f_frost, by Placement
  std::array<Real, placements> water_mm_d;  ///< that washes the residue, by Placement
  Real f_soil;                              ///< climate factor of the topsoil
  Real f_T_surface;                         ///< temperature factor where fertiliser lies
  Real nitrification_d;                     ///< k_nit f_nit, d-1
  Real denitrification_d;                   ///< of topsoil nitrate, d-1
  Real urea_loss_d, ammonium_loss_d;        ///< ammonia from A_u and A_s, d-1
  Driver<Real> surface_water_mm_d, drained_top_d, drained_sub_d, crop_demand_g_m2_d, cover_demand_g_m2_d;
};

/// docs/model.md, Eq. 22
///   standing  f_T(T) f_frost(T) own water
///   surface   f_T(T) f_frost(T) [(1 - r_c) own water + r_c f_W(soil)]
///   buried    f_T(T) f_frost(T) f_W(soil);   water: that of the day + soak pore_filling f_frost(T)
/// `pH` holds the factors of the soil's pH, which does not change in a run.
struct SoilReaction {
  double nitrification = 1.0;  ///< nitrification_pH
  double ammonia = 1.0;        ///< ammonia_pH, engine/ammonia.hpp
};
SoilReaction soil_reaction(double pH);
template <class Real>
DayFactors<Real> day_factors(const DayDrivers<Driver<Real>>& day, const ResponseForms& forms,
                             const Parameters<Real>& field, const SoilReaction& pH);

/// 1 from pH 7 up, 0.3 at pH 5, linear through both, never below 0.05.   docs/model.md, Eq. 16
double nitrification_pH(double pH);

}  // namespace stoverturn
