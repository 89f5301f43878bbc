#include <algorithm>
#include <cmath>

#include "scenarios/decide/planting.hpp"

namespace stoverturn {
namespace {

constexpr int week_d = 7, half_year_d = 180, latest_d = 60;
constexpr auto at_seed = static_cast<std::size_t>(Placement::buried);

template <class Value>
double mean_over(int first, int last, const Value& value) {
  double sum = 0.0;
  for (int d = first; d < last; ++d) sum += value(static_cast<std::size_t>(d));
  return sum / (last - first);
}

/// Of a day and the four before it.
double running_C(const WeatherDrivers& climate, int day) {
  return mean_over(day + 1 - days_of_mean, day + 1,
                   [&](std::size_t d) { return climate.drivers.days[d].temperature_C[at_seed]; });
}

double warm_day(const WeatherDrivers& climate, int first, int planting_day) {
  const int end = std::min(planting_day + latest_d + 1, static_cast<int>(climate.drivers.days.size()));
  for (int d = first; d < end; ++d) {
    if (running_C(climate, d) >= warm_soil_C) return d - planting_day;
  }
  return not_measured;
}

}  // namespace

Seedbed seedbed_around(const CoveredAndBare& climate, int planting_day, int from) {
  const WeatherDrivers &covered = climate.covered, &bare = climate.bare;
  Seedbed found{not_measured, not_measured, not_measured, not_measured,
                not_measured, not_measured, not_measured};
  const int first = planting_day - week_d, last = planting_day + week_d;
  if (first >= 0 && last <= static_cast<int>(covered.drivers.days.size())) {
    const auto seed_C = [](const WeatherDrivers& w) {
      return [&w](std::size_t d) { return w.drivers.days[d].temperature_C[at_seed]; };
    };
    const auto moisture = [](const WeatherDrivers& w) {
      return [&w](std::size_t d) { return w.soil_moisture[d]; };
    };
    found.seed_C = mean_over(first, last, seed_C(covered));
    found.seed_bare_C = mean_over(first, last, seed_C(bare));
    found.moisture = mean_over(first, last, moisture(covered));
    found.moisture_bare = mean_over(first, last, moisture(bare));
    if (covered.mulch_g_m2[static_cast<std::size_t>(planting_day)] > 0.0) {
      found.residue_wetness =
          mean_over(first, last, [&](std::size_t d) { return covered.drivers.days[d].surface_wetness; });
    }
  }
  const int begin = std::max({from, planting_day - half_year_d, 0}) + days_of_mean - 1;
  if (begin > planting_day || planting_day >= static_cast<int>(bare.drivers.days.size())) return found;
  int coldest = begin;
  for (int d = begin; d <= planting_day; ++d) {
    if (running_C(bare, d) < running_C(bare, coldest)) coldest = d;
  }
  found.warm_day = warm_day(covered, coldest, planting_day);
  found.warm_day_bare = warm_day(bare, coldest, planting_day);
  return found;
}

std::vector<std::vector<Seedbed>> seedbeds(const Ensemble& ensemble, const Climates& climates,
                                           const ForEach& for_each) {
  const Scenario& scenario = ensemble.scenario();
  const std::vector<Future>& futures = ensemble.futures();
  const std::chrono::sys_days start = ensemble.numbers().start;
  const Seedbed unknown{not_measured, not_measured, not_measured, not_measured,
                        not_measured, not_measured, not_measured};
  std::vector<std::vector<Seedbed>> all(scenario.treatments.size(),
                                        std::vector<Seedbed>(futures.size(), unknown));
  for_each(futures.size(), [&](std::size_t f) {
    const Climates then = climates_in(scenario, climates, futures[f]);
    for (std::size_t t = 0; t < all.size(); ++t) {
      const Treatment& treatment = scenario.treatments[t];
      if (treatment.conditions) continue;
      const auto planted =
          std::find_if(treatment.crop_seasons.begin(), treatment.crop_seasons.end(),
                       [&](const PlantedCrop& p) { return p.planting > treatment.first().date; });
      if (planted == treatment.crop_seasons.end()) continue;
      all[t][f] = seedbed_around(covered_and_bare(scenario, treatment, then, scenario.planting.seed_mm),
                                 static_cast<int>((planted->planting - start).count()),
                                 static_cast<int>((treatment.first().date - start).count()));
    }
  });
  return all;
}

}  // namespace stoverturn
