#include <algorithm>

#include <fmt/format.h>

#include "scenarios/plan/event_readers.hpp"
#include "scenarios/plan/implements.hpp"
#include "scenarios/plan/prices_section.hpp"
#include "scenarios/plan/products.hpp"

namespace stoverturn {
namespace {

const Costs::Pass* find_pass(const Costs& costs, std::string_view name) {
  const auto pass = std::find_if(costs.passes.begin(), costs.passes.end(),
                                 [&](const Costs::Pass& p) { return same_word(p.name, name); });
  return pass == costs.passes.end() ? nullptr : &*pass;
}

void take_pass(TableReader& in, const std::string& name, const Costs& costs, Payment& payment) {
  payment.pass = name;
  if (const Costs::Pass* pass = find_pass(costs, name)) {
    payment.cost_m2 += pass->m2;
    return;
  }
  std::vector<std::string> names;
  for (const Costs::Pass& p : costs.passes) names.push_back(p.name);
  in.mistake("pass", fmt::format("no cost is called '{}' under [costs]{}", name,
                                 names.empty() ? fmt::format("; write \"{}\" = \"12 $/acre\" there", name)
                                               : suggestion(name, names)));
}

void take_usual(const std::optional<double>& cost, const std::string& what, double& sum, Payment& payment) {
  if (cost) {
    sum += *cost;
  } else {
    payment.unpriced.push_back(what);
  }
}

void add_tillage(TableReader& in, const Costs& costs, Payment& payment) {
  const Value* implement = in.value("implement");
  const std::string* name = implement ? implement->text() : nullptr;
  const Costs::Pass* own = name ? find_pass(costs, *name) : nullptr;
  if (own) {
    payment.cost_m2 += own->m2;
  } else {
    take_usual(costs.tillage, name ? fmt::format("a pass with '{}'", *name) : "tillage", payment.cost_m2,
               payment);
  }
}

void add_baling(const Costs& costs, Payment& payment) {
  if (costs.baling_m2) {
    payment.cost_m2 += *costs.baling_m2;
  } else {
    take_usual(costs.baling_g, "baling", payment.cost_g, payment);
  }
}

/// The pass itself: what the event says, else what is usual for its kind.
void add_pass(TableReader& in, const std::string& kind, const Prices& prices, Payment& payment) {
  const std::optional<std::string> pass = in.text("pass");
  if (in.has("cost")) {
    if (pass) in.mistake("pass", "found with `cost`; keep one of the two");
    if (payment.takes_off && !is_by_area(in, "cost")) {
      payment.cost_g += read_per_dry_matter(in, "cost", prices.bale_g).value_or(0.0);
    } else {
      payment.cost_m2 += in.amount("cost", Kind::money_per_area, 0.0, no_limit).value_or(0.0);
    }
  } else if (pass) {
    take_pass(in, *pass, prices.costs, payment);
  } else if (kind == "tillage") {
    add_tillage(in, prices.costs, payment);
  } else if (kind == "irrigation") {
    take_usual(prices.costs.irrigation, "irrigation", payment.cost_m2, payment);
  } else if (kind == "removal") {
    if (!in.has("returned")) add_baling(prices.costs, payment);
  } else {
    take_usual(prices.costs.spreading, "spreading", payment.cost_m2, payment);
  }
}

/// g N per g of product; nothing where the event names none.
std::optional<double> nitrogen_content(TableReader& in) {
  const Value* value = in.value("product");
  if (!value || !value->text()) return std::nullopt;
  if (same_word(*value->text(), "manure")) {
    const Value* content = in.value("nitrogen_content");
    if (!content || !content->text() || !is_quantity(*content->text(), Kind::content)) return std::nullopt;
    return quantity(*content->text(), Kind::content).value;
  }
  const ProductRow* row = find_product(*value->text());
  return row ? std::optional(row->nitrogen) : std::nullopt;
}

void add_product(TableReader& in, const Fertiliser<double>& f, const Prices& prices, Payment& payment) {
  const double N =
      f.urea_N + f.urea_in_soil_N + f.ammonium_N + f.nitrate_N + f.lost_N + f.organic_N + f.stable_N;
  const Value* product = in.value("product");
  const bool manure = product && product->text() && same_word(*product->text(), "manure");
  const auto of_N = in.amount("price_of_nitrogen", Kind::money_per_mass, 0.0, no_limit);
  const auto of_product = in.amount("price", Kind::money_per_mass, 0.0, no_limit);
  if (of_N && of_product) in.mistake("price", "found with `price_of_nitrogen`; keep one of the two");
  if (of_product) {
    const std::optional<double> content = nitrogen_content(in);
    if (!content || *content <= 0.0) {
      in.mistake("price", manure ? "needs nitrogen_content, to tell how much manure there is"
                                 : "needs `product`, which says how much N it holds; or write "
                                   "price_of_nitrogen = \"0.60 $/lb\"");
    } else {
      payment.cost_m2 += N / *content * *of_product;
    }
  } else if (of_N) {
    payment.cost_m2 += N * *of_N;
  } else if (manure) {
    payment.unpriced.emplace_back("manure");
  } else {
    payment.cost_m2 += N * prices.nitrogen + f.sulfur * prices.sulfur;
  }
}

void add_sale(TableReader& in, const Prices& prices, Payment& payment) {
  const std::optional<bool> said = in.flag("sold");
  const std::optional<double> price = read_per_dry_matter(in, "price", prices.bale_g);
  if (in.has("price") && said == false) in.mistake("price", "found with sold = false; keep one of the two");
  if (price) {
    payment.price_g = *price;
  } else if (said.value_or(!in.has("returned"))) {
    take_usual(prices.bales, "bales sold", payment.price_g, payment);
  }
}

}  // namespace

Payment read_payment(TableReader& in, const std::string& kind, const EventPlan& event, const Prices& prices) {
  Payment payment;
  payment.date = std::visit([](const auto& plan) { return plan.date; }, event);
  payment.takes_off = std::holds_alternative<RemovalPlan>(event);
  add_pass(in, kind, prices, payment);
  if (const auto* spread = std::get_if<FertiliserPlan>(&event))
    add_product(in, spread->amounts, prices, payment);
  if (payment.takes_off) add_sale(in, prices, payment);
  return payment;
}

}  // namespace stoverturn
