#pragma once
#include <string>
#include <vector>

namespace stoverturn {

/// Rows of cells, two blanks before each, every column as wide as its widest cell; the first column to the
/// left, the others to the right.
std::string text_table(const std::vector<std::vector<std::string>>& rows);

/// "0.4 to 2.4", or "-".
std::string fixed_range(double lower, double upper, int digits);
/// Four significant digits.
std::string short_number(double x);

}  // namespace stoverturn
