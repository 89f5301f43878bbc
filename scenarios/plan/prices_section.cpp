#include "scenarios/plan/prices_section.hpp"

#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "scenarios/plan/event_readers.hpp"
#include "scenarios/plan/implements.hpp"

namespace stoverturn {
namespace {

constexpr double lb = 453.59237;

void read_costs(const Table& table, Position at, Prices& prices, Mistakes& mistakes) {
  TableReader in(table, "[costs]", at, mistakes);
  Costs& costs = prices.costs;
  for (const auto& [key, cost] :
       {std::pair("tillage", &costs.tillage), std::pair("spreading", &costs.spreading),
        std::pair("irrigation", &costs.irrigation)}) {
    *cost = in.amount(key, Kind::money_per_area, 0.0, no_limit);
  }
  if (is_by_area(in, "baling")) {
    costs.baling_m2 = in.amount("baling", Kind::money_per_area, 0.0, no_limit);
  } else {
    costs.baling_g = read_per_dry_matter(in, "baling", prices.bale_g);
  }
  static constexpr std::array kinds = {"tillage", "spreading", "irrigation", "baling"};
  for (const Entry& entry : table) {
    if (std::find(kinds.begin(), kinds.end(), entry.key) != kinds.end()) continue;
    const std::optional<double> cost = in.amount(entry.key, Kind::money_per_area, 0.0, no_limit);
    if (cost) costs.passes.push_back({entry.key, *cost, entry.key_at});
  }
}

// ---- currency

/// A dollar sign may stand for any currency that is written so.
bool alike(const std::string& a, const std::string& b) {
  const auto dollar = [](const std::string& c) {
    static constexpr std::array written = {"USD", "CAD", "AUD", "BRL", "ARS", "MXN"};
    return std::find(written.begin(), written.end(), c) != written.end();
  };
  return a.empty() || b.empty() || a == b || (a == "$" && dollar(b)) || (b == "$" && dollar(a));
}

/// Calls `use(key, value)` for every text of the file that is money.
template <class Use>
void each_price(const Value& value, const std::string& key, bool all, const Use& use) {
  if (const Table* table = value.table()) {
    for (const Entry& e : *table) each_price(e.value.front(), e.key, all, use);
  } else if (const List* list = value.list()) {
    for (const Value& item : *list) each_price(item, key, all, use);
  } else if (value.text() && key != "currency") {
    if (all || key == "cost" || key == "price" || key == "price_of_nitrogen") use(key, value);
  }
}

template <class Use>
void each_price(const Table& file, const Use& use) {
  for (const Entry& e : file) each_price(e.value.front(), e.key, e.key == "prices" || e.key == "costs", use);
}

}  // namespace

std::string currency_of(std::string_view text) {
  static constexpr std::pair<std::string_view, std::string_view> words[] = {
      {"US$", "USD"},  {"USD", "USD"},    {"EUR", "EUR"}, {"\u20ac", "EUR"}, {"euros", "EUR"},
      {"euro", "EUR"}, {"\u00a3", "GBP"}, {"GBP", "GBP"}, {"CAD", "CAD"},    {"AUD", "AUD"},
      {"BRL", "BRL"},  {"ARS", "ARS"},    {"MXN", "MXN"}, {"ZAR", "ZAR"},    {"CNY", "CNY"},
      {"INR", "INR"},  {"UAH", "UAH"},    {"$", "$"},     {"dollar", "$"}};
  for (const auto& [word, currency] : words) {
    if (text.find(word) != std::string_view::npos) return std::string(currency);
  }
  return "";
}

std::optional<double> read_per_dry_matter(TableReader& in, const std::string& key,
                                          const std::optional<double>& bale_g) {
  const Value* value = in.value(key);
  const std::string* text = value ? value->text() : nullptr;
  if (!text || !is_quantity(*text, Kind::money)) return in.amount(key, Kind::money_per_mass, 0.0, no_limit);
  const std::optional<double> each = in.amount(key, Kind::money, 0.0, no_limit);
  if (each && !bale_g) {
    in.mistake(key, fmt::format("found '{}', of one bale; say how much dry matter a bale holds, as bale = "
                                "\"1000 lb\" under [prices], or write money per mass, such as \"50 $/short "
                                "ton\"",
                                *text));
    return std::nullopt;
  }
  return each ? std::optional(*each / *bale_g) : std::nullopt;
}

bool is_by_area(TableReader& in, const std::string& key) {
  const Value* value = in.value(key);
  const std::string* text = value ? value->text() : nullptr;
  return !text || !(is_quantity(*text, Kind::money) || is_quantity(*text, Kind::money_per_mass));
}

void refuse_other_currencies(const Table& file, const std::string& currency, Mistakes& mistakes) {
  each_price(file, [&](const std::string& key, const Value& value) {
    if (alike(currency_of(*value.text()), currency_of(currency))) return;
    mistakes.add(value.at, fmt::format("{}: found '{}'; the currency of this file is {}, write all money in "
                                       "one (currency = \"EUR\" under [prices])",
                                       key, *value.text(), currency));
  });
}

void read_prices(TableReader& top, const Table& file, Scenario& scenario, Mistakes& mistakes) {
  Prices& p = scenario.prices;
  p = {0.55 / lb, 0.60 / lb, 0.40 / lb, 0.50 / lb, {}, {}, {}, 0.0, {}, {}};
  static const Table none;
  const Table* table = top.table("prices");
  TableReader in(table ? *table : none, "[prices]", top.at("prices"), mistakes);
  const std::optional<std::string> currency = in.text("currency");
  if (currency) {
    scenario.currency = *currency;
  } else {
    std::string first;
    each_price(file, [&](const std::string&, const Value& value) {
      if (first.empty()) first = currency_of(*value.text());
    });
    if (!first.empty()) scenario.currency = first;
  }
  for (const auto& [key, price] : {std::pair("nitrogen", &p.nitrogen), std::pair("phosphate", &p.phosphate),
                                   std::pair("potash", &p.potash), std::pair("sulfur", &p.sulfur)}) {
    if (const auto value = in.amount(key, Kind::money_per_mass, 0.0, no_limit)) {
      *price = *value;
    } else {
      p.placeholders.emplace_back(key);
    }
  }
  p.bale_g = in.amount("bale", Kind::mass, 1e3, 5e6);
  p.bales = read_per_dry_matter(in, "bales", p.bale_g);
  p.grain = in.amount("grain", Kind::money_per_grain, 0.0, no_limit);
  p.interest = in.amount("interest", Kind::fraction, 0.0, 1.0).value_or(0.0);
  in.finish();
  if (const Table* costs = top.table("costs")) read_costs(*costs, top.at("costs"), p, mistakes);
  refuse_other_currencies(file, scenario.currency, mistakes);
}

void refuse_unknown_passes(const Scenario& scenario, Mistakes& mistakes) {
  std::vector<std::string> known = {"tillage", "spreading", "baling", "irrigation"};
  for (const ImplementRow& row : implement_table()) known.emplace_back(row.name);
  for (const Treatment& t : scenario.treatments) {
    for (const Payment& p : t.payments) {
      if (!p.pass.empty()) known.push_back(p.pass);
    }
  }
  for (const Costs::Pass& pass : scenario.prices.costs.passes) {
    const bool found = std::any_of(known.begin(), known.end(),
                                   [&](const std::string& name) { return same_word(name, pass.name); });
    if (found) continue;
    const std::string near = closest(pass.name, known);
    mistakes.add(pass.at,
                 fmt::format("costs: '{}' is no implement, and no event has pass = \"{}\"{}", pass.name,
                             pass.name, near.empty() ? "" : fmt::format("; did you mean '{}'?", near)));
  }
}

}  // namespace stoverturn
