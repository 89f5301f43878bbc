#pragma once
#include <string>
#include <vector>

#include "scenarios/plan/crops.hpp"
#include "scenarios/plan/materials.hpp"
#include "scenarios/text/document.hpp"

namespace stoverturn {

/// One component of a treatment. Those of the treatment's first material keep their names; those of another
/// are called after both, so that every address is of one component.
struct ComponentName {
  std::string name;          ///< in addresses and results: "stalk", "soybean stem"
  std::size_t material = 0;  ///< index into the treatment's materials
  std::string part;          ///< in its material's table: "stem"
};

/// Components of a treatment that has these materials (each once, in the order of the treatment): those of
/// the library's, then the file's own, `table` being [component.*]. A name of no material is a component
/// of the first; it needs mass_share, or a place in `elsewhere`, the names that other treatments of the file
/// know.
std::vector<ComponentName> component_names(const std::vector<std::string>& materials, const Table* table,
                                           const std::vector<std::string>& elsewhere, Mistakes& mistakes,
                                           const MaterialLibrary& library = builtin_materials());

/// "stem" of the second material -> "soybean stem"
std::string component_name(const std::vector<std::string>& materials, std::size_t material,
                           const std::string& part);

/// The materials named at every `material` key of a treatment's tables: [harvest] first, then in the order of
/// the file, then that of the cover crop, each once; "corn" where [harvest] names none. A mixture is a table
/// of materials. What cannot be read is left to the readers of those sections.
std::vector<std::string> materials_of(const Table& treatment,
                                      const MaterialLibrary& library = builtin_materials(),
                                      const CropLibrary& crops = builtin_crops());

}  // namespace stoverturn
