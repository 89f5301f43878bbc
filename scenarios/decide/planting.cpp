#include "scenarios/decide/planting.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/plan/crop_seasons.hpp"

namespace stoverturn {
namespace {

constexpr double level_within = 0.05;
constexpr std::size_t years_apart = 3;

void ask_for(EnsemblePlan& plan, const std::vector<std::string>& numbers) {
  plan.numbers.clear();
  for (const std::string& name : numbers) plan.numbers.push_back({name, {}});
  plan.dates.clear();
  plan.days_after.clear();
  plan.series.clear();
  plan.quantiles = {0.0, 0.1, 0.5, 0.9, 1.0};
  plan.sites_file.clear();
}

std::string length_in(const Scenario& scenario, double mm) {
  return scenario.units == "us" ? fmt::format("{:.3g} in", mm / 25.4) : fmt::format("{:.3g} mm", mm);
}

/// Labels of treatments with passes, products or removals that do not come every year.
std::vector<std::string> with_single_events(const Scenario& planting_day, const Scenario& years) {
  std::vector<std::string> labels;
  for (std::size_t t = 0; t < years.treatments.size(); ++t) {
    const Treatment& once = planting_day.treatments[t];
    const Treatment& repeated = years.treatments[t];
    if (repeated.events.size() < once.events.size() * (repeated.harvests.size() - 1)) {
      labels.push_back(repeated.label);
    }
  }
  return labels;
}

}  // namespace

void require_planting(const Scenario& scenario) {
  const bool named = std::all_of(scenario.treatments.begin(), scenario.treatments.end(), named_next_crop);
  if (named) return;
  const std::optional<ConditionsPlan>& conditions = scenario.treatments.front().conditions;
  Position at = scenario.weather ? scenario.weather->at : conditions ? conditions->at : Position{};
  at.line = at.column = 0;
  throw InputError({{at,
                     "planting looks at the day on which the next crop is planted; write [next_crop] with "
                     "planting = \"05-05\" and, so that it takes N, nitrogen = \"160 lb/acre\""}});
}

bool has_own_harvests(const Scenario& scenario) {
  return std::any_of(scenario.treatments.begin(), scenario.treatments.end(),
                     [](const Treatment& t) { return t.harvests.size() > 1; });
}

std::string with_same_harvests(std::string_view text) { return std::string(text) + "\n[[rotation]]\n"; }

void ask_for_planting_day(Scenario& scenario) {
  std::vector<std::string> numbers = {"soil_cover", "dry_matter", "nitrogen_released"};
  for (const TreatmentSeries& s : planting_series()) numbers.emplace_back(s.name);
  ask_for(scenario.ensemble, numbers);
}

void ask_for_build_up(Scenario& scenario) { ask_for(scenario.ensemble, {"dry_matter"}); }

StockTrend stock_trend(std::span<const double> stocks) {
  StockTrend trend;
  const std::size_t n = stocks.size();
  const double last = stocks[n - 1];
  trend.change = last > 0.0 ? (last - stocks[n - 1 - years_apart]) / last : 0.0;
  for (std::size_t i = n - years_apart; i < n; ++i) trend.level += stocks[i] / years_apart;
  trend.levels_off = std::abs(trend.change) < level_within;
  trend.from = n;
  while (trend.from > 0 && std::abs(stocks[trend.from - 1] - trend.level) <= level_within * trend.level) {
    --trend.from;
  }
  return trend;
}

std::vector<std::string> planting_notes(const Scenario& planting_day, const Scenario* repeated) {
  const PlantingPlan& plan = planting_day.planting;
  std::vector<std::string> notes;
  notes.push_back(
      "Nitrogen tied up is what these weather years brought, as a range. It is not a rate to apply: what the "
      "soil supplies, manure, the crop before and what leaches count too. Agree rate and date with a "
      "licensed "
      "or certified adviser; state and local rules come first.");
  notes.push_back(fmt::format(
      "Cover is that of flat residue on planting day, after the passes of that day but before the planter; "
      "{:.0f} % is the usual threshold of conservation tillage in the US. A program may measure otherwise.",
      100.0 * conservation_cover));
  notes.push_back(fmt::format(
      "Short pieces are those up to {} (an assumption, `short_pieces` under [planting]): flat, they can "
      "gather in the seed row. Lengths are as the file cut them; weathering and the planter do not shorten "
      "them.",
      length_in(planting_day, plan.short_mm)));
  notes.push_back(fmt::format(
      "The seedbed is at {}, in the week before and the week from planting on, against the same soil in the "
      "same weather with no residue since harvest. It is warm when {} days in a row average 10 degC "
      "(50 degF). In the model residue keeps water and slows the soil down, in warm spells and cold ones; it "
      "does not reflect sunlight, and no row is cleaned. Under corn residue the soil was 0 to 1.5 degC (0 to "
      "2.7 degF) colder after planting (Shen et al. 2018), which may be more than here.",
      length_in(planting_day, plan.seed_mm), days_of_mean));
  if (repeated) {
    notes.push_back(fmt::format(
        "Build-up: the same harvest every year for {} years, on soil without older residue at the first. It "
        "levels off when the mean of the runs changes by less than {:.0f} % in the last three years.",
        plan.build_up_years, 100.0 * level_within));
  } else {
    notes.push_back(fmt::format(
        "Build-up: the harvests of the file over {} years. It levels off when the mean of the runs changes "
        "by less than {:.0f} % in the last three years.",
        plan.build_up_years, 100.0 * level_within));
  }
  if (!repeated) return notes;
  for (const std::string& label : with_single_events(planting_day, *repeated)) {
    notes.push_back(
        fmt::format("Build-up of '{}': some of its events have a date of one year and come once; write "
                    "date = \"05-04\" (month-day) or after_harvest for those of every year.",
                    label));
  }
  return notes;
}

}  // namespace stoverturn
