#pragma once
#include <string>

#include "scenarios/stand/stand_report.hpp"

namespace stoverturn {

/// The report for people, 100 characters wide.
std::string print_stand(const StandReport& report);

/// "17 ft 5 in", to the inch.
std::string feet_and_inches(double mm);

}  // namespace stoverturn
