#include "scenarios/results/parameter_page.hpp"

#include <set>

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <nlohmann/json.hpp>

#include "scenarios/trial/fit_words.hpp"

namespace stoverturn {
namespace {

std::string_view scope_word(Scope scope) {
  static constexpr std::string_view words[] = {"component", "field", "driver"};
  return words[static_cast<std::size_t>(scope)];
}

std::string range_of_places(const ParameterRow& row) {
  if (row.spread == 0.0) return "";
  const auto at_share = [&](double share) { return value_of_places(row, row.spread, row.value, share); };
  return fmt::format("{:.2g} to {:.2g}", at_share(0.05), at_share(0.95));
}

struct InForce {
  std::string address;
  const ParameterRow* row;
  double value;
  Layer layer;
};

std::vector<InForce> in_force(const Treatment& t) {
  std::vector<InForce> all;
  const auto origin = [&](const std::string& address) {
    const auto found = t.parameters.origins.find(address);
    return found == t.parameters.origins.end() ? Layer::table_default : found->second;
  };
  for (const ParameterRow& row : parameter_table()) {
    if (row.scope != Scope::component) {
      const std::string address(row.name);
      all.push_back({address, &row, at(t.parameters.field, row), origin(address)});
      continue;
    }
    for (std::size_t i = 0; i < t.parameters.components.size(); ++i) {
      const std::string address = fmt::format("{}@{}", row.name, t.parameters.component_names[i]);
      all.push_back({address, &row, at(t.parameters.components[i], row), origin(address)});
    }
  }
  return all;
}

}  // namespace

std::string parameter_page_markdown() {
  std::string page =
      "# Parameters\n\n"
      "Printed by `stoverturn parameters`; the table lives in `engine/parameters.cpp` and nowhere else. A "
      "scope of\n"
      "*component* may differ between components (`k_hol@cob`), *field* and *driver* hold for the field; all "
      "may\n"
      "differ between treatments (`k_hol@opened`). A *driver* is used before the simulation and is not "
      "fitted.\n"
      "Values are set under `[parameters]` in a scenario file or with `--set NAME=VALUE`, in the unit "
      "shown.\n"
      "Order: default < material < fit < file < `--set`. Sources are listed in docs/model.md.\n"
      "*9 of 10 new places* have a value in this range, as far as the trials tell that the default comes "
      "from "
      "(empty:\n"
      "not known). It is a normal distribution on the fit scale, cut off at the bounds; the places of "
      "`draws` are "
      "drawn\n"
      "from it (docs/statistics.md).\n\n"
      "| name | scope | unit | default | 9 of 10 new places | bounds | fit scale | meaning | source "
      "|\n|---|---|---|---|---|---|---|---|---|\n";
  for (const ParameterRow& row : parameter_table()) {
    page += fmt::format("| `{}` | {} | {} | {} | {} | {} to {} | {} | {} | {} |\n", row.name,
                        scope_word(row.scope), row.unit, row.value, range_of_places(row), row.lower,
                        row.upper, word_of(row.fit), row.meaning, row.source);
  }
  page +=
      "\n## Built-in materials\n\nWhere they differ from the defaults above.\n\n"
      "| material | component | parameter | value | source |\n|---|---|---|---|---|\n";
  for (const MaterialRow& row : material_table()) {
    page += fmt::format("| {} | {} | `{}` | {:.6g} | {} |\n", row.material, row.component, row.parameter,
                        row.value, row.source);
  }
  return page;
}

std::string parameter_page_json() {
  nlohmann::ordered_json page;
  for (const ParameterRow& row : parameter_table()) {
    page["parameters"].push_back({{"name", row.name},
                                  {"scope", scope_word(row.scope)},
                                  {"unit", row.unit},
                                  {"default", row.value},
                                  {"lower", row.lower},
                                  {"upper", row.upper},
                                  {"fit_scale", word_of(row.fit)},
                                  {"spread_on_scale", row.spread},
                                  {"meaning", row.meaning},
                                  {"source", row.source}});
  }
  for (const MaterialRow& row : material_table()) {
    page["materials"].push_back({{"material", row.material},
                                 {"component", row.component},
                                 {"parameter", row.parameter},
                                 {"value", row.value},
                                 {"source", row.source}});
  }
  return page.dump(1) + "\n";
}

std::string parameters_in_force(const Scenario& scenario) {
  std::string text = "treatment,parameter,value,unit,from\n";
  for (const Treatment& t : scenario.treatments) {
    for (const InForce& p : in_force(t)) {
      text +=
          fmt::format("\"{}\",{},{},{},{}\n", t.name, p.address, p.value, p.row->unit, to_string(p.layer));
    }
  }
  return text;
}

std::vector<std::string> parameter_notes(const Scenario& scenario) {
  std::vector<std::string> notes;
  for (const Layer layer : {Layer::fit, Layer::file, Layer::command_line}) {
    std::vector<std::string> settings;
    std::set<std::string> seen;
    for (const Treatment& t : scenario.treatments) {
      for (const InForce& p : in_force(t)) {
        if (p.layer != layer) continue;
        const std::string setting = fmt::format("{} = {:.6g}", p.address, p.value);
        if (seen.insert(setting).second) settings.push_back(setting);
      }
    }
    if (settings.empty()) continue;
    const std::size_t shown = std::min<std::size_t>(settings.size(), 12);
    const std::vector<std::string> first(settings.begin(), settings.begin() + static_cast<long>(shown));
    notes.push_back(
        fmt::format("Parameters from the {}: {}{}.", to_string(layer), fmt::join(first, ", "),
                    settings.size() > shown ? fmt::format(" and {} more", settings.size() - shown) : ""));
  }
  return notes;
}

}  // namespace stoverturn
