#pragma once
#include <string>

#include "scenarios/text/document.hpp"

namespace stoverturn {

/// The tables that a treatment of a scenario file reads: those of the file's top that treatments may change,
/// of what it is `like`, and its own, laid over each other. "" where the file has no treatments.
Table treatment_tables(const Table& top, const std::string& treatment);

}  // namespace stoverturn
