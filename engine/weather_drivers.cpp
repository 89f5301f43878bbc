#include "engine/weather_drivers.hpp"

#include <algorithm>
#include <cmath>

#include "engine/ammonia.hpp"
#include "engine/cover.hpp"
#include "engine/errors.hpp"
#include "engine/evapotranspiration.hpp"
#include "engine/residue_water.hpp"
#include "engine/snow.hpp"
#include "engine/soil_temperature.hpp"
#include "engine/soil_water.hpp"

namespace stoverturn {
namespace {

double mean_of(const WeatherDay& w) { return 0.5 * (w.tmin_C + w.tmax_C); }

double year_mean_C(const Weather& weather) {
  double sum = 0.0;
  const std::size_t whole_years = weather.days.size() / 365 * 365;
  const std::size_t counted = whole_years > 0 ? whole_years : weather.days.size();
  for (std::size_t i = 0; i < counted; ++i) sum += mean_of(weather.days[i]);
  return sum / static_cast<double>(counted);
}

int day_of_year(std::chrono::sys_days day) {
  const std::chrono::year_month_day date{day};
  return static_cast<int>((day - std::chrono::sys_days{date.year() / 1 / 1}).count()) + 1;
}

bool has_penman_monteith(const WeatherDay& w) {
  return std::isfinite(w.radiation_MJ_m2) && std::isfinite(w.humidity_percent);
}

double reference_ET_mm(const WeatherDay& w, double latitude_deg, double elevation_m, int doy) {
  const double Ra = extraterrestrial_radiation_MJ_m2(latitude_deg, doy);
  if (!has_penman_monteith(w)) return hargreaves_mm(w.tmin_C, w.tmax_C, Ra);
  const double e_s = 0.5 * (saturation_vapour_kPa(w.tmin_C) + saturation_vapour_kPa(w.tmax_C));
  return penman_monteith_mm({.tmin_C = w.tmin_C,
                             .tmax_C = w.tmax_C,
                             .vapour_kPa = 0.01 * w.humidity_percent * e_s,
                             .wind_m_s = std::isfinite(w.wind_m_s) ? w.wind_m_s : usual_wind_m_s,
                             .radiation_MJ_m2 = w.radiation_MJ_m2,
                             .extraterrestrial_MJ_m2 = Ra,
                             .elevation_m = elevation_m});
}

/// Everything above and below ground that has a memory from day to day.
struct Ground {
  SnowPack snow;
  Mulch mulch;
  ResidueWater standing_water, surface_water;
  SoilWater water;
  SoilTemperature at_surface, at_middle, at_burial;
};

/// All that grows on a day: the largest coefficient, and the sum of demands.
CropDay growing(const std::vector<CropCourse>& courses, int day) {
  CropDay sum;
  for (const CropCourse& course : courses) {
    const long i = static_cast<long>(day) - course.planting_day;
    if (i < 0 || i >= static_cast<long>(course.days.size())) continue;
    const CropDay& grown = course.days[static_cast<std::size_t>(i)];
    sum.basal_coefficient = std::max(sum.basal_coefficient, grown.basal_coefficient);
    sum.nitrogen_g_m2_d += grown.nitrogen_g_m2_d;
  }
  return sum;
}

constexpr double least_mass_g_m2 = 50.0;  // keeps the wetness of vanishing residue defined

double capacity_mm(const Parameters<double>& p, double mass_g_m2) {
  return 1e-3 * p.residue_capacity * std::max(mass_g_m2, least_mass_g_m2);
}

}  // namespace

WeatherDrivers weather_drivers(const WeatherDriversInput& in) {
  const Weather& weather = *in.weather;
  const Parameters<double>& p = in.parameters;
  const int lead = static_cast<int>((in.start - weather.start).count());
  if (weather.days.empty() || lead < 0 || lead + in.days > static_cast<int>(weather.days.size())) {
    throw JobError("the weather does not cover the run");
  }
  const double year_C = year_mean_C(weather);
  const double lower_mm = p.subsoil_mm - p.topsoil_mm;

  const double first_C = mean_of(weather.days.front());
  Ground g{{}, {}, {}, {}, {}, {20.0, first_C}, {100.0, first_C}, {in.burial_depth_mm, first_C}};
  g.water.top_mm = in.soil.field_capacity * p.topsoil_mm;
  g.water.sub_mm = in.soil.field_capacity * lower_mm;

  WeatherDrivers out;
  out.drivers.start = in.start;
  std::size_t next_event = 0, next_irrigation = 0;
  std::optional<RuledIrrigation> rule;
  if (in.irrigation_rule) rule.emplace(*in.irrigation_rule);
  for (int day = -lead; day < in.days; ++day) {
    const WeatherDay& w = weather.days[static_cast<std::size_t>(day + lead)];
    const double air_C = mean_of(w);
    for (; next_event < in.mulch.size() && in.mulch[next_event].day <= day; ++next_event) {
      g.mulch.apply(in.mulch[next_event]);
    }
    const CropDay crop = growing(in.crops, day), cover = growing(in.covers, day);
    const double basal = std::max(crop.basal_coefficient, cover.basal_coefficient);

    const double ET0 = reference_ET_mm(w, weather.latitude_deg, weather.elevation_m,
                                       day_of_year(in.start + std::chrono::days{day}));
    double irrigation_mm = 0.0;
    if (day >= 0 && rule) {
      irrigation_mm +=
          rule->water_mm(in.start + std::chrono::days{day}, in.soil, p.topsoil_mm, g.water.top_mm);
    }
    for (; next_irrigation < in.irrigations.size() && in.irrigations[next_irrigation].day <= day;
         ++next_irrigation) {
      irrigation_mm += in.irrigations[next_irrigation].water_mm;
    }
    const double old_snow_mm = w.snow_depth_mm == 0.0 ? g.snow.gone() : 0.0;
    const double water_mm =
        old_snow_mm + g.snow.step(air_C, w.rain_mm, p.snow_C, p.snow_melt_mm) + irrigation_mm;
    const bool snowed_under = std::isfinite(w.snow_depth_mm) ? w.snow_depth_mm >= 50.0 : g.snow.covers();
    const double drying = snowed_under ? 0.0 : p.residue_drying * ET0;

    const ResidueWater::Day standing = g.standing_water.step(
        p.standing_water * water_mm, capacity_mm(p, g.mulch.standing_g_m2), p.residue_drying * ET0);
    const ResidueWater::Day surface =
        g.surface_water.step(water_mm, capacity_mm(p, g.mulch.surface_g_m2), drying);
    const double kept_mm = (g.mulch.standing_g_m2 > least_mass_g_m2 ? standing.intercepted_mm : 0.0) +
                           (g.mulch.surface_g_m2 > least_mass_g_m2 ? surface.intercepted_mm : 0.0);
    const double infiltration_mm = std::max(0.0, water_mm - kept_mm);

    const double shaded = p.mulch_shade * soil_cover(p.cover_m2_g, g.mulch.surface_g_m2);
    SoilWater::Day soil = g.water.step(in.soil, p.topsoil_mm, p.subsoil_mm, p.k_drain, infiltration_mm,
                                       {snowed_under ? 0.0 : ET0, basal, shaded});
    if (std::isfinite(w.soil_moisture_m3_m3)) soil.moisture = w.soil_moisture_m3_m3;

    const double insulation = (snowed_under ? p.snow_insulation : 1.0) *
                              std::exp(-p.mulch_insulation * 1e-3 * g.mulch.surface_g_m2);
    for (SoilTemperature* t : {&g.at_surface, &g.at_middle, &g.at_burial}) {
      t->step(air_C, year_C, p.diffusivity_mm2_s, insulation);
    }
    if (std::isfinite(w.soil_temperature_C)) {
      g.at_middle.measured(w.soil_temperature_C);
      g.at_burial.measured(w.soil_temperature_C);
    }
    const double near_C = g.at_surface.value_C();
    const double over_C = snowed_under ? near_C + p.snow_insulation * (air_C - near_C) : air_C;

    if (day >= 0) {
      DayDrivers<double> d{};
      d.temperature_C = {air_C, 0.5 * (over_C + near_C), g.at_burial.value_C()};
      d.water_mm_d = {p.standing_water * water_mm, water_mm, infiltration_mm};
      d.standing_wetness = standing.wetness;
      d.surface_wetness = surface.wetness;
      d.soil_temperature_C = g.at_middle.value_C();
      d.pore_filling = std::min(1.0, soil.moisture / in.soil.porosity);
      d.water_potential_MPa = in.soil.water_potential_MPa(soil.moisture);
      d.surface_water_mm_d = infiltration_mm;
      d.drained_top_d = soil.drained_top_mm / (in.soil.field_capacity * p.topsoil_mm);
      d.drained_sub_d = soil.drained_sub_mm / (in.soil.field_capacity * lower_mm);
      d.crop_demand_g_m2_d = crop.nitrogen_g_m2_d;
      d.cover_demand_g_m2_d = cover.nitrogen_g_m2_d;
      d.wind_factor = wind_factor(w.wind_m_s, p.wind_power);
      out.drivers.days.push_back(d);
      out.mulch_g_m2.push_back(g.mulch.surface_g_m2);
      out.reference_ET_mm.push_back(ET0);
      out.snow_mm.push_back(g.snow.water_mm);
      out.soil_moisture.push_back(soil.moisture);
      out.irrigation_mm.push_back(irrigation_mm);
      out.penman_monteith = out.penman_monteith || has_penman_monteith(w);
    }
    g.mulch.step(p.mulch_loss, p.k_fall);
  }
  return out;
}

}  // namespace stoverturn
