#include "scenarios/results/series.hpp"

#include <array>

#include "engine/cover.hpp"
#include "scenarios/results/money.hpp"

namespace stoverturn {
namespace {

double stored(const std::vector<double>& list, int day) {
  // drivers hold one entry a day; the last time of a run has none and takes the day before
  if (list.empty()) return not_measured;
  return list[std::min(static_cast<std::size_t>(day), list.size() - 1)];
}

double nitrogen_released(const DayView& d) {
  return net_nitrogen_released<double>(d.N, d.field, d.job.field.CN_mic);
}

double sulfur_released(const DayView& d) { return d.field[to_soil_S] - d.field[fertiliser_in_S]; }

double value_released(const DayView& d) {
  return nutrient_value(d.scenario.prices, nitrogen_released(d), d.field[to_soil_P], d.field[to_soil_K],
                        sulfur_released(d));
}

double mass_left(const DayView& d) {
  return d.field[residue_in_C] > 0.0 ? d.of_harvests_g_m2 / d.harvested_g_m2 : not_measured;
}

// clang-format off
constexpr auto of_treatment = std::to_array<TreatmentSeries>({
  {"dry_matter", Kind::mass_per_area, "dry matter", "residue left", [](const DayView& d) { return d.dry_matter_g_m2; }},
  {"mass_left", Kind::fraction, "", "residue left, share of all that was harvested onto the field so far; without that of cover crops", mass_left},
  {"soil_cover", Kind::fraction, "", "soil covered by flat residue, 1 - exp(-A m) of Gregory 1982", [](const DayView& d) { return soil_cover(1.0, d.flat_cover); }},
  {"nitrogen_in_residue", Kind::mass_per_area, "N", "N in residue and the decomposers in it", [](const DayView& d) { return d.N; }},
  {"phosphorus_in_residue", Kind::mass_per_area, "P", "P in residue and the decomposers in it", [](const DayView& d) { return d.P; }},
  {"potassium_in_residue", Kind::mass_per_area, "K", "K in residue", [](const DayView& d) { return d.K; }},
  {"sulfur_in_residue", Kind::mass_per_area, "S", "S in residue and the decomposers in it", [](const DayView& d) { return d.S; }},
  {"nitrogen_released", Kind::mass_per_area, "N", "net mineral N given by residue since the first harvest; negative while N is tied up", nitrogen_released},
  {"phosphorus_released", Kind::mass_per_area, "P", "net P given to the soil since the first harvest", [](const DayView& d) { return d.field[to_soil_P]; }},
  {"potassium_released", Kind::mass_per_area, "K", "K given to the soil since the first harvest", [](const DayView& d) { return d.field[to_soil_K]; }},
  {"sulfur_released", Kind::mass_per_area, "S", "net S given to the soil since the first harvest", sulfur_released},
  {"value_released", Kind::money_per_area, "", "value of N, P2O5, K2O and S released since the first harvest at the file's prices", value_released},
  {"carbon_respired", Kind::mass_per_area, "C", "CO2-C respired since the first harvest", [](const DayView& d) { return d.field[respired_C]; }},
  {"carbon_to_soil", Kind::mass_per_area, "C", "C that dead decomposers handed to the soil and that is still there", [](const DayView& d) { return d.field[som_C]; }},
  {"ammonium", Kind::mass_per_area, "N", "ammonium N of the topsoil", [](const DayView& d) { return d.field[ammonium_N]; }},
  {"nitrate", Kind::mass_per_area, "N", "nitrate N of the topsoil", [](const DayView& d) { return d.field[nitrate_N]; }},
  {"subsoil_nitrate", Kind::mass_per_area, "N", "nitrate N below the topsoil to 1 m", [](const DayView& d) { return d.field[subsoil_nitrate_N]; }},
  {"nitrogen_on_surface", Kind::mass_per_area, "N", "urea and ammonium N lying on the surface", [](const DayView& d) { return d.field[surface_urea_N] + d.field[surface_urea_ammonium_N] + d.field[surface_ammonium_N]; }},
  {"nitrogen_applied", Kind::mass_per_area, "N", "N of fertiliser and manure since the start", [](const DayView& d) { return d.field[fertiliser_in_N]; }},
  {"nitrogen_leached", Kind::mass_per_area, "N", "nitrate N leached below 1 m since the start, of any origin", [](const DayView& d) { return d.field[leached_N]; }},
  {"nitrogen_volatilised", Kind::mass_per_area, "N", "ammonia N lost to the air since the start", [](const DayView& d) { return d.field[volatilised_N]; }},
  {"nitrogen_denitrified", Kind::mass_per_area, "N", "nitrate N of the topsoil lost to the air since the start", [](const DayView& d) { return d.field[denitrified_N]; }},
  {"nitrogen_in_manure", Kind::mass_per_area, "N", "organic N of manure, not yet or not to become mineral", [](const DayView& d) { return d.field[manure_N] + d.field[manure_stable_N]; }},
  {"nitrogen_in_cover_crop", Kind::mass_per_area, "N", "N in a living cover crop", [](const DayView& d) { return d.field[cover_N]; }},
  {"nitrogen_to_cover_crop", Kind::mass_per_area, "N", "N taken up by cover crops since the start; it stays in the field", [](const DayView& d) { return d.field[cover_N] + d.field[cover_returned_N]; }},
  {"nitrogen_to_crop", Kind::mass_per_area, "N", "N taken up by the following crops since the start", [](const DayView& d) { return d.field[crop_N]; }},
  {"residue_removed", Kind::mass_per_area, "dry matter", "residue baled or grazed since harvest", [](const DayView& d) { return d.field[removed_dry_matter]; }},
  {"nitrogen_removed", Kind::mass_per_area, "N", "N that left the field with residue since harvest, less what came back as dung and urine", [](const DayView& d) { return d.field[removed_N]; }},
  {"phosphorus_removed", Kind::mass_per_area, "P", "P that left the field with residue since harvest, likewise", [](const DayView& d) { return d.field[removed_P]; }},
  {"potassium_removed", Kind::mass_per_area, "K", "K that left the field with residue since harvest, likewise", [](const DayView& d) { return d.field[removed_K]; }},
  {"sulfur_removed", Kind::mass_per_area, "S", "S that left the field with residue since harvest, likewise", [](const DayView& d) { return d.field[removed_S]; }},
  {"value_removed", Kind::money_per_area, "", "value of N, P2O5, K2O and S that left the field with residue at the file's prices", [](const DayView& d) { return nutrient_value(d.scenario.prices, d.field[removed_N], d.field[removed_P], d.field[removed_K], d.field[removed_S]); }},
  {"irrigation", Kind::length, "", "water given since the start", [](const DayView& d) { return stored(d.made.irrigation_given_mm, d.day); }},
  {"organic_nitrogen_lost", Kind::mass_per_area, "N", "dissolved organic N carried below the topsoil since the start", [](const DayView& d) { return d.field[dom_out_N]; }},
  {"mulch_prescribed", Kind::mass_per_area, "dry matter", "flat residue that the drivers were computed with", [](const DayView& d) { return stored(d.made.climate.mulch_g_m2, d.day); }},
  {"snow_water", Kind::length, "", "snow pack as water", [](const DayView& d) { return stored(d.made.climate.snow_mm, d.day); }},
  {"soil_moisture", Kind::fraction, "", "water of the topsoil by volume", [](const DayView& d) { return stored(d.made.climate.soil_moisture, d.day); }},
});

constexpr auto of_cohort = std::to_array<CohortSeries>({
  {"cohort_dry_matter", Kind::mass_per_area, "dry matter", "dry matter", [](const CohortView& c) { return carbon_in(c.x) / c.traits.carbon; }, true},
  {"cohort_soluble_carbon", Kind::mass_per_area, "C", "solubles", [](const CohortView& c) { return c.x[soluble]; }, false},
  {"cohort_closed_carbon", Kind::mass_per_area, "C", "tissue that no decomposer has reached", [](const CohortView& c) { return c.x[closed]; }, false},
  {"cohort_holocellulose_carbon", Kind::mass_per_area, "C", "open holocellulose", [](const CohortView& c) { return c.x[holocellulose]; }, false},
  {"cohort_lignin_carbon", Kind::mass_per_area, "C", "open lignin", [](const CohortView& c) { return c.x[lignin]; }, false},
  {"cohort_decomposer_carbon", Kind::mass_per_area, "C", "decomposers", [](const CohortView& c) { return c.x[decomposers]; }, false},
  {"cohort_remains_carbon", Kind::mass_per_area, "C", "microbial remains", [](const CohortView& c) { return c.x[remains]; }, false},
  {"cohort_nitrogen", Kind::mass_per_area, "N", "N", [](const CohortView& c) { return element_in(c.traits, nitrogen, c.x); }, true},
  {"cohort_phosphorus", Kind::mass_per_area, "P", "P", [](const CohortView& c) { return element_in(c.traits, phosphorus, c.x); }, false},
  {"cohort_potassium", Kind::mass_per_area, "K", "K", [](const CohortView& c) { return c.x[potassium]; }, false},
  {"cohort_sulfur", Kind::mass_per_area, "S", "S", [](const CohortView& c) { return element_in(c.traits, sulfur, c.x); }, false},
});

constexpr auto of_climate = std::to_array<ClimateSeries>({
  {"residue_temperature", Kind::temperature, "temperature of residue", "", [](const DayDrivers<double>& d, std::size_t p) { return d.temperature_C[p]; }},
  {"residue_wetness", Kind::fraction, "own water of residue over capacity; for buried residue the water-filled pore space of soil", "", [](const DayDrivers<double>& d, std::size_t p) { return p == 0 ? d.standing_wetness : p == 1 ? d.surface_wetness : d.pore_filling; }},
  {"water_through", Kind::length_per_time, "water that passes through residue", "", [](const DayDrivers<double>& d, std::size_t p) { return d.water_mm_d[p]; }},
});
// clang-format on

}  // namespace

std::span<const TreatmentSeries> treatment_series() { return of_treatment; }
std::span<const CohortSeries> cohort_series() { return of_cohort; }
std::span<const ClimateSeries> climate_series() { return of_climate; }

}  // namespace stoverturn
