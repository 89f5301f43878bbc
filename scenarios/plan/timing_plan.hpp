#pragma once
#include <optional>
#include <string>
#include <vector>

#include "scenarios/text/mistakes.hpp"

namespace stoverturn {

/// One way to spread fertiliser, as the file words it.
struct TimingChoice {
  std::string date;       ///< words: "10 d", "2026-11-15", "04-10", "soil below 50 degF"
  std::string rate;       ///< of N, "30 lb N/acre"
  std::string product;    ///< "UAN 28"
  std::string placement;  ///< "surface", "buried", "" for what is usual of the product
};

/// [timing]: when, how much, of what and where to spread, on which treatments.
struct TimingPlan {
  bool given = false;
  Position at;                          ///< of the section
  std::vector<std::string> treatments;  ///< keys; empty: all
  Position treatments_at;
  std::vector<TimingChoice> choices;  ///< every combination
  std::string duration = "2 years";   ///< of the runs
};

/// What a choice reads like in TOML: the table of an event, one key a line.
std::string event_lines(const TimingChoice& choice);

}  // namespace stoverturn
