#pragma once
#include "scenarios/stand/stand_report.hpp"

namespace stoverturn {

/// Fills yield_share, late_loss and effects of a report that has rates and differences:
///
///     ears   difference of ears x bushels per ear
///     stand  difference of yield_share_of_stand x full yield; its range from the ends of the interval of the
///            difference of plants, around the mean of the two
///     late   less late plants' loss: share of late plants x loss_of_late_plant, each row by its own delay
void add_stand_value(const StandData& data, StandReport& report);

}  // namespace stoverturn
