#pragma once
#include <limits>

#include "scenarios/plan/scenario.hpp"
#include "scenarios/text/table_reader.hpp"

namespace stoverturn {

/// Readers of money. Each adds its mistakes and goes on.

/// [prices] and [costs]. Where the file names no currency it is that of its prices.
void read_prices(TableReader& top, const Table& file, Scenario& scenario, Mistakes& mistakes);

inline constexpr double no_limit = std::numeric_limits<double>::infinity();  ///< currencies differ

/// Whether a cost is money per area, and not per mass of dry matter or per bale.
bool is_by_area(TableReader& in, const std::string& key);

/// Money per gram of dry matter, from a price per mass or per bale.
std::optional<double> read_per_dry_matter(TableReader& in, const std::string& key,
                                          const std::optional<double>& bale_g);

/// A cost or price in another currency than the file's: its money is one.
void refuse_other_currencies(const Table& file, const std::string& currency, Mistakes& mistakes);

/// What an event costs and brings: its keys `cost`, `pass`, `price`, `price_of_nitrogen` and `sold`, else
/// [costs] and [prices]. `kind` is the event's.
Payment read_payment(TableReader& in, const std::string& kind, const EventPlan& event, const Prices& prices);

/// Names under [costs] that are neither an implement nor a `pass` of any event.
void refuse_unknown_passes(const Scenario& scenario, Mistakes& mistakes);

/// Currency of a money text: "$", "EUR"; "" where it names none.
std::string currency_of(std::string_view text);

}  // namespace stoverturn
