#include <algorithm>
#include <cmath>
#include <map>
#include <memory>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/plan/forward_fit.hpp"
#include "scenarios/plan/harvest_material.hpp"
#include "scenarios/plan/own_crops.hpp"
#include "scenarios/plan/prices_section.hpp"
#include "scenarios/plan/scenario.hpp"
#include "scenarios/plan/scenario_sections.hpp"
#include "scenarios/plan/treatment_tables.hpp"
#include "scenarios/text/calendar.hpp"

namespace stoverturn {
namespace {

// sections that a treatment takes over from the top of the file and may change
const std::vector<std::string> inherited = {
    "soil",       "harvest",    "component",  "event",         "label",    "next_crop",  "cover_crop",
    "parameters", "conditions", "irrigation", "later_harvest", "rotation", "as_in_trial"};

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

struct FileParts {
  const Table& top;
  const Table& treatments;
  KnownNames known;  ///< what any treatment has: an address may hold for some of them alone
  RunDates run;
  const std::vector<Override>& parameter_overrides;
  const TextOf& text_of;
  const MaterialLibrary& library;
  const CropLibrary& crops;
  std::shared_ptr<const ForwardFit> fit;  ///< none: no fit is run forward
  std::optional<std::size_t> draw;        ///< of the fit; none: its estimates
  const NewPlace* place = nullptr;        ///< none: defaults are as they are
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
    for (const Entry& e : *parameters) {
      if (!is_fit_key(e.key)) add(e.key, e.key_at, e.value.front(), Layer::file);
    }
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

/// What a fit gives the treatment, after the settings of the scenario.
std::vector<ParameterSetting> settings_of_fit(const FileParts& file, TableReader& in, const Treatment& t,
                                              Mistakes& mistakes) {
  const std::optional<std::string> role = in.text("as_in_trial");
  if (file.fit) {
    const Position at = role ? in.at("as_in_trial") : in.at("");
    return fit_settings(*file.fit, file.draw, {t.name, t.label, role.value_or(""), at}, mistakes);
  }
  if (role && !names_fit(file.top))
    in.mistake("as_in_trial", "needs a fit; write parameters = \"fit.h5\" at the top of the file");
  return {};
}

/// A fit and draws hold for all treatments.
void refuse_fits_of_treatments(const Table& treatments, Mistakes& mistakes) {
  for (const Entry& entry : treatments) {
    const Table* own = entry.value.front().table();
    if (!own) continue;
    if (names_fit(*own)) {
      mistakes.add(find(*own, "parameters")->at,
                   "parameters: one fit holds for all treatments; write it at the top of the file, and here "
                   "as_in_trial = the treatment of the trial that this one is");
    } else if (asks_for_draws(*own)) {
      mistakes.add(find(*own, "parameters")->at,
                   "draws: they are the same for all treatments; write draws at the top of the file");
    }
  }
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
  const std::vector<ParameterSetting> fitted = settings_of_fit(file, in, t, mistakes);
  settings.insert(settings.end(), fitted.begin(), fitted.end());
  const Table cut = with_pieces_of_materials(components, t.components, t.materials, file.library);
  const std::vector<std::optional<LabSheet>> labs =
      read_components(&cut, name, t.components, settings, file.text_of, mistakes);
  t.parameters = resolve_parameters(t.materials, names, name, settings, file.library, file.place);
  if (add_lab_contents(labs, t, settings, mistakes, scenario.warnings)) {
    t.parameters =
        resolve_parameters(t.materials, names, name, std::move(settings), file.library, file.place);
  }
  if (file.fit) note_own_values(*file.fit, fitted, t.parameters, t.label, scenario.warnings);
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
  check_components(t, components ? *components : none, in.at("harvest"), mistakes);
  read_soil(in.table("soil"), in.at("soil"), t, mistakes);
  read_next_crop(in.table("next_crop"), in.at("next_crop"), file.crops, t, mistakes);
  const std::vector<RotatedHarvest> rotated =
      read_later_harvests(in, harvest_table ? *harvest_table : none, file.run,
                          {file.library, file.crops, file.text_of}, t, mistakes, scenario.warnings);
  read_events(in.list("event"), rotated, file.run, scenario.prices, t, mistakes);
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

/// All that a scenario is read from, to read it again with draws.
struct Source {
  std::string text, name;
  std::vector<std::string> overrides;
  std::map<std::string, std::optional<std::string>> files;
};

/// The file's top with what the command line sets of it; the rest of the command line, which is parameters.
Table top_of(const Source& source, std::vector<Override>& parameter_overrides, Mistakes& mistakes) {
  Table top = read_toml(source.text, source.name);
  gather_fit_keys(top, mistakes);
  static const std::map<std::string, std::string> root_keys = {{"title", "title"},
                                                               {"units", "units"},
                                                               {"duration", "duration"},
                                                               {"parameters", "parameters.file"},
                                                               {"draws", "parameters.draws"}};
  for (const std::string& o : source.overrides) {
    Override split = split_override(o, mistakes);
    const auto root = root_keys.find(split.address);
    if (root != root_keys.end() || split.address.find('.') != std::string::npos) {
      set_path(top, root != root_keys.end() ? root->second : split.address, split.value);
    } else if (!split.address.empty()) {
      parameter_overrides.push_back(std::move(split));
    }
  }
  return top;
}

/// What a scenario's draws are taken from.
struct DrawnFrom {
  std::shared_ptr<const ForwardFit> fit;
  std::size_t places = 0;  ///< so many new places
};

/// With draw `draw` of what was read; or with the estimates of the fit that the file names, or defaults,
/// where `from` is filled.
Scenario read_from(const Source& source, DrawnFrom& from, const TextOf& text_of,
                   std::optional<std::size_t> draw) {
  Mistakes mistakes;
  std::vector<Override> parameter_overrides;
  const Table top_table = top_of(source, parameter_overrides, mistakes);
  const std::string& name = source.name;
  if (!draw) from = {read_forward_fit(top_table, text_of, mistakes), read_place_draws(top_table, mistakes)};

  Scenario scenario;
  const Position start{name, 1, 1};
  TableReader top(top_table, "the file", start, mistakes);
  scenario.title = top.text("title").value_or(name);
  scenario.units = top.one_of("units", {"us", "si"}).value_or("si");
  scenario.duration_d = top.amount("duration", Kind::time, 1.0, 30.1 * 365.25).value_or(scenario.duration_d);
  read_weather_plan(top, scenario, mistakes);
  read_prices(top, top_table, scenario, mistakes);
  read_model(top, scenario, mistakes);
  read_ensemble_section(top, scenario, mistakes);
  read_timing_section(top, scenario, mistakes);
  read_planting_section(top, scenario, mistakes);
  for (const std::string& section : inherited) top.value(section);
  static const Table none;
  const Table* treatments = top.table("treatment");
  top.table("material");
  top.text("materials");
  const MaterialLibrary library = read_materials(top_table, text_of, mistakes);
  const CropLibrary crops = read_crops(top.table("crop"), library, mistakes, scenario.warnings);
  FileParts file{top_table,
                 treatments ? *treatments : none,
                 {},
                 {},
                 parameter_overrides,
                 text_of,
                 library,
                 crops,
                 from.fit,
                 draw};
  NewPlace place;
  if (draw && !from.fit) {
    place = new_place(scenario.weather ? scenario.weather->seed : 1, *draw);
    file.place = &place;
  }
  refuse_fits_of_treatments(file.treatments, mistakes);
  for (const Entry& entry : file.treatments) file.known.treatments.push_back(entry.key);
  learn(file, scenario.duration_d);
  if (file.fit && !draw) check_forward_fit(*file.fit, file.known.components, mistakes);
  top.value("draws");
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
  refuse_unknown_passes(scenario, mistakes);
  mistakes.throw_if_any();
  std::sort(scenario.warnings.begin(), scenario.warnings.end());
  scenario.warnings.erase(std::unique(scenario.warnings.begin(), scenario.warnings.end()),
                          scenario.warnings.end());
  return scenario;
}

}  // namespace

Table treatment_tables(const Table& top, const std::string& treatment) {
  Mistakes ignored;
  const Value* treatments = find(top, "treatment");
  static const Table none;
  return inherited_tables(top, treatments && treatments->table() ? *treatments->table() : none, treatment, {},
                          ignored);
}

Scenario read_scenario(std::string_view text, const std::string& name,
                       const std::vector<std::string>& overrides, const TextOf& text_of) {
  const auto source = std::make_shared<Source>(Source{std::string(text), name, overrides, {}});
  const TextOf remembering = [&](const std::string& file) {
    return source->files[file] = text_of ? text_of(file) : std::nullopt;
  };
  DrawnFrom from;
  Scenario scenario = read_from(*source, from, remembering, std::nullopt);
  const std::size_t count = from.fit ? from.fit->draws.size() : from.places;
  if (count == 0) return scenario;
  const auto with_draw = [source = std::shared_ptr<const Source>(source), from](std::size_t i) {
    const TextOf remembered = [&](const std::string& file) {
      const auto found = source->files.find(file);
      return found == source->files.end() ? std::nullopt : found->second;
    };
    DrawnFrom same = from;
    return read_from(*source, same, remembered, i);
  };
  scenario.draws.emplace();
  scenario.draws->count = count;
  scenario.draws->with_draw = with_draw;
  if (from.fit) {
    scenario.draws->fit = from.fit->file;
    scenario.draws->are = from.fit->fit.draws_are;
    scenario.draws->level = from.fit->fit.level;
  }
  return scenario;
}

}  // namespace stoverturn
