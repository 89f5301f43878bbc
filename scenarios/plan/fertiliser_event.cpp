#include <cmath>

#include <fmt/format.h>

#include "scenarios/plan/event_readers.hpp"
#include "scenarios/plan/implements.hpp"
#include "scenarios/plan/products.hpp"

namespace stoverturn {
namespace {

constexpr double most_N_g_m2 = 100.0;  // 1,000 kg/ha
const std::vector<std::string> placement_words = {"surface", "buried"};

/// Product on an area, g m-2, from a rate by mass, or by volume where the product has a density.
std::optional<double> read_rate(TableReader& in, std::optional<double> density_g_L,
                                const std::string& product) {
  constexpr double most_g_m2 = 2e4;  // 200 t/ha
  const Value* value = in.value("rate");
  if (!value) return std::nullopt;
  if (const std::string* text = value->text()) {
    try {
      const double litres_m2 = quantity(*text, Kind::liquid_rate).value;
      if (!density_g_L) {
        in.mistake("rate", fmt::format("found '{}'; {} has no density here, write a mass such as "
                                       "\"150 lb/acre\"",
                                       *text, product));
        return std::nullopt;
      }
      if (litres_m2 < 0.0 || litres_m2 * *density_g_L > most_g_m2) {
        in.mistake("rate", fmt::format("found '{}'; wanted from 0 to 200 t/ha of {}", *text, product));
        return std::nullopt;
      }
      return litres_m2 * *density_g_L;
    } catch (const QuantityError&) {  // then it is a mass, or a mistake told as one
      if (density_g_L && !is_quantity(*text, Kind::mass_per_area)) {
        in.mistake("rate", fmt::format("found '{}'; wanted {} by volume, such as \"20 gal/acre\" or \"200 "
                                       "L/ha\", or by mass, such as \"150 lb/acre\"",
                                       *text, product));
        return std::nullopt;
      }
    }
  }
  return in.amount("rate", Kind::mass_per_area, 0.0, most_g_m2);
}

void refuse_too_much(TableReader& in, double N) {
  if (N <= most_N_g_m2) return;
  in.mistake("rate", fmt::format("this is {:.0f} kg/ha of N; wanted at most 1000", 10.0 * N));
}

/// One of `rate` and `nitrogen`; N in g m-2.
double read_nitrogen(TableReader& in, double content, std::optional<double> density_g_L,
                     const std::string& product) {
  const std::optional<double> rate = read_rate(in, density_g_L, product);
  const std::optional<double> N = in.amount("nitrogen", Kind::mass_per_area, 0.0, most_N_g_m2);
  if (in.has("rate") && in.has("nitrogen")) {
    in.mistake("rate", "found with `nitrogen`; keep one of the two");
  } else if (!in.has("rate")) {
    in.require("nitrogen", density_g_L ? "nitrogen = \"60 lb/acre\", or rate = \"20 gal/acre\""
                                       : "nitrogen = \"60 lb/acre\", or rate = \"150 lb/acre\"");
  }
  if (!rate) return N.value_or(0.0);
  refuse_too_much(in, *rate * content);
  return *rate * content;
}

void read_manure(TableReader& in, Fertiliser<double>& amounts, std::vector<std::string>& warnings) {
  std::optional<double> density_g_L;
  if (const auto density = in.amount("density", Kind::density, 0.3, 2.0)) density_g_L = 1000.0 * *density;
  const std::optional<double> content = in.amount("nitrogen_content", Kind::content, 0.0, 0.2);
  if (in.has("rate")) {
    in.require("nitrogen_content", "nitrogen_content = \"5 g/kg\", of manure as spread, from its analysis");
  }
  const double N = read_nitrogen(in, content.value_or(0.0), density_g_L, "manure");
  in.require("ammonium", "ammonium = \"60 %\", the share of its N that is ammonium, from its analysis");
  amounts.ammonium_N = N * in.amount("ammonium", Kind::fraction, 0.0, 1.0).value_or(0.0);
  amounts.sulfur = in.amount("sulfur", Kind::mass_per_area, 0.0, most_N_g_m2).value_or(0.0);
  if (amounts.ammonium_N < N) {
    warnings.emplace_back(
        "manure: its organic N is not modelled and is left out; only its ammonium counts as N applied");
  }
}

void read_product(TableReader& in, const std::string& name, const Treatment& treatment,
                  Fertiliser<double>& amounts, std::vector<std::string>& warnings) {
  if (same_word(name, "manure")) return read_manure(in, amounts, warnings);
  const ProductRow* product = find_product(name);
  if (!product) {
    std::vector<std::string> names;
    for (const ProductRow& r : product_table()) names.emplace_back(r.name);
    names.emplace_back("manure");
    in.mistake("product", fmt::format("found '{}'{}", name, suggestion(name, names)));
    for (const char* key : {"rate", "nitrogen", "density", "nitrogen_content"}) in.has(key);
  }
  for (const char* form : {"urea", "ammonium", "nitrate", "sulfur"}) {
    if (in.has(form) && product) {
      in.mistake(form, fmt::format("found with `product`; {} says what it holds, leave this key out", name));
    }
  }
  if (!product) return;
  if (product->name == "urea with inhibitor" && !treatment.parameters.origins.count("c_urea")) {
    in.mistake(
        "product",
        "needs its ammonia loss against plain urea: c_urea = 0.4 under [parameters] (1 is plain urea)");
  }
  const std::optional<double> density =
      product->density_lb_gal > 0.0 ? std::optional(product->density_g_L()) : std::nullopt;
  const double N = read_nitrogen(in, product->nitrogen, density, std::string(product->name));
  amounts.urea_N = N * product->urea;
  amounts.ammonium_N = N * product->ammonium;
  amounts.nitrate_N = N * product->nitrate;
  amounts.sulfur = N / product->nitrogen * product->sulfur;
  amounts.on_surface = !product->in_soil_only;
}

void read_forms(TableReader& in, Fertiliser<double>& amounts) {
  if (in.has("rate")) {
    in.mistake("rate", "needs `product`, which says how much N it holds; or write nitrogen = \"60 lb/acre\"");
  }
  const double N = in.amount("nitrogen", Kind::mass_per_area, 0.0, most_N_g_m2).value_or(0.0);
  if (!in.has("rate")) in.require("nitrogen", "nitrogen = \"60 lb/acre\"");
  double shares[3] = {0.0, 0.0, 0.0};
  int i = 0;
  for (const char* form : {"urea", "ammonium", "nitrate"}) {
    shares[i++] = in.amount(form, Kind::fraction, 0.0, 1.0).value_or(0.0);
  }
  const double sum = shares[0] + shares[1] + shares[2];
  if (std::abs(sum - 1.0) > 0.005) {
    in.mistake("nitrogen",
               fmt::format("urea, ammonium and nitrate are {:.4g} % together; wanted 100 % of the N "
                           "(UAN: half urea, a quarter each of the others)",
                           100.0 * sum));
  }
  amounts.urea_N = N * shares[0];
  amounts.ammonium_N = N * shares[1];
  amounts.nitrate_N = N * shares[2];
  amounts.sulfur = in.amount("sulfur", Kind::mass_per_area, 0.0, most_N_g_m2).value_or(0.0);
}

}  // namespace

ReadEvent read_fertiliser(TableReader& in, std::chrono::sys_days date, const Treatment& treatment,
                          std::vector<std::string>& warnings) {
  FertiliserPlan plan;
  plan.date = date;
  plan.amounts = {0.0, 0.0, 0.0, 0.0, true};
  if (const auto product = in.text("product")) {
    read_product(in, *product, treatment, plan.amounts, warnings);
  } else {
    read_forms(in, plan.amounts);
  }
  const bool in_soil_only = !plan.amounts.on_surface;
  if (const auto placement = in.one_of("placement", placement_words)) {
    plan.amounts.on_surface = *placement == "surface";
    if (in_soil_only && plan.amounts.on_surface) {
      in.mistake("placement",
                 "found 'surface'; anhydrous ammonia is a gas in the open and goes into the soil: 'buried'");
    }
  }
  return {plan, false};
}

}  // namespace stoverturn
