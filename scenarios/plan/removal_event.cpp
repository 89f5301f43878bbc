#include <fmt/format.h>

#include "scenarios/plan/event_readers.hpp"

namespace stoverturn {
namespace {

constexpr double most_g_m2 = 5000.0;

/// "50 %" is a share, "2 t/ha" a mass of dry matter.
std::optional<RemovalPlan::Take> read_take(TableReader& in, const std::string& key, int component) {
  const Value* value = in.value(key);
  if (!value) return std::nullopt;
  const std::string* text = value->text();
  const bool by_mass = text && !is_quantity(*text, Kind::fraction);
  const std::optional<double> amount = by_mass ? in.amount(key, Kind::mass_per_area, 0.0, most_g_m2)
                                               : in.amount(key, Kind::fraction, 0.0, 1.0);
  if (!amount) return std::nullopt;
  return RemovalPlan::Take{component, *amount, by_mass};
}

}  // namespace

ReadEvent read_removal(TableReader& in, std::chrono::sys_days date, const Treatment& treatment,
                       Mistakes& mistakes) {
  RemovalPlan plan;
  plan.date = date;
  const auto from = in.one_of("from", {"surface", "standing", "both"}).value_or("both");
  plan.from_standing = from != "surface";
  plan.from_surface = from != "standing";
  plan.returned = in.amount("returned", Kind::fraction, 0.0, 1.0).value_or(0.0);
  if (const auto all = read_take(in, "take", -1); all && !in.value("take")->table()) {
    plan.takes.push_back(*all);
  }
  if (const Table* by_component = in.table("take_of")) {
    TableReader of(*by_component, "take_of", in.at("take_of"), mistakes);
    for (std::size_t c = 0; c < treatment.components.size(); ++c) {
      const auto take = read_take(of, treatment.components[c].name, static_cast<int>(c));
      if (take) plan.takes.push_back(*take);
    }
    of.finish();
  }
  if (in.has("take") == in.has("take_of")) {
    in.mistake("kind",
               "a removal needs one of take = \"40 %\" (or \"2 t/ha\" of dry matter) and take_of = { leaf = "
               "\"60 %\" }");
  }
  return {plan, false};
}

ReadEvent read_irrigation(TableReader& in, std::chrono::sys_days date) {
  IrrigationPlan plan;
  plan.date = date;
  in.require("amount", "amount = \"1 in\", depth of water");
  plan.water_mm = in.amount("amount", Kind::length, 0.0, 500.0).value_or(0.0);
  return {plan, false};
}

}  // namespace stoverturn
