#pragma once
#include <string>

#include "scenarios/design/design_report.hpp"

namespace stoverturn {

/// The report for people, about 100 characters wide.
std::string print_design(const DesignReport& report);

}  // namespace stoverturn
