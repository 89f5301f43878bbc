#pragma once
#include <string>

#include "scenarios/stand/stand_report.hpp"

namespace stoverturn {

/// The report for people, 100 characters wide.
std::string print_stand(const StandReport& report);

}  // namespace stoverturn
