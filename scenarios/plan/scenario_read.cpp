#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "engine/stoichiometry.hpp"
#include "scenarios/plan/harvest_material.hpp"
#include "scenarios/plan/own_crops.hpp"
#include "scenarios/plan/scenario.hpp"
#include "scenarios/plan/scenario_sections.hpp"
#include "scenarios/text/calendar.hpp"

namespace stoverturn {
namespace {

constexpr double richest_CN = 3.2;  // protein

// sections that a treatment takes over from the top of the file and may change
const std::vector<std::string> inherited = {"soil",       "harvest",    "component",     "event",
                                            "label",      "next_crop",  "cover_crop",    "parameters",
                                            "conditions", "irrigation", "later_harvest", "rotation"};

struct Override {
  std::string address;
  Value value;
};

Override split_override(const std::string& text, Mistakes& mistakes) {
  const std::size_t equals = text.find('=');
  if (equals == std::string::npos || equals == 0) {
    mistakes.add({"command line", 0, 0}, fmt::format("found `--set {}`; wanted --set name=value", text));
    return {};
  }
  return {text.substr(0, equals), command_line_value(std::string_view(text).substr(equals + 1))};
}

/// The tables a treatment reads: the file's top, what it is `like`, and its own, laid over each other.
Table inherited_tables(const Table& top, const Table& treatments, const std::string& name,
                       std::vector<std::string> chain, Mistakes& mistakes) {
  Table base;
  for (const Entry& entry : top) {
    if (std::find(inherited.begin(), inherited.end(), entry.key) != inherited.end()) base.push_back(entry);
  }
  const Value* own = find(treatments, name);
  if (!own || !own->table()) return base;
  if (const Value* like = find(*own->table(), "like")) {
    const std::string* model = like->text();
    chain.push_back(name);
    std::vector<std::string> others;
    for (const Entry& e : treatments) {
      if (e.key != name) others.push_back(e.key);
    }
    if (!model) {
      mistakes.add(like->at, fmt::format("like: found {}; wanted the name of a treatment", kind_name(*like)));
    } else if (!find(treatments, *model)) {
      mistakes.add(like->at,
                   fmt::format("like: no treatment is called `{}`{}", *model, did_you_mean(*model, others)));
    } else if (std::find(chain.begin(), chain.end(), *model) != chain.end()) {
      mistakes.add(like->at, fmt::format("like: the treatments go in a circle, {} -> {}",
                                         fmt::join(chain, " -> "), *model));
    } else {
      base = inherited_tables(top, treatments, *model, chain, mistakes);
      base.erase(std::remove_if(base.begin(), base.end(), [](const Entry& e) { return e.key == "label"; }),
                 base.end());
    }
  }
  Table result = merged(base, *own->table(), {"placement", "material"});  // shares of one whole
  const Value* added = find(*own->table(), "add_event");
  if (added && !added->list()) {
    mistakes.add(added->at, fmt::format("add_event: found {}; wanted [[treatment.{}.add_event]] in double "
                                        "brackets",
                                        kind_name(*added), name));
  } else if (added) {
    List events;
    if (const Value* event = find(result, "event"); event && event->list()) events = *event->list();
    events.insert(events.end(), added->list()->begin(), added->list()->end());
    set_path(result, "event", Value{added->at, events});
  }
  return result;
}

/// The shares of a material's components make one whole.
void check_mass_shares(const Treatment& t, Position at, Mistakes& mistakes) {
  for (std::size_t m = 0; m < t.materials.size(); ++m) {
    std::vector<std::string> names;
    double sum = 0.0;
    for (std::size_t i = 0; i < t.components.size(); ++i) {
      if (t.components[i].material != m) continue;
      names.push_back(t.components[i].name);
      sum += t.parameters.components[i].mass_share;
    }
    if (names.empty() || std::abs(sum - 1.0) <= 0.005) continue;
    mistakes.add(at, fmt::format("the mass_share of the components ({}) add up to {:.4g}; wanted 1",
                                 fmt::join(names, ", "), sum));
  }
}

/// Composition that cannot be, or that the model had to bend.
void check_components(Treatment& t, const Table& tables, Position field_at, Mistakes& mistakes,
                      std::vector<std::string>& warnings) {
  for (std::size_t i = 0; i < t.components.size(); ++i) {
    const Parameters<double>& p = t.parameters.components[i];
    const std::string& name = t.components[i].name;
    const Value* own = find(tables, name);
    const Position at = own ? own->at : field_at;
    if (p.soluble + p.lignin > 0.98) {
      mistakes.add(
          at, fmt::format("{}: soluble and lignin are {:.3g} of the carbon together; wanted at most 0.98",
                          name, p.soluble + p.lignin));
      continue;
    }
    if (p.a_rem + p.a_som > 1.0) {
      mistakes.add(at, fmt::format("{}: a_rem and a_som are {:.3g} together; wanted at most 1", name,
                                   p.a_rem + p.a_som));
    }
    const Stoichiometry<double> s = stoichiometry(p);
    if (1.0 / s.q_sol[nitrogen] < richest_CN) {
      mistakes.add(at,
                   fmt::format("{}: its solubles would have a C:N of {:.2g}, richer than protein ({}); lower "
                               "nitrogen or raise soluble",
                               name, 1.0 / s.q_sol[nitrogen], richest_CN));
    }
    if (s.structural_share[nitrogen] < 0.99) {
      warnings.push_back(
          fmt::format("{}: nitrogen is too low for the C:N of holocellulose; it was raised from {:.0f} "
                      "to {:.0f} (check nitrogen, or set CN_hol)",
                      name, p.CN_hol, 1.0 / s.q_hol[nitrogen]));
    }
  }
  check_mass_shares(t, field_at, mistakes);
}

struct FileParts {
  const Table& top;
  const Table& treatments;
  KnownNames known;  ///< what any treatment has: an address may hold for some of them alone
  RunDates run;
  const std::vector<Override>& parameter_overrides;
  const TextOf& text_of;
  const MaterialLibrary& library;
  const CropLibrary& crops;
};

std::optional<std::chrono::sys_days> harvest_date(const Table& treatment) {
  Mistakes ignored;
  const Value* harvest = find(treatment, "harvest");
  if (!harvest || !harvest->table()) return std::nullopt;
  return TableReader(*harvest->table(), "", harvest->at, ignored).date("date");
}

/// Every component and material that some treatment has, and the days of the run; mistakes are left to the
/// reading of each.
void learn(FileParts& file, double duration_d) {
  std::optional<std::chrono::sys_days> start;
  const auto add_once = [](std::vector<std::string>& list, const std::string& word) {
    if (std::find(list.begin(), list.end(), word) == list.end()) list.push_back(word);
  };
  std::vector<std::string> treatments = {""};
  if (!file.treatments.empty()) treatments = file.known.treatments;
  for (const std::string& treatment : treatments) {
    Mistakes ignored;
    const Table tables = inherited_tables(file.top, file.treatments, treatment, {}, ignored);
    const Value* component = find(tables, "component");
    const std::vector<std::string> materials = materials_of(tables, file.library, file.crops);
    const std::optional<std::chrono::sys_days> harvest = harvest_date(tables);
    if (harvest && (!start || *harvest < *start)) start = harvest;
    for (const ComponentName& name :
         component_names(materials, component ? component->table() : nullptr, {}, ignored, file.library)) {
      add_once(file.known.components, name.name);
    }
    for (const std::string& material : materials) add_once(file.known.materials, material);
  }
  if (start) file.run = {*start, date_after(*start, duration_d)};
}

std::vector<ParameterSetting> addressed_settings(const FileParts& file, const Table* parameters,
                                                 Mistakes& mistakes) {
  std::vector<ParameterSetting> settings;
  const auto add = [&](const std::string& address, const Position& at, const Value& value, Layer layer) {
    const auto setting = read_address(address, at, value, file.known, layer, mistakes);
    if (setting) settings.push_back(*setting);
  };
  if (parameters) {
    for (const Entry& e : *parameters) add(e.key, e.key_at, e.value.front(), Layer::file);
  }
  for (const Override& o : file.parameter_overrides) add(o.address, o.value.at, o.value, Layer::command_line);
  return settings;
}

/// What is said of the materials of a treatment.
void add_materials_of(const MaterialLibrary& library, Treatment& t, std::vector<std::string>& warnings) {
  for (const std::string& name : t.materials) {
    const Material* material = find_material(library, name);
    t.fragile.push_back(material && material->fragile);
    if (material) warnings.insert(warnings.end(), material->warnings.begin(), material->warnings.end());
  }
}

/// Lab sheets as settings, weaker than the keys of the same table; they build on the parameters without them.
bool add_lab_contents(const std::vector<std::optional<LabSheet>>& labs, const Treatment& t,
                      std::vector<ParameterSetting>& settings, Mistakes& mistakes,
                      std::vector<std::string>& warnings) {
  std::vector<ParameterSetting> told;
  for (std::size_t i = 0; i < labs.size(); ++i) {
    if (!labs[i]) continue;
    const std::string& component = t.components[i].name;
    for (const LabContent& c :
         lab_contents(*labs[i], t.parameters.components[i], component, mistakes, warnings)) {
      told.push_back({c.row, component, t.name, c.value, Layer::file});
    }
  }
  settings.insert(settings.begin(), told.begin(), told.end());
  return !told.empty();
}

Treatment read_treatment(const FileParts& file, const std::string& name, Position at, Scenario& scenario,
                         Mistakes& mistakes) {
  Treatment t;
  t.name = name;
  const Table table = inherited_tables(file.top, file.treatments, name, {}, mistakes);
  TableReader in(table, name.empty() ? "the file" : fmt::format("[treatment.{}]", name), at, mistakes);
  t.label = in.text("label").value_or(name.empty() ? "field" : name);
  in.value("like");
  in.value("add_event");

  in.require("harvest", "[harvest] with date and grain_yield");
  static const Table none;
  const Table* harvest_table = in.table("harvest");
  TableReader harvest(harvest_table ? *harvest_table : none, "[harvest]", in.at("harvest"), mistakes);
  t.materials = materials_of(table, file.library, file.crops);
  add_materials_of(file.library, t, scenario.warnings);

  const Table* components = in.table("component");
  const std::vector<ComponentName> names =
      component_names(t.materials, components, file.known.components, mistakes, file.library);
  for (const ComponentName& c : names) t.components.push_back({c.name, {}, c.material, c.part});
  if (names.empty()) harvest.mistake("material", "\"own\" needs [component.NAME] tables");

  std::vector<ParameterSetting> settings = addressed_settings(file, in.table("parameters"), mistakes);
  const Table cut = with_pieces_of_materials(components, t.components, t.materials, file.library);
  const std::vector<std::optional<LabSheet>> labs =
      read_components(&cut, name, t.components, settings, file.text_of, mistakes);
  t.parameters = resolve_parameters(t.materials, names, name, settings, file.library);
  if (add_lab_contents(labs, t, settings, mistakes, scenario.warnings)) {
    t.parameters = resolve_parameters(t.materials, names, name, std::move(settings), file.library);
  }
  if (harvest_table) {
    harvest.require("date", "date = 2026-10-20");
    t.harvests.push_back(read_harvest(harvest, t, file.library, mistakes));
    t.harvests.back().date = harvest.date("date").value_or(std::chrono::sys_days{});
    harvest.finish();
  } else {
    t.harvests.emplace_back();
    t.harvests.back().material_shares.assign(t.materials.size(), 1.0);
  }
  mix_field(t.parameters, t.first().material_shares, file.library, scenario.warnings);
  check_components(t, components ? *components : none, in.at("harvest"), mistakes, scenario.warnings);
  read_soil(in.table("soil"), in.at("soil"), t, mistakes);
  read_next_crop(in.table("next_crop"), in.at("next_crop"), file.crops, t, mistakes);
  const std::vector<RotatedHarvest> rotated =
      read_later_harvests(in, harvest_table ? *harvest_table : none, file.run,
                          {file.library, file.crops, file.text_of}, t, mistakes, scenario.warnings);
  read_events(in.list("event"), rotated, file.run, t, mistakes);
  read_irrigation_rule(in.table("irrigation"), in.at("irrigation"), t, mistakes);
  if (const Table* conditions = in.table("conditions")) {
    t.conditions = read_conditions(*conditions, in.at("conditions"), mistakes);
    const bool watered =
        t.irrigation || std::any_of(t.events.begin(), t.events.end(), [](const EventPlan& e) {
          return std::holds_alternative<IrrigationPlan>(e);
        });
    if (watered) {
      mistakes.add(in.at("conditions"),
                   "conditions take no irrigation; pour water by a log (its column water [mm])");
    }
  }
  read_cover_crop(in.table("cover_crop"), in.at("cover_crop"), file.crops, t, mistakes);
  in.finish();
  return t;
}

void read_prices(TableReader& top, Scenario& scenario, Mistakes& mistakes) {
  constexpr double lb = 453.59237;
  Prices& p = scenario.prices;
  p = {0.55 / lb, 0.60 / lb, 0.40 / lb, 0.50 / lb, true};
  const Table* table = top.table("prices");
  if (!table) return;
  TableReader in(*table, "[prices]", top.at("prices"), mistakes);
  scenario.currency = in.text("currency").value_or(scenario.currency);
  int given = 0;
  for (const auto& [key, price] : {std::pair("nitrogen", &p.nitrogen), std::pair("phosphate", &p.phosphate),
                                   std::pair("potash", &p.potash), std::pair("sulfur", &p.sulfur)}) {
    if (const auto value = in.amount(key, Kind::money_per_mass, 0.0, 1000.0)) {
      *price = *value;
      ++given;
    }
  }
  p.placeholders = given < 4;
  in.finish();
}

void read_model(TableReader& top, Scenario& scenario, Mistakes& mistakes) {
  const Table* table = top.table("model");
  if (!table) return;
  TableReader in(*table, "[model]", top.at("model"), mistakes);
  ModelChoices& m = scenario.model;
  if (in.one_of("access", {"colonisation", "diffusion"}) == "diffusion") m.access = AccessForm::diffusion;
  const auto temperature = in.one_of("temperature", {"lloyd_taylor", "q10", "yan_hunt"});
  if (temperature == "q10") m.forms.temperature = TemperatureForm::q10;
  if (temperature == "yan_hunt") m.forms.temperature = TemperatureForm::yan_hunt;
  if (in.one_of("moisture", {"pore_space", "water_potential"}) == "water_potential") {
    m.forms.moisture = MoistureForm::water_potential;
  }
  m.merge_after_d = in.amount("merge_after", Kind::time, 365.0, 40.0 * 365.25).value_or(m.merge_after_d);
  m.tolerance.relative = in.number("relative_tolerance", 1e-12, 1e-3).value_or(m.tolerance.relative);
  m.tolerance.absolute = in.number("absolute_tolerance", 1e-12, 1e-3).value_or(m.tolerance.absolute);
  in.finish();
}

/// Results are told apart by their labels.
void refuse_equal_labels(const Table& tables, const std::vector<Treatment>& treatments, Mistakes& mistakes) {
  for (std::size_t i = 1; i < treatments.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      if (treatments[i].label != treatments[j].label) continue;
      const Value* own = find(tables, treatments[i].name);
      mistakes.add(
          own ? own->at : Position{},
          fmt::format("label: treatments `{}` and `{}` are both called '{}'; give each its own label",
                      treatments[j].name, treatments[i].name, treatments[i].label));
    }
  }
}

}  // namespace

