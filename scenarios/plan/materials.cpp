#include "scenarios/plan/materials.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/plan/composition.hpp"
#include "scenarios/plan/implements.hpp"
#include "scenarios/plan/parameter_settings.hpp"

namespace stoverturn {
namespace {

const std::vector<std::string> piece_keys = {"shape",   "cut_length", "entry_spacing",
                                             "opening", "pieces",     "sieves"};

bool contains(const std::vector<std::string>& list, std::string_view word) {
  return std::find(list.begin(), list.end(), word) != list.end();
}

/// A definition as it stands in a file.
struct Definition {
  std::string name;
  Position at;
  const Table* table;
  std::string folder;  ///< of that file, for the files it names
};

class Definitions {
 public:
  Definitions(std::vector<Definition> all, const TextOf& text_of, Mistakes& mistakes)
      : all_(std::move(all)), text_of_(text_of), mistakes_(mistakes) {}

  MaterialLibrary read() {
    for (const Definition& definition : all_) read(definition, {});
    return std::move(library_);
  }

 private:
  const Material& read(const Definition& definition, std::vector<std::string> chain) {
    if (const Material* known = find_material(library_, definition.name)) return *known;
    chain.push_back(definition.name);
    TableReader in(*definition.table, fmt::format("[material.{}]", definition.name), definition.at,
                   mistakes_);
    Material material;
    const bool alike = in.has("like");
    if (const std::optional<std::string> like = in.text("like")) material = read_like(*like, chain, in);
    material.name = definition.name;
    material.fragile = in.flag("fragile").value_or(material.fragile);
    in.text("note");
    const bool lost = alike && material.parts.empty();  // its components are not known
    read_field(in, material);
    read_parts(in, definition, material);
    in.finish();
    if (!lost) check_mass_shares(definition, material);
    library_.push_back(std::move(material));
    return library_.back();
  }

  /// An empty one, and a mistake, where there is none.
  Material read_like(const std::string& like, const std::vector<std::string>& chain, TableReader& in) {
    if (contains(chain, like)) {
      in.mistake("like",
                 fmt::format("the materials go in a circle, {} -> {}", fmt::join(chain, " -> "), like));
      return {};
    }
    if (const Material* builtin = find_material(builtin_materials(), like)) return *builtin;
    for (const Definition& other : all_) {
      if (other.name == like) return read(other, chain);
    }
    std::vector<std::string> known = material_names();
    for (const Definition& other : all_) known.push_back(other.name);
    in.mistake("like", fmt::format("no material is called `{}`{}", like, did_you_mean(like, known)));
    return {};
  }

  void read_field(TableReader& in, Material& material) {
    for (const ParameterRow& row : parameter_table()) {
      if (row.scope == Scope::component) continue;
      const Value* value = in.value(std::string(row.name));
      if (!value) continue;
      if (const auto number = read_parameter_value(row, *value, mistakes_)) {
        material.values.push_back({&row, "", *number});
      }
    }
  }

  /// Keys of the material itself hold for all its components, those of [component.X] for one.
  void read_parts(TableReader& in, const Definition& definition, Material& material) {
    const Table* components = in.table("component");
    if (components) add_parts(*components, material);
    if (material.parts.empty()) material.parts.emplace_back("residue");
    const std::string what = fmt::format("[material.{}]", definition.name);
    std::vector<std::string> names = {definition.name};
    if (material.parts.size() == 1) names.push_back(material.parts.front());
    const Composition all = read_composition(in, what, names, definition.folder, text_of_, mistakes_);
    for (const std::string& part : material.parts) take(all, part, definition.name, material);
    for (const std::string& part : material.parts) {
      const Value* own = components ? find(*components, part) : nullptr;
      if (own && own->table()) read_part(*own, part, definition, material);
    }
  }

  void add_parts(const Table& components, Material& material) {
    const std::vector<std::string> known = material.parts;
    for (const Entry& entry : components) {
      const Table* keys = entry.value.front().table();
      if (!keys) {
        mistakes_.add(entry.value.front().at, fmt::format("component `{}`: found {}; wanted a table",
                                                          entry.key, kind_name(entry.value.front())));
        continue;
      }
      if (contains(known, entry.key)) continue;
      if (!known.empty() && !find(*keys, "mass_share")) {
        mistakes_.add(entry.key_at,
                      fmt::format("unknown component `{}`{} (a further component needs mass_share)",
                                  entry.key, did_you_mean(entry.key, known)));
        continue;
      }
      material.parts.push_back(entry.key);
    }
  }

  void read_part(const Value& own, const std::string& part, const Definition& definition,
                 Material& material) {
    const std::string what = fmt::format("[material.{}.component.{}]", definition.name, part);
    TableReader in(*own.table(), what, own.at, mistakes_);
    Table pieces;
    for (const std::string& key : piece_keys) {
      if (const Value* value = in.value(key)) pieces.push_back({key, value->at, {*value}});
    }
    if (!pieces.empty()) {
      material.pieces = merged(material.pieces, Table{{part, own.at, {Value{own.at, pieces}}}});
    }
    const Composition composition =
        read_composition(in, what, {part, definition.name}, definition.folder, text_of_, mistakes_);
    take(composition, part, fmt::format("{}, {}", definition.name, part), material);
    in.finish();
  }

