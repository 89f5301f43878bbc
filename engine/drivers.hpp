#pragma once
#include <array>
#include <chrono>
#include <vector>

#include "engine/layout.hpp"
#include "engine/scalar.hpp"

namespace stoverturn {

/// The residue's own climate on one day; constant within the day.     docs/model.md, section 4
/// `D` is double, or Lanes for eight runs with climates of their own.
template <class D>
struct DayDrivers {
  std::array<D, placements> temperature_C;  ///< of the residue, by Placement
  std::array<D, placements> water_mm_d;     ///< by Placement; moist soil adds more, Eq. 22
  D standing_wetness, surface_wetness;      ///< own water of residue relative to capacity, 0 to 1
  D soil_temperature_C;                     ///< middle of the topsoil
  D pore_filling;                           ///< water-filled pore space of the topsoil, 0 to 1
  D water_potential_MPa;                    ///< of the topsoil
  D surface_water_mm_d;                     ///< w_0, rain and melt that reach the surface
  D drained_top_d;                          ///< w_top, drainage over water held at field capacity, d-1
  D drained_sub_d;                          ///< w_sub, likewise to 1 m
  D crop_demand_g_m2_d;                     ///< mineral N a crop would take
  D cover_demand_g_m2_d;                    ///< likewise a cover crop
  D wind_factor;                            ///< on the loss of ammonia, 1 where wind is not known
};

/// THE interface between a climate and the engine: consecutive days from `start`. Daily weather, constant
/// conditions, a log of a tub or a generator each make one; simulations share it and never change it.
template <class D>
struct Drivers {
  std::chrono::sys_days start{};
  std::vector<DayDrivers<D>> days;
};

/// Constant conditions, as in a jar or an incubator: no water drains.
struct ConstantConditions {
  double temperature_C = 25.0;
  double wetness = 1.0;       ///< of residue in the open, 0 to 1
  double pore_filling = 0.6;  ///< of the soil, 0 to 1
};
Drivers<double> constant_drivers(const ConstantConditions& conditions, int days);

/// One day of a log: a tub or a jar that is watered by hand and read by a sensor.
struct LoggedDay {
  double temperature_C = 25.0;
  double wetness = 1.0;
  double pore_filling = 0.6;
  double water_mm = 0.0;  ///< poured on; all of it passes the residue, none leaves the topsoil
};
Drivers<double> logged_drivers(std::chrono::sys_days start, const std::vector<LoggedDay>& log);

/// Eight climates side by side. All must hold as many days.
Drivers<Lanes> in_lanes(const std::array<const Drivers<double>*, 8>& lanes);

}  // namespace stoverturn
