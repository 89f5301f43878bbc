#include "scenarios/text/column_header.hpp"

#include <cctype>

namespace stoverturn {

std::string folded_words(std::string_view name) {
  std::string text;
  for (const char c : name) {
    const bool gap = c == '_' || c == '-' || c == ' ' || c == '\t';
    if (!gap) text += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    if (gap && !text.empty() && text.back() != ' ') text += ' ';
  }
  return std::string(trimmed(text));
}

ColumnHeader column_header(const CsvCell& cell) {
  const std::size_t opens = cell.text.find_first_of("[(");
  if (opens == std::string::npos) return {cell.text, folded_words(cell.text), "", cell.column};
  const std::size_t closes = cell.text.find_last_of("])");
  const std::size_t length = closes == std::string::npos || closes < opens ? closes : closes - opens - 1;
  const std::string name(trimmed(std::string_view(cell.text).substr(0, opens)));
  return {name, folded_words(name),
          std::string(trimmed(std::string_view(cell.text).substr(opens + 1, length))),
          cell.column + static_cast<int>(opens) + 1};
}

}  // namespace stoverturn
