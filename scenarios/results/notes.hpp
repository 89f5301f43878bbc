#pragma once
#include "scenarios/plan/scenario.hpp"

namespace stoverturn {

/// What stands under every result of a scenario: how sure it is, and the cautions that belong to it.
std::vector<std::string> standing_notes(const Scenario& scenario);

}  // namespace stoverturn
