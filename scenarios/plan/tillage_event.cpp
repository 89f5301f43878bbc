#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/plan/event_readers.hpp"
#include "scenarios/plan/harvest_material.hpp"
#include "scenarios/plan/implements.hpp"

namespace stoverturn {
namespace {

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

}  // namespace

std::string suggestion(const std::string& word, const std::vector<std::string>& names) {
  const std::string near = closest(word, names);
  return near.empty() ? fmt::format("; wanted one of '{}'", fmt::join(names, "', '"))
                      : fmt::format("; did you mean '{}'?", near);
}

ReadEvent read_tillage(TableReader& in, std::chrono::sys_days date, const Treatment& treatment,
                       Mistakes& mistakes) {
  TillagePlan plan;
  plan.date = date;
  const ImplementRow* implement = read_implement(in);
  const bool fragile = in.flag("fragile").value_or(is_fragile(treatment, material_on(treatment, date)));
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

}  // namespace stoverturn
