#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/format.h>

#include "scenarios/decide/timing.hpp"
#include "scenarios/ensemble/ensemble_results.hpp"
#include "scenarios/results/money.hpp"
#include "scenarios/text/index_of.hpp"

namespace stoverturn {
namespace {

using enum Dimension;

constexpr std::string_view of_run = "_of_run";

/// Single runs of a number, by treatment, run and what it runs over besides.
class SingleRuns {
 public:
  SingleRuns(const Results& r, const std::string& name)
      : v_(r.find(name + std::string(of_run))), runs_(r.weather_years.size() * r.draws) {
    for (std::size_t i = 4; i < v_.dimensions.size(); ++i) inner_ *= r.extent(v_.dimensions[i]);
  }
  double at(std::size_t t, std::size_t run, std::size_t inner = 0) const {
    return v_.values[(t * runs_ + run) * inner_ + inner];
  }
  std::size_t inner() const { return inner_; }

 private:
  const Variable& v_;
  std::size_t runs_, inner_ = 1;
};

/// Money m-2 that a treatment pays for its events.
double paid(const Treatment& t) {
  double sum = 0.0;
  for (const Payment& p : t.payments) sum += p.cost_m2;
  return sum;
}

class TimingNumbers {
 public:
  TimingNumbers(const Ensemble& ensemble, const std::vector<ChosenTiming>& chosen, Results& r)
      : scenario_(ensemble.scenario()), r_(r), runs_(r.weather_years.size() * r.draws) {
    std::vector<std::string> names;
    for (const Treatment& t : scenario_.treatments) names.push_back(t.name);
    for (const ChosenTiming& c : chosen) {
      pairs_.push_back({index_of(names, c.treatment), index_of(names, c.base)});
    }
  }

  void add() {
    add_differences();
    add_shares();
    add_gain();
  }

 private:
  struct Pair {
    std::size_t treatment, base;
  };

  Variable declared(std::string meaning, Kind kind, std::string substance, std::vector<Dimension> inner,
                    std::size_t inner_size) const {
    Variable v{"", kind, {site, treatment, weather_year, draw}, std::move(meaning), "", std::move(substance),
               {}};
    v.dimensions.insert(v.dimensions.end(), inner.begin(), inner.end());
    v.values.assign(r_.treatments.size() * runs_ * inner_size, not_measured);
    return v;
  }

  /// Of every number, against the treatment without the choice in the same weather and draw.
  void add_differences() {
    std::vector<std::string> names;
    for (const Variable& v : r_.key_numbers) {
      const std::string_view name = v.name;
      if (!name.ends_with(of_run)) continue;
      if (name.starts_with("balance_error") || name.starts_with("stage_day")) continue;
      names.emplace_back(name.substr(0, name.size() - of_run.size()));
    }
    for (const std::string& name : names) {
      const SingleRuns runs(r_, name);
      const Variable& v = r_.find(name + std::string(of_run));
      Variable difference = declared("changed by the choice: " + r_.find(name).meaning, v.kind, v.substance,
                                     {v.dimensions.begin() + 4, v.dimensions.end()}, runs.inner());
      for (const auto& [t, base] : pairs_) {
        for (std::size_t run = 0; run < runs_; ++run) {
          for (std::size_t i = 0; i < runs.inner(); ++i) {
            difference.values[(t * runs_ + run) * runs.inner() + i] =
                runs.at(t, run, i) - runs.at(base, run, i);
          }
        }
      }
      add_quantiles(r_, std::move(difference), name + "_difference");
    }
  }

  /// N spread by the choice in a run.
  double spread(const SingleRuns& applied, const Pair& p, std::size_t run) const {
    const std::size_t end = r_.checkpoints.size() - 1;
    return applied.at(p.treatment, run, end) - applied.at(p.base, run, end);
  }

  void add_shares() {
    const SingleRuns applied(r_, "nitrogen_applied_at"), leached(r_, "nitrogen_leached_at"),
        to_air(r_, "nitrogen_volatilised_at"), denitrified(r_, "nitrogen_denitrified_at");
    const std::size_t planting = index_of(r_.checkpoints, "planting 1");
    Variable down =
        declared("of the N that was spread, leached below 1 m before the first planting, as nitrate",
                 Kind::fraction, "", {}, 1);
    Variable up = declared(
        "of the N that was spread, lost to the air before the first planting, as ammonia and by "
        "denitrification",
        Kind::fraction, "", {}, 1);
    Variable both = declared("of the N that was spread, leached or lost to the air before the first planting",
                             Kind::fraction, "", {}, 1);
    Variable done{"share_of_runs_spread",
                  Kind::fraction,
                  {site, treatment},
                  "of the runs, in which it was spread: cold soil may not come",
                  "",
                  "",
                  {}};
    done.values.assign(r_.treatments.size(), not_measured);
    for (const Pair& p : pairs_) {
      std::size_t spread_in = 0;
      for (std::size_t run = 0; run < runs_; ++run) {
        const double N = spread(applied, p, run);
        if (N < 1e-9) continue;
        ++spread_in;
        const std::size_t i = p.treatment * runs_ + run;
        const auto more = [&](const SingleRuns& lost) {
          return lost.at(p.treatment, run, planting) - lost.at(p.base, run, planting);
        };
        down.values[i] = more(leached) / N;
        up.values[i] = (more(to_air) + more(denitrified)) / N;
        both.values[i] = down.values[i] + up.values[i];
      }
      done.values[p.treatment] = static_cast<double>(spread_in) / static_cast<double>(runs_);
    }
    add_quantiles(r_, std::move(down), "share_leached");
    add_quantiles(r_, std::move(up), "share_to_air");
    add_quantiles(r_, std::move(both), "share_lost");
    r_.key_numbers.push_back(std::move(done));
  }

