#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/decide/planting.hpp"
#include "scenarios/ensemble/ensemble_results.hpp"
#include "scenarios/text/index_of.hpp"

namespace stoverturn {
namespace {

using enum Dimension;

/// Of each run of a number along checkpoints or stages, one place of them; NaN where there is no such place.
std::vector<double> at_place(const Results& r, const std::string& name, std::size_t place) {
  const Variable& v = r.find(name + "_of_run");
  const std::size_t inner = r.extent(v.dimensions[4]);
  std::vector<double> values(v.values.size() / inner, not_measured);
  for (std::size_t i = 0; i < values.size() && place < inner; ++i) values[i] = v.values[i * inner + place];
  return values;
}

class PlantingNumbers {
 public:
  PlantingNumbers(const Scenario& scenario, Results& r)
      : scenario_(scenario),
        r_(r),
        runs_(r.treatments.size() * r.weather_years.size() * r.draws),
        planting_(index_of(r.checkpoints, "planting 1")) {}

  void add_residue() {
    const std::vector<double> cover = at_place(r_, "soil_cover_at", planting_),
                              surface = at_place(r_, "surface_mass_at", planting_),
                              in_short = at_place(r_, "short_pieces_mass_at", planting_);
    add("conservation_cover", Kind::fraction, "",
        fmt::format("1 where at least {:.0f} % of the soil is covered at the first planting; its mean is the "
                    "share of runs",
                    100.0 * conservation_cover),
        [&](std::size_t i) {
          return std::isnan(cover[i]) ? not_measured : cover[i] >= conservation_cover ? 1.0 : 0.0;
        });
    add("short_pieces_share", Kind::fraction, "",
        fmt::format("of the residue on the surface at the first planting, in pieces up to {:.4g} mm",
                    scenario_.planting.short_mm),
        [&](std::size_t i) { return surface[i] > 1e-9 ? in_short[i] / surface[i] : 0.0 * surface[i]; });
  }

  void add_nitrogen() {
    const std::vector<double> released = at_place(r_, "nitrogen_released_at", planting_);
    add("nitrogen_tied_at_planting", Kind::mass_per_area, "N",
        "net N tied up by residue from harvest to the first planting; negative: given",
        [&](std::size_t i) { return -released[i]; });
    if (r_.stages.empty()) return;
    const std::size_t stage = 1;
    const std::vector<double> since = at_place(r_, "stage_nitrogen_released", stage);
    add("nitrogen_tied_from_planting", Kind::mass_per_area, "N",
        fmt::format("net N tied up by residue from planting to {}; negative: given", r_.stages[stage]),
        [&](std::size_t i) { return -since[i]; });
    add("nitrogen_tied_at_stage", Kind::mass_per_area, "N",
        fmt::format("net N tied up by residue from harvest to {}; negative: given", r_.stages[stage]),
        [&](std::size_t i) { return -released[i] - since[i]; });
  }

  void add_seedbed(const std::vector<std::vector<Seedbed>>& seedbeds) {
    const auto seedbed = [&](std::size_t i) -> const Seedbed& {
      const std::size_t run = i / r_.draws;
      return seedbeds[run / r_.weather_years.size()][run % r_.weather_years.size()];
    };
    const std::string weeks = " in the two weeks around the first planting";
    const std::string seed =
        fmt::format("soil temperature at {:.4g} mm{}", scenario_.planting.seed_mm, weeks);
    const std::string warm = fmt::format(
        "days from the first planting until {} days at {:.4g} mm average 10 degC; negative: before",
        days_of_mean, scenario_.planting.seed_mm);
    struct Row {
      const char* name;
      Kind kind;
      std::string meaning;
      double (*value)(const Seedbed&);
    };
    const Row rows[] = {
        {"residue_wetness_at_planting", Kind::fraction, "own water of flat residue over capacity" + weeks,
         [](const Seedbed& s) { return s.residue_wetness; }},
        {"seed_temperature", Kind::temperature, seed, [](const Seedbed& s) { return s.seed_C; }},
        {"seed_temperature_bare", Kind::temperature, seed + ", of the same soil bare",
         [](const Seedbed& s) { return s.seed_bare_C; }},
        {"seed_temperature_difference", Kind::temperature_difference,
         seed + ", less that of the same soil bare",
         [](const Seedbed& s) { return s.seed_C - s.seed_bare_C; }},
        {"seedbed_moisture", Kind::fraction, "water of the topsoil by volume" + weeks,
         [](const Seedbed& s) { return s.moisture; }},
        {"seedbed_moisture_difference", Kind::fraction,
         "water of the topsoil by volume" + weeks + ", less that of the same soil bare",
         [](const Seedbed& s) { return s.moisture - s.moisture_bare; }},
        {"soil_warm_day", Kind::time, warm, [](const Seedbed& s) { return s.warm_day; }},
        {"soil_warm_day_bare", Kind::time, warm + "; of the same soil bare",
         [](const Seedbed& s) { return s.warm_day_bare; }},
        {"soil_lag", Kind::time, "days by which the soil reaches 10 degC later than bare",
         [](const Seedbed& s) { return s.warm_day - s.warm_day_bare; }},
    };
    for (const Row& row : rows) {
      add(row.name, row.kind, "", row.meaning, [&](std::size_t i) { return row.value(seedbed(i)); });
    }
  }

