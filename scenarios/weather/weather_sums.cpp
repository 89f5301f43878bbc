#include "scenarios/weather/weather_sums.hpp"

#include <algorithm>

#include "engine/day_factors.hpp"
#include "engine/weather_drivers.hpp"
#include "scenarios/weather/weather_years.hpp"

namespace stoverturn {

WeatherSums weather_sums(const Weather& weather) {
  constexpr double residue_g_m2 = 900.0;
  const int years = whole_years(weather);
  const int days = years > 0 ? static_cast<int>((anniversary(weather.start, years) - weather.start).count())
                             : static_cast<int>(weather.days.size());
  WeatherDriversInput input;
  input.weather = &weather;
  input.start = weather.start;
  input.days = days;
  input.parameters = default_parameters();
  for (int day = 0; day < days; day += 365) {
    MulchEvent renewed;
    renewed.day = day;
    renewed.surface_kept = 0.0;
    renewed.surface_added = residue_g_m2;
    input.mulch.push_back(renewed);
  }
  const WeatherDrivers made = weather_drivers(input);

  WeatherSums sums;
  sums.penman_monteith = made.penman_monteith;
  const double capacity_mm = input.soil.field_capacity * input.parameters.topsoil_mm;
  for (std::size_t d = 0; d < made.drivers.days.size(); ++d) {
    const DayFactors<double> day = day_factors<double>(made.drivers.days[d], {}, input.parameters, {});
    sums.standing_d += day.f[0];
    sums.surface_d += day.f[1];
    sums.buried_d += day.f[2];
    sums.reference_ET_mm += made.reference_ET_mm[d];
    sums.drained_mm += made.drivers.days[d].drained_top_d * capacity_mm;
  }
  const double per_year = 365.25 / std::max(1, days);
  for (double* sum :
       {&sums.standing_d, &sums.surface_d, &sums.buried_d, &sums.reference_ET_mm, &sums.drained_mm}) {
    *sum *= per_year;
  }
  return sums;
}

}  // namespace stoverturn
