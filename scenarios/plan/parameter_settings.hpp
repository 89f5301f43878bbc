#pragma once
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "engine/parameters.hpp"
#include "scenarios/plan/materials.hpp"
#include "scenarios/plan/new_place.hpp"
#include "scenarios/plan/treatment_materials.hpp"
#include "scenarios/text/document.hpp"

namespace stoverturn {

/// Where a parameter's value came from, weakest first. A later layer wins over an earlier one; within a layer
/// `name@component` wins over `name`.
enum class Layer { table_default, material, fit, file, command_line };
std::string_view to_string(Layer layer);

/// One `address = value`: "k_hol", "k_hol@stalk", "k_hol@opened", "k_hol@stalk@opened"; "k_hol@soybean" for
/// all components of a material.
struct ParameterSetting {
  const ParameterRow* row = nullptr;
  std::string component;  ///< "" for all
  std::string treatment;  ///< "" for all
  double value = 0.0;
  Layer layer = Layer::file;
  std::string material = {};  ///< "" for all
};

/// The parameters of one treatment, with the origin of every value that is not the table's default.
struct TreatmentParameters {
  Parameters<double> field;
  std::vector<std::string> component_names;
  std::vector<Parameters<double>> components;
  /// "k_hol@stalk" -> where from; absent: table default.
  std::map<std::string, Layer> origins;
  std::vector<std::string> materials;
  std::vector<std::string> kin;  ///< by material: the built-in one it is like, "own", or ""
  /// By material: as `field`, but for what a material has of its own (harvest index, plant height, cover).
  std::vector<Parameters<double>> of_material;
};

/// What addresses may name after an @.
struct KnownNames {
  std::vector<std::string> components, treatments, materials;
};

/// Reads an address; a mistake and nothing when it names what is not known. A name that is several things is
/// a component before a treatment, and a treatment before a material.
std::optional<ParameterSetting> read_address(const std::string& address, Position at, const Value& value,
                                             const KnownNames& known, Layer layer, Mistakes& mistakes);

/// Whether a parameter may differ between materials; those of components always may.
bool differs_by_material(const ParameterRow& row);

/// Whether a material's value of a parameter of the field is more than the table's default.
bool is_known(const TreatmentParameters& parameters, std::string_view name, std::size_t material);

/// Value of a parameter in the table's unit: a bare number, or a quantity where the unit has a kind. Checks
/// bounds.
std::optional<double> read_parameter_value(const ParameterRow& row, const Value& value, Mistakes& mistakes);

/// Lays the settings over defaults and materials, in the order of the layers. Parameters of the field are
/// those of the first material. With a place, defaults and values of built-in materials are those there; what
/// the user says stays.
TreatmentParameters resolve_parameters(const std::vector<std::string>& materials,
                                       const std::vector<ComponentName>& components,
                                       const std::string& treatment, std::vector<ParameterSetting> settings,
                                       const MaterialLibrary& library = builtin_materials(),
                                       const NewPlace* place = nullptr);

}  // namespace stoverturn
