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

/// Share of the organic N of manure that becomes mineral in its first year.
double read_first_year(TableReader& in) {
  const std::optional<double> share = in.amount("first_year", Kind::fraction, 0.0, 1.0);
  const std::optional<std::string> name = in.text("manure");
  if (in.has("first_year") && name) in.mistake("manure", "found with `first_year`; keep one of the two");
  if (!name) {
    in.require("first_year",
               "first_year = \"35 %\", the share of its organic N that becomes mineral in a year, or "
               "manure = \"cattle slurry\"");
    return share.value_or(0.0);
  }
  if (const ManureRow* row = find_manure(*name)) return row->first_year;
  std::vector<std::string> names;
  for (const ManureRow& r : manure_table()) names.emplace_back(r.name);
  in.mistake("manure", fmt::format("found '{}'{}", *name, suggestion(*name, names)));
  return 0.0;
}

void read_manure(TableReader& in, Fertiliser<double>& amounts) {
  std::optional<double> density_g_L;
  if (const auto density = in.amount("density", Kind::density, 0.3, 2.0)) density_g_L = 1000.0 * *density;
  const std::optional<double> content = in.amount("nitrogen_content", Kind::content, 0.0, 0.2);
  if (in.has("rate")) {
    in.require("nitrogen_content", "nitrogen_content = \"5 g/kg\", of manure as spread, from its analysis");
  }
  const double N = read_nitrogen(in, content.value_or(0.0), density_g_L, "manure");
  in.require("ammonium", "ammonium = \"60 %\", the share of its N that is ammonium, from its analysis");
  const double ammonium = in.amount("ammonium", Kind::fraction, 0.0, 1.0).value_or(1.0);
  const double first_year =
      ammonium < 1.0 || in.has("first_year") || in.has("manure") ? read_first_year(in) : 0.0;
  amounts.ammonium_N = N * ammonium;
  amounts.organic_N = N * (1.0 - ammonium) * first_year;
  amounts.stable_N = N * (1.0 - ammonium) * (1.0 - first_year);
  amounts.sulfur = in.amount("sulfur", Kind::mass_per_area, 0.0, most_N_g_m2).value_or(0.0);
}

/// Mineral N by form, less what escapes and what an inhibitor keeps.
struct Forms {
  double N, urea, ammonium, nitrate;
  double lost;  ///< share that escapes where the file does not say
};
void read_amounts(TableReader& in, const Forms& f, Fertiliser<double>& amounts) {
  if (f.urea == 0.0 && in.has("urea_loss")) {
    in.mistake("urea_loss", "found where there is no urea; leave this key out");
  }
  const double exposed = in.amount("urea_loss", Kind::fraction, 0.0, 1.0).value_or(1.0);
  const double lost = in.amount("lost", Kind::fraction, 0.0, 0.9).value_or(f.lost);
  const double N = f.N * (1.0 - lost);
  amounts.urea_N = N * f.urea * exposed;
  amounts.urea_in_soil_N = N * f.urea * (1.0 - exposed);
  amounts.ammonium_N = N * f.ammonium;
  amounts.nitrate_N = N * f.nitrate;
  amounts.lost_N = f.N * lost;
}

void read_product(TableReader& in, const std::string& name, Fertiliser<double>& amounts) {
  if (same_word(name, "manure")) return read_manure(in, amounts);
  const ProductRow* product = find_product(name);
  if (!product) {
    std::vector<std::string> names;
    for (const ProductRow& r : product_table()) names.emplace_back(r.name);
    names.emplace_back("manure");
    in.mistake("product", fmt::format("found '{}'{}", name, suggestion(name, names)));
    for (const char* key : {"rate", "nitrogen", "density", "nitrogen_content", "urea_loss", "lost"})
      in.has(key);
  }
  for (const char* form : {"urea", "ammonium", "nitrate", "sulfur"}) {
    if (in.has(form) && product) {
      in.mistake(form, fmt::format("found with `product`; {} says what it holds, leave this key out", name));
    }
  }
  if (!product) return;
  const std::optional<double> density =
      product->density_lb_gal > 0.0 ? std::optional(product->density_g_L()) : std::nullopt;
  const double N = read_nitrogen(in, product->nitrogen, density, std::string(product->name));
  if (product->name == "urea with inhibitor") {
    in.require("urea_loss",
               "urea_loss = \"36 %\", its ammonia loss against plain urea, from its label or trials");
  }
  read_amounts(in, {N, product->urea, product->ammonium, product->nitrate, product->lost}, amounts);
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
  read_amounts(in, {N, shares[0], shares[1], shares[2], 0.0}, amounts);
  amounts.sulfur = in.amount("sulfur", Kind::mass_per_area, 0.0, most_N_g_m2).value_or(0.0);
}

}  // namespace

ReadEvent read_fertiliser(TableReader& in, std::chrono::sys_days date) {
  FertiliserPlan plan;
  plan.date = date;
  plan.amounts = {0.0, 0.0, 0.0, 0.0, true};
  if (const auto product = in.text("product")) {
    read_product(in, *product, plan.amounts);
  } else {
    read_forms(in, plan.amounts);
  }
  plan.soil_below_C = in.amount("soil_below", Kind::temperature, -5.0, 30.0);
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
