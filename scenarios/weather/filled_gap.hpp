#pragma once
#include <chrono>
#include <optional>
#include <string>
#include <string_view>

namespace stoverturn {

/// Consecutive days on which `what` ("tmin, tmax, rain") was not measured and was filled.
struct FilledGap {
  std::chrono::sys_days first;
  int days = 0;
  std::string what;
};

/// What is said of 31 December of a leap year in a record whose years all have 365 days.
inline constexpr std::string_view calendar_of_365_days = "a calendar of 365 days";

/// "2012-12-31 tmin, tmax" or "2012-02-03 to 2012-02-05 rain"
std::string to_string(const FilledGap& gap);

/// The gap that to_string() wrote; nothing for other text.
std::optional<FilledGap> read_filled_gap(std::string_view text);

}  // namespace stoverturn
