#include "scenarios/plan/treatment_materials.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace stoverturn {
namespace {

void add_material(const std::string& name, const MaterialLibrary& library,
                  std::vector<std::string>& materials) {
  const bool is_known = name == "own" || find_material(library, name);
  if (is_known && std::find(materials.begin(), materials.end(), name) == materials.end()) {
    materials.push_back(name);
  }
}

void add_materials(const Value* harvest, const MaterialLibrary& library,
                   std::vector<std::string>& materials) {
  const Value* material = harvest && harvest->table() ? find(*harvest->table(), "material") : nullptr;
  if (!material) return;
  if (const std::string* name = material->text()) add_material(*name, library, materials);
  if (const Table* shares = material->table()) {
    for (const Entry& entry : *shares) add_material(entry.key, library, materials);
  }
}

void add_cover_material(const Value* cover, const MaterialLibrary& library, const CropLibrary& crops,
                        std::vector<std::string>& materials) {
  if (!cover || !cover->table()) return;
  const Value* crop = find(*cover->table(), "crop");
  const CropPointer grown = find_crop(crop && crop->text() ? *crop->text() : usual_cover_crop, crops);
  if (grown) add_material(grown->cover_material, library, materials);
}

/// The material that a name of the file's own belongs to: "soybean pod" to soybean, anything else to the
/// first.
ComponentName of_its_material(const std::vector<std::string>& materials, const std::string& name) {
  for (std::size_t m = 1; m < materials.size(); ++m) {
    if (name.size() > materials[m].size() + 1 && name.starts_with(materials[m] + " ")) {
      return {name, m, name.substr(materials[m].size() + 1)};
    }
  }
  return {name, 0, name};
}

}  // namespace

std::string component_name(const std::vector<std::string>& materials, std::size_t material,
                           const std::string& part) {
  return material == 0 ? part : fmt::format("{} {}", materials[material], part);
}

std::vector<ComponentName> component_names(const std::vector<std::string>& materials, const Table* table,
                                           const std::vector<std::string>& elsewhere, Mistakes& mistakes,
                                           const MaterialLibrary& library) {
  std::vector<ComponentName> names;
  std::vector<std::string> known;
  for (std::size_t m = 0; m < materials.size(); ++m) {
    const Material* material = find_material(library, materials[m]);
    if (!material) continue;
    for (const std::string& part : material->parts) {
      names.push_back({component_name(materials, m, part), m, part});
      known.push_back(names.back().name);
    }
  }
  if (!table) return names;
  for (const Entry& entry : *table) {
    if (std::find(known.begin(), known.end(), entry.key) != known.end()) continue;
    const ComponentName own = of_its_material(materials, entry.key);
    const Table* keys = entry.value.front().table();
    const bool builtin = find_material(library, materials[own.material]) != nullptr;
    if (builtin && keys && !find(*keys, "mass_share")) {
      if (std::find(elsewhere.begin(), elsewhere.end(), entry.key) != elsewhere.end()) continue;
      mistakes.add(entry.key_at,
                   fmt::format("unknown component `{}`{} (a component of your own needs mass_share)",
                               entry.key, did_you_mean(entry.key, known)));
      continue;
    }
    names.push_back(own);
  }
  return names;
}

std::vector<std::string> materials_of(const Table& treatment, const MaterialLibrary& library,
                                      const CropLibrary& crops) {
  std::vector<std::string> materials;
  add_materials(find(treatment, "harvest"), library, materials);
  if (materials.empty()) materials.emplace_back("corn");
  for (const char* section : {"later_harvest", "rotation"}) {
    const Value* list = find(treatment, section);
    if (!list || !list->list()) continue;
    for (const Value& harvest : *list->list()) add_materials(&harvest, library, materials);
  }
  add_cover_material(find(treatment, "cover_crop"), library, crops, materials);
  return materials;
}

}  // namespace stoverturn
