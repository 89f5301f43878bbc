#include "scenarios/stand/stand_value.hpp"

#include <algorithm>
#include <cmath>

namespace stoverturn {
namespace {

const StandRate* rate_of(const StandReport& report, std::size_t count, const std::string& treatment) {
  const auto at = std::find_if(report.rates.begin(), report.rates.end(), [&](const StandRate& r) {
    return r.count == count && r.treatment == treatment;
  });
  return at == report.rates.end() ? nullptr : &*at;
}

double share_at(double plants_m2) { return yield_share_of_stand(plants_m2 * acre_m2).value_or(not_counted); }

/// Of the rows whose late plants have a delay; NaN where there are none.
double late_loss_of(const StandData& data, const std::string& treatment) {
  double plants = 0.0, lost = 0.0;
  for (const StandRow& r : data.rows) {
    const double late = r.counts[stand_late];
    if (r.treatment != treatment || std::isnan(late) || (late > 0.0 && std::isnan(r.late_leaves))) continue;
    plants += r.counts[stand_plants];
    if (late > 0.0) lost += late * loss_of_late_plant(r.late_leaves);
  }
  return plants > 0.0 ? lost / plants : not_counted;
}

void add(StandReport& report, StandEffect effect) {
  const double price = report.prices.price_per_bu;
  effect.value_acre = effect.yield_bu_acre * price;
  effect.value_between = {effect.yield_between.lower * price, effect.yield_between.upper * price};
  report.effects.push_back(std::move(effect));
}

void add_ears(StandReport& report, const StandDifference& d) {
  const double bu = acre_m2 * report.prices.bu_per_ear;
  add(report, {StandEffectBy::ears,
               d.treatment,
               d.against,
               not_counted,
               bu * d.difference,
               {bu * d.between.lower, bu * d.between.upper},
               0.0,
               {}});
}

/// Share of the full yield gained where the two stands lie `difference` apart around `middle`.
double stand_gain(double middle, double difference) {
  return share_at(middle + difference / 2.0) - share_at(middle - difference / 2.0);
}

void add_stand(StandReport& report, const StandDifference& d) {
  const double middle =
      (rate_of(report, stand_plants, d.treatment)->rate + rate_of(report, stand_plants, d.against)->rate) /
      2.0;
  const double full = report.prices.full_yield_bu_acre, share = stand_gain(middle, d.difference);
  if (std::isnan(share)) return;
  add(report, {StandEffectBy::stand,
               d.treatment,
               d.against,
               share,
               full * share,
               {full * stand_gain(middle, d.between.lower), full * stand_gain(middle, d.between.upper)},
               0.0,
               {}});
}

void add_late(StandReport& report, const StandDifference& d) {
  const auto loss = [&](const std::string& treatment) {
    const auto at = std::find(report.treatments.begin(), report.treatments.end(), treatment);
    return report.late_loss[static_cast<std::size_t>(at - report.treatments.begin())];
  };
  const double share = loss(d.against) - loss(d.treatment);
  if (std::isnan(share)) return;
  add(report, {StandEffectBy::late,
               d.treatment,
               d.against,
               share,
               report.prices.full_yield_bu_acre * share,
               {not_counted, not_counted},
               0.0,
               {}});
}

}  // namespace

void add_stand_value(const StandData& data, StandReport& report) {
  report.usual_ear = std::isnan(report.prices.bu_per_ear) && data.has(stand_ears);
  if (report.usual_ear) report.prices.bu_per_ear = usual_bu_per_ear;
  for (const std::string& treatment : report.treatments) {
    const StandRate* plants = rate_of(report, stand_plants, treatment);
    report.yield_share.push_back(plants ? share_at(plants->rate) : not_counted);
    report.late_loss.push_back(late_loss_of(data, treatment));
  }
  for (const StandDifference& d : report.differences) {
    if (d.count == stand_ears) add_ears(report, d);
    if (d.count == stand_plants) add_stand(report, d);
    if (d.count == stand_late) add_late(report, d);
  }
}

}  // namespace stoverturn
