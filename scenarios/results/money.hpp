#pragma once
#include <span>

#include "scenarios/plan/scenario.hpp"
#include "scenarios/results/results.hpp"

namespace stoverturn {

/// N, P, K and S at the prices of N, P2O5, K2O and S.
double nutrient_value(const Prices& price, double N, double P, double K, double S);

/// Money by day, from what a treatment plans and the run took off; running totals in money m-2, one entry a
/// day from `start`. What lies after the last day is left out.

/// Harvest work, passes, products and baling.
std::vector<double> cost_spent(const Treatment& treatment, std::chrono::sys_days start,
                               std::span<const double> residue_removed_g_m2);
/// What residue taken off is sold for.
std::vector<double> bales_sold(const Treatment& treatment, std::chrono::sys_days start,
                               std::span<const double> residue_removed_g_m2);

/// A running total in money of day 0, Eq. 49: what is added on day d counts (1 + interest)^(-d / 365.25).
std::vector<double> discounted(std::span<const double> total, double interest);

/// Sentences on prices that are placeholders, and on what has none.
std::vector<std::string> price_notes(const Scenario& scenario);

/// Adds the series of money; needs `value_released` and `residue_removed`.
void add_money_series(const Scenario& scenario, Results& results);

/// Adds key numbers and notes on money; needs those of checkpoints.
void add_money_numbers(const Scenario& scenario, Results& results);

}  // namespace stoverturn
