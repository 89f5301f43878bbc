#pragma once
#include "scenarios/stand/stand_report.hpp"

namespace stoverturn {

/// What limits the numbers: single strips, counts without spread, treatments that share no strip, late plants
/// without a delay, stands below the published table, placeholders among prices.
void add_stand_notes(const StandData& data, const StandSettings& settings, StandReport& report);

}  // namespace stoverturn
