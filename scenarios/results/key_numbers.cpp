#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/results/found_along.hpp"
#include "scenarios/results/run_scenario.hpp"
#include "scenarios/text/calendar.hpp"
#include "scenarios/weather/weather_years.hpp"

namespace stoverturn {
namespace {

using enum Dimension;

// series that people ask for at planting and after each year
constexpr std::string_view sampled[] = {
    "mass_left",
    "mass_left_by_component",
    "mass_left_by_placement",
    "soil_cover",
    "nitrogen_in_residue",
    "nitrogen_released",
    "phosphorus_released",
    "potassium_released",
    "sulfur_released",
    "value_released",
    "nitrogen_applied",
    "nitrogen_leached",
    "nitrogen_volatilised",
    "nitrogen_denitrified",
    "nitrogen_to_cover_crop",
    "nitrogen_to_crop",
    "residue_removed",
    "nitrogen_removed",
    "phosphorus_removed",
    "potassium_removed",
    "sulfur_removed",
    "value_removed",
    "cost_spent",
    "bales_sold",
    "net_value",
    "value_released_discounted",
    "cost_spent_discounted",
    "bales_sold_discounted",
    "net_value_discounted",
    "irrigation",
    "carbon_respired",
};

/// One treatment's stretch of a (treatment, time) series.
std::span<const double> stretch(const Results& r, std::string_view name, std::size_t t) {
  const std::size_t days = r.extent(time);
  return std::span(r.find(name).values).subspan(t * days, days);
}

/// mass_left_by_harvest of a treatment's first harvest.
std::span<const double> first_harvest_left(const Results& r, std::size_t t) {
  const std::size_t days = r.extent(time);
  return std::span(r.find("mass_left_by_harvest").values).subspan(t * r.harvests.size() * days, days);
}

void sample_at_checkpoints(const Scenario& scenario, Results& r, const std::vector<std::vector<int>>& days) {
  for (const std::string_view name : sampled) {
    const Variable& series = r.find(name);
    const std::size_t middle = series.dimensions.size() == 3 ? r.extent(series.dimensions[1]) : 1;
    Variable key{fmt::format("{}_at", name), series.kind, series.dimensions, series.meaning, "",
                 series.substance,           {}};
    key.dimensions.back() = checkpoint;
    for (std::size_t t = 0; t < scenario.treatments.size(); ++t) {
      for (std::size_t m = 0; m < middle; ++m) {
        for (const int day : days[t]) {
          const bool inside = day >= 0 && day < r.days;
          key.values.push_back(
              inside ? series.values[(t * middle + m) * r.extent(time) + static_cast<std::size_t>(day)]
                     : not_measured);
        }
      }
    }
    r.key_numbers.push_back(std::move(key));
  }
}

Variable declared(std::string name, Kind kind, std::string meaning, std::string substance = "") {
  return {std::move(name), kind, {treatment}, std::move(meaning), "", std::move(substance), {}};
}

/// What each harvest met and left: by treatment and harvest, NaN for harvests a treatment does not have.
void add_harvest_numbers(const Scenario& scenario, Results& r) {
  const auto by_harvest = [](std::string name, Kind kind, std::string meaning, std::string substance) {
    return Variable{std::move(name),      kind, {treatment, harvest}, std::move(meaning), "",
                    std::move(substance), {}};
  };
  Variable day =
      by_harvest("each_harvest_day", Kind::time, "days from the start of the run to the harvest", "");
  Variable added = by_harvest("each_harvest_dry_matter", Kind::mass_per_area, "residue that the harvest left",
                              "dry matter");
  Variable at_harvest = by_harvest("stock_before_harvest", Kind::mass_per_area,
                                   "residue of all earlier harvests on the day before", "dry matter");
  Variable at_planting = by_harvest(
      "stock_before_planting", Kind::mass_per_area,
      "residue of all harvests on the day before the last planting ahead of the harvest", "dry matter");
  for (std::size_t t = 0; t < scenario.treatments.size(); ++t) {
    const Treatment& plan = scenario.treatments[t];
    const std::span<const double> stock = stretch(r, "dry_matter", t);
    const auto on_day_before = [&](std::chrono::sys_days date) {
      const auto before = (date - r.start).count() - 1;
      return before < 0 || before >= r.days ? 0.0 : stock[static_cast<std::size_t>(before)];
    };
    for (std::size_t h = 0; h < r.harvests.size(); ++h) {
      const bool has = h < plan.harvests.size();
      const HarvestPlan* own = has ? &plan.harvests[h] : nullptr;
      day.values.push_back(has ? static_cast<double>((own->date - r.start).count()) : not_measured);
      added.values.push_back(has ? own->dry_matter_g_m2 : not_measured);
      at_harvest.values.push_back(has ? on_day_before(own->date) : not_measured);
      std::optional<std::chrono::sys_days> planting;
      for (const PlantedCrop& season : plan.crop_seasons) {
        if (h == 0 || !has || season.planting >= own->date) continue;
        if (season.planting >= plan.harvests[h - 1].date) planting = season.planting;
      }
      at_planting.values.push_back(planting ? on_day_before(*planting) : not_measured);
    }
  }
  for (Variable* v : {&day, &added, &at_harvest, &at_planting}) r.key_numbers.push_back(std::move(*v));
}

/// The names of the treatment that has most of them, then those that others have besides; the end is last.
std::vector<std::string> names_of_all(const std::vector<std::vector<Checkpoint>>& lists) {
  const auto longest = std::max_element(lists.begin(), lists.end(),
                                        [](const auto& a, const auto& b) { return a.size() < b.size(); });
  std::vector<std::string> names;
  bool ends = false;
  const auto add = [&](const std::vector<Checkpoint>& list) {
    for (const Checkpoint& c : list) {
      ends = ends || c.name == "end";
      if (c.name != "end" && std::find(names.begin(), names.end(), c.name) == names.end()) {
        names.push_back(c.name);
      }
    }
  };
  add(*longest);
  for (const std::vector<Checkpoint>& list : lists) add(list);
  if (ends) names.emplace_back("end");
  return names;
}

}  // namespace

CheckpointDays checkpoint_days(const std::vector<std::vector<Checkpoint>>& lists, std::chrono::sys_days start,
                               std::chrono::sys_days end) {
  CheckpointDays found{names_of_all(lists), {}};
  for (const std::vector<Checkpoint>& list : lists) {
    found.days.emplace_back();
    for (const std::string& name : found.names) {
      const auto own =
          std::find_if(list.begin(), list.end(), [&](const Checkpoint& c) { return c.name == name; });
      const bool reached = own != list.end() || name == "end";  // every treatment comes to the end
      const std::chrono::sys_days date = own != list.end() ? own->date : end;
      found.days.back().push_back(reached ? static_cast<int>((date - start).count()) : -1);
    }
  }
  return found;
}

std::vector<Checkpoint> checkpoints(const Treatment& t, std::chrono::sys_days end) {
  std::vector<Checkpoint> list;
  for (const PlantedCrop& season : t.crop_seasons) {
    if (season.planting <= t.first().date || season.planting > end) continue;
    list.push_back({fmt::format("planting {}", list.size() + 1), season.planting});
  }
  for (int y = 1; anniversary(t.first().date, y) <= end; ++y) {
    std::chrono::sys_days date = anniversary(t.first().date, y);
    const bool harvested = std::any_of(t.harvests.begin(), t.harvests.end(),
                                       [&](const HarvestPlan& h) { return h.date == date; });
    if (harvested) date -= std::chrono::days{1};
    list.push_back({fmt::format("year {}", y), date});
  }
  std::stable_sort(list.begin(), list.end(),
                   [](const Checkpoint& a, const Checkpoint& b) { return a.date < b.date; });
  if (list.empty() || list.back().date < end) list.push_back({"end", end});
  return list;
}

void add_key_numbers(const Scenario& scenario, Results& r) {
  const std::chrono::sys_days end = r.start + std::chrono::days{r.days - 1};
  std::vector<std::vector<Checkpoint>> lists;
  for (const Treatment& t : scenario.treatments) lists.push_back(checkpoints(t, end));
  const CheckpointDays at = checkpoint_days(lists, r.start, end);
  r.checkpoints = at.names;
  Variable when{"checkpoint_day",
                Kind::time,
                {treatment, checkpoint},
                "days from the start of the run to the checkpoint",
                "",
                "",
                {}};
  for (const std::vector<int>& days : at.days) {
    for (const int day : days) when.values.push_back(day >= 0 ? day : not_measured);
  }
  r.key_numbers.push_back(std::move(when));
  sample_at_checkpoints(scenario, r, at.days);

  Variable harvested =
      declared("harvest_day", Kind::time, "days from the start of the run to the first harvest");
  std::vector<Variable> found;
  for (const FoundNumber& n : found_numbers()) {
    found.push_back(declared(std::string(n.name), n.kind, std::string(n.meaning), std::string(n.substance)));
  }
  Variable cover =
      declared("mulch_difference", Kind::fraction,
               "largest difference between prescribed and modelled flat residue, over the most prescribed");
  Variable balance =
      declared("balance_error", Kind::mass_per_area, "largest residual of any element's balance");
  Variable mass =
      declared("residue_dry_matter", Kind::mass_per_area, "residue at the first harvest", "dry matter");
  for (std::size_t t = 0; t < scenario.treatments.size(); ++t) {
    const int harvest_day = static_cast<int>((scenario.treatments[t].first().date - r.start).count());
    harvested.values.push_back(harvest_day);
    const RunCourse course{first_harvest_left(r, t), stretch(r, "nitrogen_released", t), harvest_day};
    for (std::size_t i = 0; i < found.size(); ++i)
      found[i].values.push_back(found_numbers()[i].value(course));

    const std::span<const double> prescribed = stretch(r, "mulch_prescribed", t);
    const Variable& flat = r.find("dry_matter_by_placement");
    double largest = 0.0, highest = 0.0;
    for (std::size_t d = 0; d + 1 < r.extent(time); ++d) {
      const double modelled = flat.values[(t * r.placements.size() + 1) * r.extent(time) + d];
      largest = std::max(largest, std::abs(prescribed[d] - modelled));
      highest = std::max(highest, prescribed[d]);
    }
    const double difference = highest > 0.0 ? largest / highest : 0.0;
    cover.values.push_back(difference);
    if (difference > 0.3) {
      r.notes.push_back(
          fmt::format("'{}': the mulch that shades and insulates differs from the modelled residue by up "
                      "to {:.0f} %; set mulch_loss@{} nearer to its loss.",
                      scenario.treatments[t].label, 100.0 * difference, scenario.treatments[t].name));
    }

    const Variable& residual = r.find("balance_residual");
    const std::size_t stride = r.elements.size() * r.extent(time);
    double worst = 0.0;
    for (std::size_t i = 0; i < stride; ++i)
      worst = std::max(worst, std::abs(residual.values[t * stride + i]));
    balance.values.push_back(worst);
    mass.values.push_back(scenario.treatments[t].first().dry_matter_g_m2);
  }
  for (Variable* v : {&harvested, &mass}) r.key_numbers.push_back(std::move(*v));
  for (Variable& v : found) r.key_numbers.push_back(std::move(v));
  for (Variable* v : {&cover, &balance}) r.key_numbers.push_back(std::move(*v));
  add_harvest_numbers(scenario, r);
}

}  // namespace stoverturn