  void take(const Composition& composition, const std::string& part, const std::string& what,
            Material& material) {
    const auto add = [&](const std::vector<LabContent>& contents) {
      for (const LabContent& c : contents) material.values.push_back({c.row, part, c.value});
    };
    if (composition.lab) {
      Parameters<double> base = material.parameters_of(part);
      for (const LabContent& c : composition.given) at(base, *c.row) = c.value;
      add(lab_contents(*composition.lab, base, what, mistakes_, material.warnings));
    }
    add(composition.given);
  }

  void check_mass_shares(const Definition& definition, Material& material) {
    std::vector<MaterialValue> shares;
    double sum = 0.0;
    for (const std::string& part : material.parts) {
      shares.push_back({find_parameter("mass_share"), part, material.parameters_of(part).mass_share});
      sum += shares.back().value;
    }
    if (std::abs(sum - 1.0) <= 0.005) return;
    mistakes_.add(
        definition.at,
        fmt::format("material `{}`: the mass_share of its components ({}) add up to {:.4g}; wanted 1",
                    definition.name, fmt::join(material.parts, ", "), sum));
    for (MaterialValue& share : shares) {  // told once, not again where it is used
      share.value /= sum > 0.0 ? sum : 1.0;
      material.values.push_back(share);
    }
  }

  std::vector<Definition> all_;
  const TextOf& text_of_;
  Mistakes& mistakes_;
  MaterialLibrary library_;
};

void collect(const Table& tables, const std::string& folder, std::vector<Definition>& definitions,
             Mistakes& mistakes) {
  for (const Entry& entry : tables) {
    const Value& value = entry.value.front();
    const auto same = std::find_if(definitions.begin(), definitions.end(),
                                   [&](const Definition& d) { return d.name == entry.key; });
    if (!value.table()) {
      mistakes.add(entry.key_at,
                   fmt::format("material `{}`: wanted a table [material.{}]", entry.key, entry.key));
    } else if (entry.key == "own" || find_material(builtin_materials(), entry.key)) {
      mistakes.add(entry.key_at,
                   fmt::format("material `{}` is built in; give yours another name{}", entry.key,
                               entry.key == "own" ? "" : fmt::format(" (with like = \"{}\")", entry.key)));
    } else if (entry.key.find('@') != std::string::npos) {
      mistakes.add(entry.key_at, fmt::format("material `{}`: wanted a name without @", entry.key));
    } else if (same != definitions.end()) {
      mistakes.add(entry.key_at, fmt::format("material `{}` is defined twice; first at {}", entry.key,
                                             to_string(same->at)));
    } else {
      definitions.push_back({entry.key, entry.key_at, value.table(), folder});
    }
  }
}

/// The tables of another file; empty where it cannot be read.
Table read_file(const std::string& file, Position at, const TextOf& text_of, Mistakes& mistakes) {
  const std::optional<std::string> text = text_of ? text_of(file) : std::nullopt;
  if (!text) {
    mistakes.add(std::move(at), fmt::format("materials: there is no file {}", file));
    return {};
  }
  try {
    Table top = read_toml(*text, file);
    TableReader in(top, "a file of materials", {file, 1, 1}, mistakes);
    in.require("material", "[material.NAME] tables");
    in.table("material");
    in.finish();
    return top;
  } catch (const InputError& error) {
    mistakes.add(error);
    return {};
  }
}

}  // namespace

Parameters<double> Material::parameters_of(std::string_view part) const {
  Parameters<double> p = default_parameters();
  for (const MaterialValue& v : values) {
    if (v.part == part || v.part.empty()) at(p, *v.row) = v.value;
  }
  return p;
}

const MaterialLibrary& builtin_materials() {
  static const MaterialLibrary library = [] {
    MaterialLibrary made;
    for (const MaterialRow& row : material_table()) {
      if (!find_material(made, row.material)) {
        const std::string name(row.material);
        made.push_back({name, name, is_fragile(name), {}, {}, {}, {}});
      }
      Material& material = made.back();  // the rows of a material stand together
      const std::string part(row.component);
      if (!part.empty() && !contains(material.parts, part)) material.parts.push_back(part);
      material.values.push_back({find_parameter(row.parameter), part, row.value, true});
    }
    return made;
  }();
  return library;
}

const Material* find_material(const MaterialLibrary& library, std::string_view name) {
  for (const Material& material : library) {
    if (material.name == name) return &material;
  }
  return nullptr;
}

std::vector<std::string> material_names(const MaterialLibrary& library) {
  std::vector<std::string> names;
  for (const Material& material : library) names.push_back(material.name);
  return names;
}

MaterialLibrary read_materials(const Table& top, const TextOf& text_of, Mistakes& mistakes) {
  MaterialLibrary library = builtin_materials();
  std::vector<Definition> definitions;
  const Value* here = find(top, "material");
  if (here && here->table()) collect(*here->table(), "", definitions, mistakes);
  Table others;  // outlives the definitions in it
  if (const Value* value = find(top, "materials"); value && value->text()) {
    const std::string& file = *value->text();
    others = read_file(file, value->at, text_of, mistakes);
    const Value* there = find(others, "material");
    const std::size_t slash = file.rfind('/');
    const std::string folder = slash == std::string::npos ? "" : file.substr(0, slash + 1);
    if (there && there->table()) collect(*there->table(), folder, definitions, mistakes);
  }
  const MaterialLibrary own = Definitions(std::move(definitions), text_of, mistakes).read();
  library.insert(library.end(), own.begin(), own.end());
  return library;
}

}  // namespace stoverturn
