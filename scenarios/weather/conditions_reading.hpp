#pragma once
#include <chrono>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/drivers.hpp"

namespace stoverturn {

/// A log, one entry a day. Dated when its rows have dates; else day 0 is the day of the harvest.
struct ConditionsLog {
  std::optional<std::chrono::sys_days> start;
  std::vector<LoggedDay> days;
};

/// Reads the log of a jar or tub: CSV with `date` or `day` (days from the start) and any of
///   temperature [degC], wetness [%] (own water of residue), pore_filling [%] (of the soil), water [mm]
///   (poured on)
/// Between rows temperature, wetness and pore filling hold; water is poured on its own day only. One entry a
/// day from the first row to the last. Throws InputError with all mistakes.
ConditionsLog read_conditions_log(std::string_view text, const std::string& name);

}  // namespace stoverturn
