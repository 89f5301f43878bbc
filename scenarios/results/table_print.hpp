#pragma once
#include <string>

#include "scenarios/results/results.hpp"

namespace stoverturn {

/// The printed table: a block a treatment, at most 100 columns wide.
std::string printed_table(const Results& results);

/// The key numbers as JSON, in the units of the printed table; text that is not UTF-8 is replaced.
std::string json_key_numbers(const Results& results);

}  // namespace stoverturn
