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

std::string key_of(const ParameterRow& row, const std::string& component) {
  return component.empty() ? std::string(row.name) : fmt::format("{}@{}", row.name, component);
}

void apply(TreatmentParameters& p, const ParameterSetting& s) {
  if (s.row->scope != Scope::component) {
    at(p.field, *s.row) = s.value;
    p.origins[key_of(*s.row, "")] = s.layer;
    return;
  }
  // dissolved organic matter decays by the field's own copy of the component parameters
  if (s.component.empty()) at(p.field, *s.row) = s.value;
  for (std::size_t i = 0; i < p.components.size(); ++i) {
    if (!s.component.empty() && s.component != p.component_names[i]) continue;
    at(p.components[i], *s.row) = s.value;
    p.origins[key_of(*s.row, p.component_names[i])] = s.layer;
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

std::optional<ParameterSetting> read_address(const std::string& address, Position at, const Value& value,
                                             const std::vector<std::string>& components,
                                             const std::vector<std::string>& treatments, Layer layer,
                                             Mistakes& mistakes) {
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
    if (contains(components, who)) {
      setting.component = who;
    } else if (contains(treatments, who)) {
      setting.treatment = who;
    } else {
      std::vector<std::string> both = components;
      both.insert(both.end(), treatments.begin(), treatments.end());
      mistakes.add(at, fmt::format("{}: no component or treatment is called `{}`{}", address, who,
                                   did_you_mean(who, both)));
      return std::nullopt;
    }
    from = to;
  }
  if (!setting.component.empty() && setting.row->scope != Scope::component) {
    mistakes.add(at, fmt::format("{}: {} is one value for the whole field; drop @{}", address, name,
                                 setting.component));
    return std::nullopt;
  }
  const std::optional<double> number = read_parameter_value(*setting.row, value, mistakes);
  if (!number) return std::nullopt;
  setting.value = *number;
  return setting;
}

TreatmentParameters resolve_parameters(const std::string& material,
                                       const std::vector<std::string>& components,
                                       const std::string& treatment, std::vector<ParameterSetting> settings) {
  TreatmentParameters p;
  p.component_names = components;
  p.field = default_parameters();
  p.components.assign(components.size(), default_parameters());
  for (const MaterialRow& row : material_table()) {
    if (row.material != material) continue;
    apply(p, {find_parameter(row.parameter), std::string(row.component), "", row.value, Layer::material});
  }
  std::stable_sort(settings.begin(), settings.end(),
                   [](const ParameterSetting& a, const ParameterSetting& b) {
                     const auto rank = [](const ParameterSetting& s) {
                       return std::tuple(s.layer, !s.component.empty(), !s.treatment.empty());
                     };
                     return rank(a) < rank(b);
                   });
  for (const ParameterSetting& s : settings) {
    if (s.treatment.empty() || s.treatment == treatment) apply(p, s);
  }
  return p;
}

std::vector<std::string> material_components(std::string_view material) {
  std::vector<std::string> names;
  for (const MaterialRow& row : material_table()) {
    if (row.material != material || row.component.empty()) continue;
    if (!contains(names, row.component)) names.emplace_back(row.component);
  }
  return names;
}

std::vector<std::string> material_names() {
  std::vector<std::string> names;
  for (const MaterialRow& row : material_table()) {
    if (!contains(names, row.material)) names.emplace_back(row.material);
  }
  return names;
}

}  // namespace stoverturn
