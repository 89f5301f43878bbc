#include <algorithm>
#include <cmath>

#include <fmt/format.h>

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
    "irrigation",
    "carbon_respired",
};

/// One treatment's stretch of a (treatment, time) series.
std::span<const double> stretch(const Results& r, std::string_view name, std::size_t t) {
  const std::size_t days = r.extent(time);
  return std::span(r.find(name).values).subspan(t * days, days);
}

/// Days from the harvest until `left` falls to `share`, between days by a straight line; NaN when it does
/// not.
double days_until(std::span<const double> left, int harvest_day, double share) {
  for (std::size_t d = static_cast<std::size_t>(harvest_day) + 1; d < left.size(); ++d) {
    if (left[d] > share) continue;
    const double fall = left[d - 1] - left[d];
    return static_cast<double>(d) - (fall > 0.0 ? (share - left[d]) / fall : 0.0) - harvest_day;
  }
  return not_measured;
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

}  // namespace

std::vector<Checkpoint> checkpoints(const Treatment& t, std::chrono::sys_days end) {
  std::vector<Checkpoint> list;
  const int harvest_year = year_of(t.harvest);
  const bool same_year = std::chrono::sys_days{std::chrono::year{harvest_year} / t.crop.planting} > t.harvest;
  for (int y = 1;; ++y) {
    const std::chrono::sys_days planting{std::chrono::year{harvest_year + y - (same_year ? 1 : 0)} /
                                         t.crop.planting};
    if (planting > end) break;
    list.push_back({fmt::format("planting {}", y), planting});
    if (anniversary(t.harvest, y) > end) break;
    list.push_back({fmt::format("year {}", y), anniversary(t.harvest, y)});
  }
  if (list.empty() || list.back().date < end) list.push_back({"end", end});
  return list;
}

void add_key_numbers(const Scenario& scenario, Results& r) {
  const std::chrono::sys_days end = r.start + std::chrono::days{r.days - 1};
  std::vector<std::vector<Checkpoint>> lists;
  for (const Treatment& t : scenario.treatments) lists.push_back(checkpoints(t, end));
  // a treatment harvested later reaches fewer checkpoints; the one with most names them all
  const auto longest = std::max_element(lists.begin(), lists.end(),
                                        [](const auto& a, const auto& b) { return a.size() < b.size(); });
  r.checkpoints.clear();
  for (const Checkpoint& c : *longest) r.checkpoints.push_back(c.name);
  Variable when{"checkpoint_day",
                Kind::time,
                {treatment, checkpoint},
                "days from the start of the run to the checkpoint",
                "",
                "",
                {}};
  std::vector<std::vector<int>> days;
  for (const std::vector<Checkpoint>& list : lists) {
    days.emplace_back();
    for (const std::string& name : r.checkpoints) {
      const auto own =
          std::find_if(list.begin(), list.end(), [&](const Checkpoint& c) { return c.name == name; });
      const bool reached = own != list.end();
      days.back().push_back(reached ? static_cast<int>((own->date - r.start).count()) : -1);
      when.values.push_back(reached ? days.back().back() : not_measured);
    }
  }
  r.key_numbers.push_back(std::move(when));
  sample_at_checkpoints(scenario, r, days);

  Variable harvested = declared("harvest_day", Kind::time, "days from the start of the run to the harvest");
  Variable half = declared("days_to_half", Kind::time, "days from harvest until half of the residue is gone");
  Variable most =
      declared("days_to_95_lost", Kind::time, "days from harvest until 95 % of the residue is gone");
  Variable deepest =
      declared("tie_up_deepest", Kind::mass_per_area, "most N that residue held back at once (0: none)", "N");
  Variable deepest_day = declared("tie_up_deepest_day", Kind::time,
                                  "days from harvest to the deepest tie-up; N is given back from then on, "
                                  "unless it is the last day of the run");
  Variable repaid = declared("tie_up_repaid_day", Kind::time,
                             "days from harvest until all N that was tied up has been given back");
  Variable cover =
      declared("mulch_difference", Kind::fraction,
               "largest difference between prescribed and modelled flat residue, over the most prescribed");
  Variable balance =
      declared("balance_error", Kind::mass_per_area, "largest residual of any element's balance");
  Variable mass = declared("residue_dry_matter", Kind::mass_per_area, "residue at harvest", "dry matter");
  for (std::size_t t = 0; t < scenario.treatments.size(); ++t) {
    const int harvest_day = static_cast<int>((scenario.treatments[t].harvest - r.start).count());
    harvested.values.push_back(harvest_day);
    const std::span<const double> left = stretch(r, "mass_left", t);
    half.values.push_back(days_until(left, harvest_day, 0.50));
    most.values.push_back(days_until(left, harvest_day, 0.05));

    const std::span<const double> N = stretch(r, "nitrogen_released", t);
    const auto low = std::min_element(N.begin() + harvest_day, N.end());
    const bool tied = *low < -1e-3;
    deepest.values.push_back(tied ? *low : 0.0);
    deepest_day.values.push_back(tied ? static_cast<double>(low - N.begin()) - harvest_day : not_measured);
    const auto back = std::find_if(low, N.end(), [](double n) { return n >= 0.0; });
    repaid.values.push_back(tied && back != N.end() ? static_cast<double>(back - N.begin()) - harvest_day
                                                    : not_measured);

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
    mass.values.push_back(scenario.treatments[t].dry_matter_g_m2);
  }
  for (Variable* v : {&harvested, &mass, &half, &most, &deepest, &deepest_day, &repaid, &cover, &balance}) {
    r.key_numbers.push_back(std::move(*v));
  }
  if (scenario.prices.placeholders) {
    r.notes.push_back("Prices are placeholders, not today's; write your own under [prices].");
  }
}

}  // namespace stoverturn