  void add_gain() {
    const SingleRuns applied(r_, "nitrogen_applied_at"), to_crop(r_, "stage_nitrogen_to_crop"),
        mineral(r_, "stage_mineral_nitrogen"), P(r_, "phosphorus_released_at"),
        K(r_, "potassium_released_at"), S(r_, "sulfur_released_at");
    const std::size_t maturity = r_.stages.size() - 1, year = index_of(r_.checkpoints, "year 1");
    Variable useful =
        declared("N that the choice gave the next crop, or left in the soil to 1 m at its maturity",
                 Kind::mass_per_area, "N", {}, 1);
    Variable cost = declared("product and pass", Kind::money_per_area, "", {}, 1);
    Variable gain = declared(
        "N that reached the next crop or is there at its maturity, and what P, K and S residue "
        "gave up more or less within a year, at the file's prices, less product and pass",
        Kind::money_per_area, "", {}, 1);
    Variable pays{"share_that_pays",
                  Kind::fraction,
                  {site, treatment},
                  "of the runs, in which net_gain is positive",
                  "",
                  "",
                  {}};
    pays.values.assign(r_.treatments.size(), not_measured);
    for (const Pair& p : pairs_) {
      const double price = paid(scenario_.treatments[p.treatment]) - paid(scenario_.treatments[p.base]);
      std::size_t paying = 0, counted = 0;
      for (std::size_t run = 0; run < runs_; ++run) {
        const auto more = [&](const SingleRuns& x, std::size_t i) {
          return x.at(p.treatment, run, i) - x.at(p.base, run, i);
        };
        const std::size_t i = p.treatment * runs_ + run;
        useful.values[i] = more(to_crop, maturity) + more(mineral, maturity);
        cost.values[i] = spread(applied, p, run) > 1e-9 ? price : 0.0;
        gain.values[i] =
            nutrient_value(scenario_.prices, useful.values[i], more(P, year), more(K, year), more(S, year)) -
            cost.values[i];
        if (std::isnan(gain.values[i])) continue;
        ++counted;
        if (gain.values[i] > 0.0) ++paying;
      }
      if (counted > 0) {
        pays.values[p.treatment] = static_cast<double>(paying) / static_cast<double>(counted);
      }
    }
    add_quantiles(r_, std::move(useful), "nitrogen_useful");
    add_quantiles(r_, std::move(cost), "cost");
    add_quantiles(r_, std::move(gain), "net_gain");
    r_.key_numbers.push_back(std::move(pays));
  }

  const Scenario& scenario_;
  Results& r_;
  std::size_t runs_;
  std::vector<Pair> pairs_;
};

/// Days on which a job's fertiliser is spread.
std::vector<int> spread_days(const Job<double>& job) {
  std::vector<int> days;
  for (const Event<double>& e : job.events) {
    if (std::holds_alternative<Fertiliser<double>>(e.what)) days.push_back(e.day);
  }
  return days;
}

/// The first day that a treatment spreads and its base, on `others`, does not; -1: none.
int own_day(const Job<double>& with, std::vector<int> others) {
  for (const int day : spread_days(with)) {
    const auto same = std::find(others.begin(), others.end(), day);
    if (same == others.end()) return day;
    others.erase(same);
  }
  return -1;
}

}  // namespace

void add_soil_on_the_day(const Ensemble& ensemble, const Climates& climates,
                         const std::vector<ChosenTiming>& chosen, Results& results) {
  const Scenario& scenario = ensemble.scenario();
  std::vector<std::string> names;
  for (const Treatment& t : scenario.treatments) names.push_back(t.name);
  Variable warm{
      "share_of_weathers_warm",
      Kind::fraction,
      {site, treatment},
      "of the weathers in which it is spread within 120 days of the harvest, those with soil of 10 degC "
      "(50 degF) or more at 100 mm that day",
      "",
      "",
      {}};
  warm.values.assign(results.treatments.size(), not_measured);
  std::vector<double> spread(results.treatments.size(), 0.0), warm_days(results.treatments.size(), 0.0);
  for (const Future& future : ensemble.futures()) {
    const Climates then = climates_in(scenario, climates, future);
    KnownDrivers known;
    std::map<std::size_t, std::vector<int>> days_of_base;
    for (const ChosenTiming& c : chosen) {
      const std::size_t t = index_of(names, c.treatment), base = index_of(names, c.base);
      const TreatmentJob with = treatment_job(scenario, scenario.treatments[t], then, &known);
      if (!days_of_base.contains(base)) {
        days_of_base[base] =
            spread_days(treatment_job(scenario, scenario.treatments[base], then, &known).job);
      }
      const int day = own_day(with.job, days_of_base[base]);
      const auto harvest = (scenario.treatments[t].first().date - results.start).count();
      if (day < 0 || day >= with.plan.days || day - harvest >= soil_cools_within_d)
        continue;  // spring soil may warm
      spread[t] += 1.0;
      if (with.plan.drivers->days[static_cast<std::size_t>(day)].soil_temperature_C >= 10.0)
        warm_days[t] += 1.0;
    }
  }
  for (std::size_t t = 0; t < spread.size(); ++t) {
    if (spread[t] > 0.0) warm.values[t] = warm_days[t] / spread[t];
  }
  results.key_numbers.push_back(std::move(warm));
}

void add_timing_numbers(const Ensemble& ensemble, const std::vector<ChosenTiming>& chosen, Results& results) {
  TimingNumbers(ensemble, chosen, results).add();
  results.notes.insert(results.notes.begin(),
                       "The next crop gets what soil, residue and the choice give it: its own fertiliser is "
                       "not in the file unless an "
                       "event says so. `nitrogen` under [next_crop] is what it could take up, not a rate.");
}

}  // namespace stoverturn
