#include "engine/drivers.hpp"

namespace stoverturn {
namespace {

DayDrivers<double> day_of(const LoggedDay& log) {
  DayDrivers<double> day{};
  day.temperature_C.fill(log.temperature_C);
  day.water_mm_d.fill(log.water_mm);
  day.standing_wetness = log.wetness;
  day.surface_wetness = log.wetness;
  day.soil_temperature_C = log.temperature_C;
  day.pore_filling = log.pore_filling;
  day.water_potential_MPa = -0.033;
  day.surface_water_mm_d = log.water_mm;
  day.wind_factor = 1.0;
  return day;
}

/// Every number of a day, in one order for both driver types.
template <class D, class Day>
auto numbers_of(Day& day) {
  std::array<D*, 2 * placements + 11> numbers;
  std::size_t n = 0;
  for (D& x : day.temperature_C) numbers[n++] = &x;
  for (D& x : day.water_mm_d) numbers[n++] = &x;
  for (D* x : {&day.standing_wetness, &day.surface_wetness, &day.soil_temperature_C, &day.pore_filling,
               &day.water_potential_MPa, &day.surface_water_mm_d, &day.drained_top_d, &day.drained_sub_d,
               &day.crop_demand_g_m2_d, &day.cover_demand_g_m2_d, &day.wind_factor}) {
    numbers[n++] = x;
  }
  return numbers;
}

}  // namespace

Drivers<double> logged_drivers(std::chrono::sys_days start, const std::vector<LoggedDay>& log) {
  Drivers<double> drivers{start, {}};
  for (const LoggedDay& day : log) drivers.days.push_back(day_of(day));
  return drivers;
}

Drivers<double> constant_drivers(const ConstantConditions& c, int days) {
  return logged_drivers({}, std::vector<LoggedDay>(static_cast<std::size_t>(days),
                                                   {c.temperature_C, c.wetness, c.pore_filling, 0.0}));
}

Drivers<Lanes> in_lanes(const std::array<const Drivers<double>*, 8>& lanes) {
  Drivers<Lanes> joined{lanes[0]->start, std::vector<DayDrivers<Lanes>>(lanes[0]->days.size())};
  for (std::size_t d = 0; d < joined.days.size(); ++d) {
    const auto to = numbers_of<Lanes>(joined.days[d]);
    for (std::size_t lane = 0; lane < lanes.size(); ++lane) {
      const auto from = numbers_of<const double>(lanes[lane]->days[d]);
      for (std::size_t i = 0; i < to.size(); ++i) (*to[i])[static_cast<Eigen::Index>(lane)] = *from[i];
    }
  }
  return joined;
}

}  // namespace stoverturn
