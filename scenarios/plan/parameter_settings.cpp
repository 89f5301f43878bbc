#include "scenarios/plan/parameter_settings.hpp"

#include <algorithm>
#include <optional>

#include <fmt/format.h>

#include "scenarios/text/table_reader.hpp"

namespace stoverturn {
namespace {

std::optional<Kind> kind_of_unit(std::string_view unit) {
  static const std::map<std::string_view, Kind> kinds = {
      {"1", Kind::fraction},      {"1/d", Kind::per_time},
      {"mm", Kind::length},       {"mm/d", Kind::length_per_time},
      {"1/mm", Kind::per_length}, {"d", Kind::time},
      {"g/g", Kind::content},     {"degC", Kind::temperature},
      {"MPa", Kind::pressure},    {"g/m2/d", Kind::mass_per_area_per_time},
  };
  const auto found = kinds.find(unit);
  return found == kinds.end() ? std::nullopt : std::optional(found->second);
}

std::vector<std::string> parameter_names() {
  std::vector<std::string> names;
  for (const ParameterRow& row : parameter_table()) names.emplace_back(row.name);
  return names;
}

bool contains(const std::vector<std::string>& list, std::string_view word) {
  return std::find(list.begin(), list.end(), word) != list.end();
}

std::string key_of(const ParameterRow& row, const std::string& whose) {
  return whose.empty() ? std::string(row.name) : fmt::format("{}@{}", row.name, whose);
}

/// The whole field's value, or one material's; the first material's is also the field's.
void apply_to_field(TreatmentParameters& p, const ParameterSetting& s) {
  const bool all = s.material.empty();
  for (std::size_t m = 0; m < p.materials.size(); ++m) {
    if (!all && s.material != p.materials[m]) continue;
    at(p.of_material[m], *s.row) = s.value;
    if (m == 0) at(p.field, *s.row) = s.value;
    p.origins[key_of(*s.row, m == 0 ? "" : p.materials[m])] = s.layer;
  }
}

void apply(TreatmentParameters& p, const std::vector<ComponentName>& components, const ParameterSetting& s) {
  if (s.row->scope != Scope::component) return apply_to_field(p, s);
  // dissolved organic matter decays by the field's own copy of the component parameters
  if (s.component.empty() && s.material.empty()) at(p.field, *s.row) = s.value;
  for (std::size_t i = 0; i < p.components.size(); ++i) {
    if (!s.component.empty() && s.component != p.component_names[i]) continue;
    if (!s.material.empty() && s.material != p.materials[components[i].material]) continue;
    at(p.components[i], *s.row) = s.value;
    p.origins[key_of(*s.row, p.component_names[i])] = s.layer;
  }
}

/// What is built in of the materials, or what the user says of them.
void apply_materials(TreatmentParameters& p, const std::vector<ComponentName>& components,
                     const MaterialLibrary& library, bool built_in) {
  for (std::size_t m = 0; m < p.materials.size(); ++m) {
    const Material* material = find_material(library, p.materials[m]);
    if (!material) continue;
    for (const MaterialValue& v : material->values) {
      if (v.built_in != built_in) continue;
      const std::string component = v.part.empty() ? "" : component_name(p.materials, m, v.part);
      apply(p, components, {v.row, component, "", v.value, Layer::material, p.materials[m]});
    }
  }
}

}  // namespace

std::string_view to_string(Layer layer) {
  static constexpr std::string_view names[] = {"default", "material", "fit", "file", "command line"};
  return names[static_cast<std::size_t>(layer)];
}

std::optional<double> read_parameter_value(const ParameterRow& row, const Value& value, Mistakes& mistakes) {
  const std::string name(row.name);
  const std::optional<Kind> kind = kind_of_unit(row.unit);
  double number = 0.0;
  if (const double* bare = value.number()) {
    number = *bare;
  } else if (kind) {
    const std::optional<Quantity> q = read_quantity(value, *kind, name, mistakes);
    if (!q) return std::nullopt;
    number = q->value;
  } else {
    mistakes.add(value.at,
                 fmt::format("{}: found {}; wanted a number in {}", name, kind_name(value), row.unit));
    return std::nullopt;
  }
  if (number >= row.lower && number <= row.upper) return number;
  mistakes.add(value.at, fmt::format("{}: found {}{}; wanted {} to {} ({})", name, number,
                                     row.unit == "1" ? "" : fmt::format(" {}", row.unit), row.lower,
                                     row.upper, row.meaning));
  return std::nullopt;
}

bool differs_by_material(const ParameterRow& row) {
  return row.scope == Scope::component || row.name == "harvest_index" || row.name == "plant_height_mm" ||
         row.name == "cover_m2_g";
}

bool is_known(const TreatmentParameters& parameters, std::string_view name, std::size_t material) {
  const std::string address =
      material == 0 ? std::string(name) : fmt::format("{}@{}", name, parameters.materials[material]);
  return parameters.origins.count(address) > 0;
}

std::optional<ParameterSetting> read_address(const std::string& address, Position at, const Value& value,
                                             const KnownNames& known, Layer layer, Mistakes& mistakes) {
  const std::size_t first_at = address.find('@');
  const std::string name = address.substr(0, first_at);
  ParameterSetting setting;
  setting.layer = layer;
  setting.row = find_parameter(name);
  if (!setting.row) {
    mistakes.add(at, fmt::format("unknown parameter `{}`{} (`stoverturn parameters` lists them)", name,
                                 did_you_mean(name, parameter_names())));
    return std::nullopt;
  }
  for (std::size_t from = first_at; from != std::string::npos;) {
    const std::size_t to = address.find('@', from + 1);
    const std::string who = address.substr(from + 1, to == std::string::npos ? to : to - from - 1);
    if (contains(known.components, who)) {
      setting.component = who;
    } else if (contains(known.treatments, who)) {
      setting.treatment = who;
    } else if (contains(known.materials, who)) {
      setting.material = who;
    } else {
      std::vector<std::string> all = known.components;
      all.insert(all.end(), known.treatments.begin(), known.treatments.end());
      mistakes.add(at, fmt::format("{}: no component or treatment is called `{}`{}", address, who,
                                   did_you_mean(who, all)));
      return std::nullopt;
    }
    from = to;
  }
  const bool of_component = !setting.component.empty() && setting.row->scope != Scope::component;
  const bool of_material = !setting.material.empty() && !differs_by_material(*setting.row);
  if (of_component || of_material) {
    mistakes.add(at, fmt::format("{}: {} is one value for the whole field; drop @{}", address, name,
                                 of_component ? setting.component : setting.material));
    return std::nullopt;
  }
  const std::optional<double> number = read_parameter_value(*setting.row, value, mistakes);
  if (!number) return std::nullopt;
  setting.value = *number;
  return setting;
}

TreatmentParameters resolve_parameters(const std::vector<std::string>& materials,
                                       const std::vector<ComponentName>& components,
                                       const std::string& treatment, std::vector<ParameterSetting> settings,
                                       const MaterialLibrary& library, const NewPlace* place) {
  TreatmentParameters p;
  p.materials = materials;
  for (const ComponentName& component : components) p.component_names.push_back(component.name);
  p.field = default_parameters();
  p.of_material.assign(materials.size(), default_parameters());
  p.components.assign(components.size(), default_parameters());
  for (const std::string& name : materials) {
    const Material* material = find_material(library, name);
    p.kin.push_back(material ? material->kin : name);
  }
  apply_materials(p, components, library, true);
  if (place) {
    move_to(*place, false, p.field);
    for (Parameters<double>& of_material : p.of_material) move_to(*place, false, of_material);
    for (Parameters<double>& component : p.components) move_to(*place, true, component);
  }
  apply_materials(p, components, library, false);
  std::stable_sort(
      settings.begin(), settings.end(), [](const ParameterSetting& a, const ParameterSetting& b) {
        const auto rank = [](const ParameterSetting& s) {
          return std::tuple(s.layer, !s.component.empty(), !s.material.empty(), !s.treatment.empty());
        };
        return rank(a) < rank(b);
      });
  for (const ParameterSetting& s : settings) {
    if (s.treatment.empty() || s.treatment == treatment) apply(p, components, s);
  }
  return p;
}

}  // namespace stoverturn
