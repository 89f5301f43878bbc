#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "engine/parameters.hpp"
#include "scenarios/text/document.hpp"
#include "scenarios/text/text_of.hpp"

namespace stoverturn {

/// A parameter of a material; `part` is "" for one of the field.
struct MaterialValue {
  const ParameterRow* row = nullptr;
  std::string part;
  double value = 0.0;
  bool built_in = false;  ///< not said by the user
};

/// Residue that has a name: built in, or defined by the user.
struct Material {
  std::string name;
  std::string kin;  ///< the built-in material it is like; its own name when built in; else ""
  bool fragile = false;
  std::vector<std::string> parts;     ///< its components, in order
  std::vector<MaterialValue> values;  ///< of two for the same the later holds
  Table pieces;                       ///< part -> the keys of [component.X] that say how it is cut
  std::vector<std::string> warnings;  ///< for who uses it

  /// The table's defaults with its values of that component.
  Parameters<double> parameters_of(std::string_view part) const;
};

using MaterialLibrary = std::vector<Material>;

/// The material table of the engine.
const MaterialLibrary& builtin_materials();

/// nullptr when there is none of that name.
const Material* find_material(const MaterialLibrary& library, std::string_view name);

std::vector<std::string> material_names(const MaterialLibrary& library = builtin_materials());

/// The built-in materials and those of the file: [material.NAME] tables of `top`, and those of the file named
/// by its key `materials`. A definition takes over from `like`, another material in any order, and then holds
/// its lab sheet and its own keys, the latter going first. Mistakes are added; what is wrong is left out.
MaterialLibrary read_materials(const Table& top, const TextOf& text_of, Mistakes& mistakes);

}  // namespace stoverturn
