#pragma once
#include <string>

#include "scenarios/text/csv_text.hpp"

namespace stoverturn {

/// The head of a column, "mass [g]" or "mass (g)".
struct ColumnHeader {
  std::string name;     ///< as written, without the unit
  std::string folded;   ///< lower case, words apart by one blank
  std::string unit;     ///< "" where there is none
  int unit_column = 0;  ///< where the unit begins in the line
};

ColumnHeader column_header(const CsvCell& cell);

/// Lower case, words apart by one blank: "Initial_Mass" -> "initial mass".
std::string folded_words(std::string_view name);

}  // namespace stoverturn