Scenario read_scenario(std::string_view text, const std::string& name,
                       const std::vector<std::string>& overrides, const TextOf& text_of) {
  Mistakes mistakes;
  Table top_table = read_toml(text, name);
  std::vector<Override> parameter_overrides;
  for (const std::string& o : overrides) {
    Override split = split_override(o, mistakes);
    static const std::vector<std::string> root_keys = {"title", "units", "duration"};
    const bool root = std::find(root_keys.begin(), root_keys.end(), split.address) != root_keys.end();
    if (root || split.address.find('.') != std::string::npos) {
      set_path(top_table, split.address, split.value);
    } else if (!split.address.empty()) {
      parameter_overrides.push_back(std::move(split));
    }
  }

  Scenario scenario;
  const Position start{name, 1, 1};
  TableReader top(top_table, "the file", start, mistakes);
  scenario.title = top.text("title").value_or(name);
  scenario.units = top.one_of("units", {"us", "si"}).value_or("si");
  scenario.duration_d = top.amount("duration", Kind::time, 1.0, 30.1 * 365.25).value_or(scenario.duration_d);
  read_weather_plan(top, scenario, mistakes);
  read_prices(top, scenario, mistakes);
  read_model(top, scenario, mistakes);
  for (const std::string& section : inherited) top.value(section);
  static const Table none;
  const Table* treatments = top.table("treatment");
  top.table("material");
  top.text("materials");
  const MaterialLibrary library = read_materials(top_table, text_of, mistakes);
  const CropLibrary crops = read_crops(top.table("crop"), library, mistakes, scenario.warnings);
  FileParts file{top_table, treatments ? *treatments : none, {}, {}, parameter_overrides, text_of, library,
                 crops};
  for (const Entry& entry : file.treatments) file.known.treatments.push_back(entry.key);
  learn(file, scenario.duration_d);
  top.finish();

  if (file.treatments.empty()) {
    scenario.treatments.push_back(read_treatment(file, "", start, scenario, mistakes));
  }
  for (const Entry& entry : file.treatments) {
    if (!entry.value.front().table()) {
      mistakes.add(entry.key_at,
                   fmt::format("treatment `{}`: wanted a table [treatment.{}]", entry.key, entry.key));
      continue;
    }
    scenario.treatments.push_back(read_treatment(file, entry.key, entry.key_at, scenario, mistakes));
  }
  for (const Treatment& t : scenario.treatments) {
    if (!t.conditions && !scenario.weather) {
      mistakes.add(start,
                   "the file lacks `weather`; write [weather] with file = \"weather.csv\", or [conditions]");
      break;
    }
  }
  refuse_equal_labels(file.treatments, scenario.treatments, mistakes);
  mistakes.throw_if_any();
  std::sort(scenario.warnings.begin(), scenario.warnings.end());
  scenario.warnings.erase(std::unique(scenario.warnings.begin(), scenario.warnings.end()),
                          scenario.warnings.end());
  return scenario;
}

}  // namespace stoverturn
