#pragma once
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "engine/parameters.hpp"
#include "scenarios/text/document.hpp"

namespace stoverturn {

/// Where a parameter's value came from, weakest first. A later layer wins over an earlier one; within a layer
/// `name@component` wins over `name`.
enum class Layer { table_default, material, fit, file, command_line };
std::string_view to_string(Layer layer);

/// One `address = value`: "k_hol", "k_hol@stalk", "k_hol@opened", "k_hol@stalk@opened".
struct ParameterSetting {
  const ParameterRow* row = nullptr;
  std::string component;  ///< "" for all
  std::string treatment;  ///< "" for all
  double value = 0.0;
  Layer layer = Layer::file;
};

/// The parameters of one treatment, with the origin of every value that is not the table's default.
struct TreatmentParameters {
  Parameters<double> field;
  std::vector<std::string> component_names;
  std::vector<Parameters<double>> components;
  /// "k_hol@stalk" -> where from; absent: table default.
  std::map<std::string, Layer> origins;
};

/// Reads an address against the known components and treatments; a mistake and nothing when it fits none.
std::optional<ParameterSetting> read_address(const std::string& address, Position at, const Value& value,
                                             const std::vector<std::string>& components,
                                             const std::vector<std::string>& treatments, Layer layer,
                                             Mistakes& mistakes);

/// Value of a parameter in the table's unit: a bare number, or a quantity where the unit has a kind. Checks
/// bounds.
std::optional<double> read_parameter_value(const ParameterRow& row, const Value& value, Mistakes& mistakes);

/// Lays the settings over defaults and material, in the order of the layers.
TreatmentParameters resolve_parameters(const std::string& material,
                                       const std::vector<std::string>& components,
                                       const std::string& treatment, std::vector<ParameterSetting> settings);

/// Components of a built-in material, in the order of its table; empty when there is no such material.
std::vector<std::string> material_components(std::string_view material);
std::vector<std::string> material_names();

}  // namespace stoverturn
