#pragma once
#include "scenarios/report/timing_charts.hpp"

namespace stoverturn {

/// The choices on a treatment, best first, and "nothing spread".
ReportTable table_of_choices(const TimingLook& look, std::size_t base);

/// The best choice of each date on each treatment.
ReportTable table_of_dates(const TimingLook& look);

}  // namespace stoverturn
