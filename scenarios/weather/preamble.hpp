#pragma once
#include <optional>
#include <string>
#include <string_view>

namespace stoverturn {

/// Lines of free text above the header of a table.
struct Preamble {
  std::string_view text;   ///< those lines
  std::string_view table;  ///< the header and all below
  int lines = 0;           ///< above the header
};

/// Parts the text at the first of its first 100 lines that `is_header` knows; nothing when there is none.
std::optional<Preamble> split_preamble(std::string_view text, bool (*is_header)(std::string_view line));

/// The number after `word`, case left aside, and what parts them (blanks, ':' and '='); nothing when there is
/// none.
std::optional<double> number_after(std::string_view text, std::string_view word);

/// Upper case for ASCII letters.
std::string upper(std::string_view text);

}  // namespace stoverturn
