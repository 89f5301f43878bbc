#pragma once
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace stoverturn {

/// One cell and where it begins. Lines and columns count from 1, columns in characters (not bytes) of UTF-8.
struct CsvCell {
  std::string text;
  int line = 0;
  int column = 0;
};

using CsvRow = std::vector<CsvCell>;

/// The rows of a file and, apart from them, its comment lines (text without the '#').
struct CsvText {
  std::vector<CsvRow> rows;
  std::vector<CsvCell> comments;
};

/// Reads comma-separated text by RFC 4180: cells in double quotes may hold commas, line ends and doubled
/// quotes. Beyond the RFC: a byte order mark is skipped, lines may end in LF, CRLF or CR, blanks around a
/// cell do not belong to it, blank lines are skipped and a line that begins with '#' is a comment. Rows may
/// differ in length: the caller knows what it wants.
///
/// Throws InputError with every quote that is never closed, followed by text, or inside an unquoted cell, and
/// for text that holds NUL bytes (UTF-16, say). `lines_above` counts the lines of the file before `text`.
CsvText read_csv(std::string_view text, const std::string& name, char separator = ',', int lines_above = 0);

/// The cell as it must be written to be read back: quoted where needed.
std::string csv_cell(std::string_view text);

/// The number that makes up the whole of `text`; nothing for anything else, infinite and nan included.
std::optional<double> number(std::string_view text);

std::string_view trimmed(std::string_view text);

std::string_view without_byte_order_mark(std::string_view text);

}  // namespace stoverturn
