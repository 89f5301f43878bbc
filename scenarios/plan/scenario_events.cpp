#include <algorithm>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/plan/implements.hpp"
#include "scenarios/plan/products.hpp"
#include "scenarios/plan/scenario_sections.hpp"
#include "scenarios/text/calendar.hpp"

namespace stoverturn {
namespace {

constexpr double most_N_g_m2 = 100.0;  // 1,000 kg/ha
const std::vector<std::string> placement_words = {"surface", "buried"};

/// An event as read, before passes of one season are weighed against each other.
struct ReadEvent {
  EventPlan plan;
  bool bury_from_table = false;
};

std::optional<std::chrono::sys_days> event_date(TableReader& in, std::chrono::sys_days harvest) {
  const std::optional<double> after_d = in.amount("after_harvest", Kind::time, 0.0, 36525.0);
  const std::optional<std::chrono::sys_days> date = in.date("date");
  if (in.has("date") && in.has("after_harvest")) {
    in.mistake("after_harvest", "found with `date`; keep one of the two");
    return std::nullopt;
  }
  if (!in.has("after_harvest")) in.require("date", "date = 2026-11-05, or after_harvest = \"16 d\"");
  if (after_d) return harvest + std::chrono::days{static_cast<int>(std::lround(*after_d))};
  if (date && *date < harvest) {
    in.mistake("date",
               fmt::format("{} is before the harvest of {}", format_date(*date), format_date(harvest)));
  }
  return date;
}

/// The nearest name, or all of them; names may hold commas, so each stands in quotes.
std::string suggestion(const std::string& word, const std::vector<std::string>& names) {
  const std::string near = closest(word, names);
  return near.empty() ? fmt::format("; wanted one of '{}'", fmt::join(names, "', '"))
                      : fmt::format("; did you mean '{}'?", near);
}

void read_recut(const Table& table, Position at, const Treatment& treatment, TillagePlan& plan,
                Mistakes& mistakes) {
  TableReader in(table, "recut", at, mistakes);
  for (std::size_t i = 0; i < treatment.components.size(); ++i) {
    const std::string& name = treatment.components[i].name;
    const Table* cut = in.table(name);
    if (!cut) continue;
    TableReader piece(*cut, "recut." + name, in.at(name), mistakes);
    TillagePlan::Recut recut;
    recut.component = i;
    recut.cut_length_mm = piece.amount("cut_length", Kind::length, 0.01, 5000.0);
    recut.entry_spacing_mm = piece.amount("entry_spacing", Kind::length, 0.1, 5000.0);
    recut.opening = piece.amount("opening", Kind::fraction, 0.0, 1.0);
    piece.finish();
    plan.recuts.push_back(recut);
  }
  in.finish();
}

const ImplementRow* read_implement(TableReader& in) {
  const std::optional<std::string> name = in.text("implement");
  if (!name) return nullptr;
  const ImplementRow* row = find_implement(*name);
  if (!row) {
    std::vector<std::string> names;
    for (const ImplementRow& r : implement_table()) names.emplace_back(r.name);
    in.mistake("implement", fmt::format("found '{}'{}", *name, suggestion(*name, names)));
  } else if (row->cuts && !in.has("recut")) {
    in.mistake("implement", fmt::format("a {} cuts; say how short, as recut = {{ stalk = {{ cut_length = "
                                        "\"3 in\" }} }}",
                                        row->name));
  }
  return row;
}

ReadEvent read_tillage(TableReader& in, std::chrono::sys_days date, const Treatment& treatment,
                       Mistakes& mistakes) {
  TillagePlan plan;
  plan.date = date;
  const ImplementRow* implement = read_implement(in);
  const bool fragile = in.flag("fragile").value_or(is_fragile(treatment.material));
  if (implement) {
    plan.knock_down = implement->knock_down;
    plan.bury = 1.0 - (fragile ? implement->left_fragile : implement->left);
  }
  plan.knock_down = in.amount("knock_down", Kind::fraction, 0.0, 1.0).value_or(plan.knock_down);
  plan.bury = in.amount("bury", Kind::fraction, 0.0, 1.0).value_or(plan.bury);
  plan.bring_up = in.amount("bring_up", Kind::fraction, 0.0, 1.0).value_or(0.0);
  if (const Table* recut = in.table("recut")) read_recut(*recut, in.at("recut"), treatment, plan, mistakes);
  bool does_something = false;
  for (const char* key : {"implement", "knock_down", "bury", "bring_up", "recut"}) {
    does_something |= in.has(key);
  }
  if (!does_something) {
    in.mistake("kind",
               "a tillage event needs an implement, or at least one of knock_down, bury, bring_up and recut");
  }
  return {plan, implement && !in.has("bury")};
}

bool is_quantity(const std::string& text, Kind kind) {
  try {
    quantity(text, kind);
    return true;
  } catch (const QuantityError&) {
    return false;
  }
}

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

std::chrono::sys_days date_of(const EventPlan& event) {
  return std::visit([](const auto& plan) { return plan.date; }, event);
}

/// Passes after one that buried in the same year after harvest bury less, where the table says how much.
void weigh_later_passes(std::vector<ReadEvent>& events, std::chrono::sys_days harvest) {
  int disturbed = -1;  // latest year after harvest with a pass that buried
  for (ReadEvent& event : events) {
    TillagePlan* pass = std::get_if<TillagePlan>(&event.plan);
    if (!pass) continue;
    const int year = static_cast<int>(static_cast<double>((pass->date - harvest).count()) / 365.25);
    const double buried = pass->bury;
    if (event.bury_from_table && year == disturbed) pass->bury *= later_pass;
    if (buried > 0.0) disturbed = year;
  }
}

}  // namespace

void read_events(const List* list, Treatment& treatment, Mistakes& mistakes,
                 std::vector<std::string>& warnings) {
  if (!list) return;
  std::vector<ReadEvent> events;
  for (const Value& item : *list) {
    if (!item.table()) {
      mistakes.add(item.at, "found " + std::string(kind_name(item)) + "; wanted an event as [[event]]");
      continue;
    }
    TableReader in(*item.table(), "[[event]]", item.at, mistakes);
    in.require("kind", "kind = \"tillage\" or kind = \"fertiliser\"");
    const std::optional<std::string> kind = in.one_of("kind", {"tillage", "fertiliser", "fertilizer"});
    const std::chrono::sys_days date = event_date(in, treatment.harvest).value_or(treatment.harvest);
    in.text("note");
    if (!kind) continue;  // which keys belong here is not known
    events.push_back(*kind == "tillage" ? read_tillage(in, date, treatment, mistakes)
                                        : read_fertiliser(in, date, treatment, warnings));
    in.finish();
  }
  std::stable_sort(events.begin(), events.end(),
                   [](const ReadEvent& a, const ReadEvent& b) { return date_of(a.plan) < date_of(b.plan); });
  weigh_later_passes(events, treatment.harvest);
  for (ReadEvent& event : events) treatment.events.push_back(std::move(event.plan));
}

}  // namespace stoverturn
