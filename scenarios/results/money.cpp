#include "scenarios/results/money.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/text/calendar.hpp"
#include "scenarios/units/oxides.hpp"

namespace stoverturn {
namespace {

using enum Dimension;

/// The running total of what is added on days.
class Account {
 public:
  Account(std::chrono::sys_days start, std::size_t days) : start_(start), sums_(days, 0.0) {}

  void add(std::chrono::sys_days date, double amount) {
    const auto day = (date - start_).count();
    if (day >= 0 && day < static_cast<std::ptrdiff_t>(sums_.size()))
      sums_[static_cast<std::size_t>(day)] += amount;
  }

  std::vector<double> total() && {
    for (std::size_t d = 1; d < sums_.size(); ++d) sums_[d] += sums_[d - 1];
    return std::move(sums_);
  }

 private:
  std::chrono::sys_days start_;
  std::vector<double> sums_;
};

/// Dry matter taken off on a day, for those of its payments that take off: several share one mass.
double taken_on(std::chrono::sys_days date, std::chrono::sys_days start, std::span<const double> removed) {
  const auto day = (date - start).count();
  if (day < 0 || day >= static_cast<std::ptrdiff_t>(removed.size())) return 0.0;
  const auto d = static_cast<std::size_t>(day);
  return removed[d] - (d > 0 ? removed[d - 1] : 0.0);
}

/// Adds `of(payment)` times the dry matter taken off that day, once a day.
void add_by_mass(const Treatment& t, std::chrono::sys_days start, std::span<const double> removed,
                 double Payment::*per_g, Account& account) {
  const Payment* last = nullptr;
  for (const Payment& p : t.payments) {
    if (!p.takes_off) continue;
    if (!last || last->date != p.date) account.add(p.date, p.*per_g * taken_on(p.date, start, removed));
    last = &p;
  }
}

std::string listed(const std::vector<std::string>& names) {
  std::string text = names.front();
  for (std::size_t i = 1; i < names.size(); ++i) text += (i + 1 < names.size() ? ", " : " and ") + names[i];
  return text;
}

std::span<const double> of_treatment(const Variable& v, std::size_t t, std::size_t days) {
  return std::span(v.values).subspan(t * days, days);
}

/// All that some treatment has and nothing is written for.
std::vector<std::string> unpriced(const Scenario& scenario) {
  std::vector<std::string> names;
  const auto add = [&](const std::string& name) {
    if (std::find(names.begin(), names.end(), name) == names.end()) names.push_back(name);
  };
  for (const Treatment& t : scenario.treatments) {
    for (const Payment& p : t.payments) {
      for (const std::string& name : p.unpriced) add(name);
    }
    if (t.irrigation) add("irrigation by rule");
    if (t.cover_crop) add("cover crops");
  }
  return names;
}

void add_notes(const Scenario& scenario, Results& r) {
  for (std::string& note : price_notes(scenario)) r.notes.push_back(std::move(note));
  const auto any = [&](std::string_view name) {
    const std::vector<double>& v = r.find(name).values;
    return std::any_of(v.begin(), v.end(), [](double x) { return x != 0.0; });
  };
  if (any("cost_spent") || any("bales_sold")) {
    r.notes.emplace_back(
        "Net value is what residue released and the bales brought, less costs. Nutrients that left with "
        "bales are "
        "never released, so they are not taken off a second time; to replace all of them costs the value "
        "taken off, "
        "also what would have been released only after this run. What spread nitrogen, cover or a pass does "
        "for the "
        "yield is not counted.");
  }
  if (scenario.prices.interest > 0.0) {
    r.notes.push_back(fmt::format("Discounted: later money at {:.4g} % a year, to {}.",
                                  100.0 * scenario.prices.interest, format_date(r.start)));
  }
}

/// What was released in each year, discounted: at checkpoints that end one.
Variable released_of_year(const Results& r) {
  Variable v{"value_released_of_year",
             Kind::money_per_area,
             {treatment, checkpoint},
             "discounted value of what residue released in the year that ends at the checkpoint",
             "",
             "",
             {}};
  const std::vector<double>& total = r.find("value_released_discounted_at").values;
  for (std::size_t t = 0; t < r.treatments.size(); ++t) {
    double before = 0.0;
    for (std::size_t c = 0; c < r.checkpoints.size(); ++c) {
      const bool year = r.checkpoints[c].starts_with("year ");
      const double now = total[t * r.checkpoints.size() + c];
      v.values.push_back(year ? now - before : std::nan(""));
      if (year) before = now;
    }
  }
  return v;
}

}  // namespace

std::vector<std::string> price_notes(const Scenario& scenario) {
  std::vector<std::string> notes;
  const std::vector<std::string>& placeholders = scenario.prices.placeholders;
  if (!placeholders.empty()) {
    notes.push_back(fmt::format("{} of {} {}, not today's; write your own under [prices].",
                                placeholders.size() > 1 ? "Prices" : "The price", listed(placeholders),
                                placeholders.size() > 1 ? "are placeholders" : "is a placeholder"));
  }
  if (const std::vector<std::string> names = unpriced(scenario); !names.empty()) {
    notes.push_back(
        fmt::format("No money is written for {}: counted as 0. Write it under [costs] or [prices], or cost = "
                    "\"0 {}/acre\" "
                    "on an event that has none.",
                    listed(names), scenario.currency));
  }
  return notes;
}

double nutrient_value(const Prices& price, double N, double P, double K, double S) {
  return N * price.nitrogen + as_P2O5(P) * price.phosphate + as_K2O(K) * price.potash + S * price.sulfur;
}

std::vector<double> cost_spent(const Treatment& t, std::chrono::sys_days start,
                               std::span<const double> removed) {
  Account account(start, removed.size());
  for (const HarvestPlan& h : t.harvests) account.add(h.date, h.cost_m2);
  for (const Payment& p : t.payments) account.add(p.date, p.cost_m2);
  add_by_mass(t, start, removed, &Payment::cost_g, account);
  return std::move(account).total();
}

std::vector<double> bales_sold(const Treatment& t, std::chrono::sys_days start,
                               std::span<const double> removed) {
  Account account(start, removed.size());
  add_by_mass(t, start, removed, &Payment::price_g, account);
  return std::move(account).total();
}

std::vector<double> discounted(std::span<const double> total, double interest) {
  const auto worth = [&](std::size_t day) {
    return std::pow(1.0 + interest, -static_cast<double>(day) / 365.25);
  };
  std::vector<double> list(total.size());
  double earlier = 0.0;  // summed by parts, so that without interest it is the total itself
  for (std::size_t d = 0; d < total.size(); ++d) {
    list[d] = total[d] * worth(d) + earlier;
    earlier += total[d] * (worth(d) - worth(d + 1));
  }
  return list;
}

void add_money_series(const Scenario& scenario, Results& r) {
  const std::size_t days = r.extent(time);
  const auto declared = [](std::string name, std::string meaning) {
    return Variable{std::move(name), Kind::money_per_area, {treatment, time}, std::move(meaning), "", "", {}};
  };
  Variable costs =
      declared("cost_spent", "spent on harvest work, passes, products and baling since the start");
  Variable bales = declared("bales_sold", "residue sold since the start, at the price of bales");
  Variable net = declared("net_value", "value_released and bales_sold less cost_spent");
  const auto append = [](Variable& v, const std::vector<double>& list) {
    v.values.insert(v.values.end(), list.begin(), list.end());
  };
  for (std::size_t t = 0; t < scenario.treatments.size(); ++t) {
    const std::span<const double> removed = of_treatment(r.find("residue_removed"), t, days);
    append(costs, cost_spent(scenario.treatments[t], r.start, removed));
    append(bales, bales_sold(scenario.treatments[t], r.start, removed));
  }
  const std::vector<double>& released = r.find("value_released").values;
  for (std::size_t i = 0; i < released.size(); ++i) {
    net.values.push_back(released[i] + bales.values[i] - costs.values[i]);
  }
  r.series.insert(r.series.end(), {std::move(costs), std::move(bales), std::move(net)});
  for (const char* name : {"value_released", "cost_spent", "bales_sold", "net_value"}) {
    Variable v = declared(fmt::format("{}_discounted", name), fmt::format("{} in money of the start", name));
    for (std::size_t t = 0; t < scenario.treatments.size(); ++t) {
      append(v, discounted(of_treatment(r.find(name), t, days), scenario.prices.interest));
    }
    r.series.push_back(std::move(v));
  }
}

void add_money_numbers(const Scenario& scenario, Results& r) {
  r.key_numbers.push_back(released_of_year(r));
  Variable grain{"grain_to_pay_costs",
                 Kind::grain_yield,
                 {treatment},
                 "grain whose price is what was spent by the end; undefined without a price of grain",
                 "",
                 "",
                 {}};
  const std::size_t days = r.extent(time);
  for (std::size_t t = 0; t < scenario.treatments.size(); ++t) {
    const double spent = of_treatment(r.find("cost_spent"), t, days).back();
    const std::optional<double>& price = scenario.prices.grain;
    grain.values.push_back(price && *price > 0.0 ? spent / *price : std::nan(""));
  }
  r.key_numbers.push_back(std::move(grain));
  add_notes(scenario, r);
}

}  // namespace stoverturn
