#pragma once
#include "scenarios/plan/scenario_sections.hpp"

namespace stoverturn {

/// Readers of one [[event]] by its kind; the date and the kind are read before. Each adds its mistakes and
/// goes on.

/// An event as read, before passes of one season are weighed against each other.
struct ReadEvent {
  EventPlan plan;
  bool bury_from_table = false;
  Payment payment{};
  Position at{};
};

ReadEvent read_tillage(TableReader& in, std::chrono::sys_days date, const Treatment& treatment,
                       Mistakes& mistakes);
ReadEvent read_fertiliser(TableReader& in, std::chrono::sys_days date);

ReadEvent read_removal(TableReader& in, std::chrono::sys_days date, const Treatment& treatment,
                       Mistakes& mistakes);
ReadEvent read_irrigation(TableReader& in, std::chrono::sys_days date);

/// The nearest name, or all of them; names may hold commas, so each stands in quotes.
std::string suggestion(const std::string& word, const std::vector<std::string>& names);

}  // namespace stoverturn