  void add_build_up(const Results& years) {
    std::vector<std::size_t> plantings;
    for (std::size_t c = 0; c < years.checkpoints.size(); ++c) {
      if (years.checkpoints[c].starts_with("planting ")) plantings.push_back(c);
    }
    r_.harvests.clear();
    for (std::size_t h = 0; h < plantings.size(); ++h) r_.harvests.push_back(std::to_string(h + 1));
    Variable stock = declared(Kind::mass_per_area, "dry matter",
                              "all residue on the field, standing, flat and buried, at the planting after "
                              "each harvest");
    stock.dimensions.push_back(harvest);
    const Variable& v = years.find("dry_matter_at_of_run");
    const std::size_t inner = years.checkpoints.size();
    for (std::size_t i = 0; i < runs_; ++i) {
      for (const std::size_t c : plantings) stock.values.push_back(v.values[i * inner + c]);
    }
    keep(std::move(stock), "residue_before_planting");
    add_trend();
  }

 private:
  Variable declared(Kind kind, std::string substance, std::string meaning) const {
    return {"", kind, {site, treatment, weather_year, draw}, std::move(meaning), "", std::move(substance),
            {}};
  }

  template <class Value>
  void add(const std::string& name, Kind kind, std::string substance, std::string meaning,
           const Value& value) {
    Variable v = declared(kind, std::move(substance), std::move(meaning));
    for (std::size_t i = 0; i < runs_; ++i) v.values.push_back(value(i));
    keep(std::move(v), name);
  }

  void keep(Variable of_run, const std::string& name) {
    add_quantiles(r_, of_run, name);
    of_run.name = name + "_of_run";
    of_run.meaning = "each run: " + of_run.meaning;
    r_.key_numbers.push_back(std::move(of_run));
  }

  /// Stocks after different crops do not compare.
  bool is_one_crop(std::size_t t) const {
    const std::vector<HarvestPlan>& harvests = scenario_.treatments[t].harvests;
    return std::all_of(harvests.begin(), harvests.end(), [&](const HarvestPlan& h) {
      return h.material_shares == harvests.front().material_shares;
    });
  }

  void add_trend() {
    const std::vector<double> means = r_.find("residue_before_planting_mean").values;
    const std::size_t count = r_.harvests.size();
    Variable change{"build_up_change",
                    Kind::fraction,
                    {site, treatment},
                    "change of the mean residue before planting over the last three years, share of the last",
                    "",
                    "",
                    {}};
    Variable level{
        "build_up_level",
        Kind::mass_per_area,
        {site, treatment},
        "mean residue before the last three plantings where that changes by less than 5 % in three years",
        "",
        "dry matter",
        {}};
    for (std::size_t t = 0; t < r_.treatments.size(); ++t) {
      std::span<const double> stocks(means.data() + t * count, count);
      while (!stocks.empty() && std::isnan(stocks.back())) stocks = stocks.first(stocks.size() - 1);
      const bool enough = stocks.size() > 3 && is_one_crop(t);
      const StockTrend trend = enough ? stock_trend(stocks) : StockTrend{};
      change.values.push_back(enough ? trend.change : not_measured);
      level.values.push_back(enough && trend.levels_off ? trend.level : not_measured);
    }
    r_.key_numbers.push_back(std::move(change));
    r_.key_numbers.push_back(std::move(level));
  }

  const Scenario& scenario_;
  Results& r_;
  std::size_t runs_, planting_;
};

}  // namespace

void add_planting_numbers(const Scenario& scenario, const std::vector<std::vector<Seedbed>>& seedbeds,
                          const Results& build_up, Results& results) {
  PlantingNumbers numbers(scenario, results);
  numbers.add_residue();
  numbers.add_seedbed(seedbeds);
  numbers.add_nitrogen();
  numbers.add_build_up(build_up);
}

}  // namespace stoverturn
