#pragma once
#include <string>

#include "scenarios/plan/scenario.hpp"

namespace stoverturn {

/// The one parameter table for readers: Markdown (docs/parameters.md is this) or JSON.
std::string parameter_page_markdown();
std::string parameter_page_json();

/// Every parameter in force, one line each: treatment, address, value, unit, where the value came from.
std::string parameters_in_force(const Scenario& scenario);

/// Settings that the file or the command line made, in a sentence each; empty when there are none.
std::vector<std::string> parameter_notes(const Scenario& scenario);

}  // namespace stoverturn
