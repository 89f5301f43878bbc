#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "engine/parameters.hpp"
#include "scenarios/plan/lab_contents.hpp"
#include "scenarios/text/table_reader.hpp"
#include "scenarios/text/text_of.hpp"

namespace stoverturn {

/// What a material says of a parameter, of one of its components or ("") of the field.
struct MaterialValue {
  std::string material, component;
  const ParameterRow* row;
  double value;
};

/// The materials a file may name: the built-in ones, then its own.
struct MaterialBook {
  std::vector<MaterialValue> values;
  std::vector<std::pair<std::string, std::string>> likes;  ///< an own material and the one it is like

  std::vector<std::string> names() const;
  std::vector<std::string> components_of(std::string_view material) const;
  /// The built-in material that one is like, at the end of the chain; itself where it is like none.
  std::string root_of(const std::string& material) const;
};

const MaterialBook& builtin_materials();

/// [material.NAME] tables: `like`, `component.NAME` with parameters, a lab sheet or both, and parameters of
/// the field (harvest_index, plant_height_mm, cover_m2_g). `values` of the built-in ones come first.
MaterialBook read_material_book(const std::vector<const Table*>& tables, const TextOf& text_of,
                                Mistakes& mistakes, std::vector<std::string>& warnings);

/// Parameters that the keys `lab`, `lab_sheet` and `sample` of a component's table tell; `base` is the
/// component without them. Empty when there are none.
std::vector<LabContent> read_lab_keys(TableReader& in, const std::string& component, const std::string& what,
                                      const Parameters<double>& base, const TextOf& text_of,
                                      Mistakes& mistakes, std::vector<std::string>& warnings);

}  // namespace stoverturn
