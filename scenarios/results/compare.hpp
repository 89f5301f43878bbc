#pragma once
#include <string>
#include <vector>

#include "scenarios/results/results.hpp"

namespace stoverturn {

/// One key number of one treatment in two results, in the units in which the first is shown.
struct ComparedNumber {
  std::string treatment, name, unit;
  double a, b;  ///< NaN where a result has none
};

struct Comparison {
  std::vector<ComparedNumber> numbers;            ///< those that both results define
  std::vector<std::string> only_in_a, only_in_b;  ///< treatments
};

/// Treatments are matched by label; when both hold exactly one, these are compared whatever they are called.
Comparison compare(const Results& a, const Results& b);

std::string printed_comparison(const Comparison& comparison, const std::string& name_a,
                               const std::string& name_b);
std::string json_comparison(const Comparison& comparison);

}  // namespace stoverturn
