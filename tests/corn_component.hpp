#pragma once
#include <string_view>

#include "engine/parameters.hpp"

/// The table's defaults with what the built-in corn says of one of its components.
inline stoverturn::Parameters<double> corn_component(std::string_view component) {
  stoverturn::Parameters<double> p = stoverturn::default_parameters();
  for (const stoverturn::MaterialRow& row : stoverturn::material_table()) {
    if (row.material != "corn" || row.component != component) continue;
    stoverturn::at(p, *stoverturn::find_parameter(row.parameter)) = row.value;
  }
  return p;
}

inline constexpr std::string_view corn_components[] = {"stalk", "leaf", "husk", "cob"};
