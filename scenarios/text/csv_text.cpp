#include "scenarios/text/csv_text.hpp"

#include <cmath>

#include <fast_float/fast_float.h>
#include <fmt/format.h>

#include "scenarios/text/mistakes.hpp"

namespace stoverturn {
namespace {

constexpr std::string_view blanks = " \t";

class Cursor {
 public:
  Cursor(std::string_view text, const std::string& name, int lines_above)
      : text_(text), name_(name), line_(lines_above + 1) {}

  bool done() const { return at_ >= text_.size(); }
  char peek() const { return text_[at_]; }
  bool at_line_end() const { return done() || peek() == '\n' || peek() == '\r'; }
  int line() const { return line_; }
  int column() const { return column_; }
  Position position() const { return {name_, line_, column_}; }

  /// One character, a line end in any of its forms counting as one: '\n'.
  char next() {
    const char c = text_[at_++];
    if (c == '\r' && !done() && peek() == '\n') ++at_;
    if (c == '\n' || c == '\r') {
      ++line_;
      column_ = 1;
      return '\n';
    }
    const bool continues_character = !done() && (static_cast<unsigned char>(peek()) & 0xC0U) == 0x80U;
    if (!continues_character) ++column_;
    return c;
  }

  void skip_blanks(char separator) {
    while (!done() && peek() != separator && blanks.find(peek()) != std::string_view::npos) next();
  }

 private:
  std::string_view text_;
  const std::string& name_;
  std::size_t at_ = 0;
  int line_;
  int column_ = 1;
};

void read_quoted(Cursor& cursor, char separator, CsvCell& cell, Mistakes& mistakes) {
  const Position opened = cursor.position();
  cursor.next();
  for (;;) {
    if (cursor.done()) {
      mistakes.add(opened, "this quote is never closed");
      return;
    }
    const char c = cursor.next();
    if (c != '"') {
      cell.text += c;
    } else if (!cursor.done() && cursor.peek() == '"') {
      cell.text += cursor.next();
    } else {
      break;
    }
  }
  cursor.skip_blanks(separator);
  if (cursor.at_line_end() || cursor.peek() == separator) return;
  mistakes.add(cursor.position(), fmt::format("text after a closing quote; a quote inside a quoted cell is "
                                              "doubled (\"\"), and cells are separated by '{}'",
                                              separator));
  while (!cursor.at_line_end() && cursor.peek() != separator) cursor.next();
}

CsvCell read_cell(Cursor& cursor, char separator, Mistakes& mistakes) {
  cursor.skip_blanks(separator);
  CsvCell cell{{}, cursor.line(), cursor.column()};
  if (!cursor.at_line_end() && cursor.peek() == '"') {
    read_quoted(cursor, separator, cell, mistakes);
    return cell;
  }
  bool told = false;
  while (!cursor.at_line_end() && cursor.peek() != separator) {
    if (cursor.peek() == '"' && !told) {
      mistakes.add(cursor.position(),
                   "a quote inside an unquoted cell; quote the whole cell and double the quote");
      told = true;
    }
    cell.text += cursor.next();
  }
  cell.text = std::string(trimmed(cell.text));
  return cell;
}

CsvCell read_comment(Cursor& cursor) {
  cursor.next();
  cursor.skip_blanks('\0');
  CsvCell comment{{}, cursor.line(), cursor.column()};
  while (!cursor.at_line_end()) comment.text += cursor.next();
  comment.text = std::string(trimmed(comment.text));
  return comment;
}

}  // namespace

CsvText read_csv(std::string_view text, const std::string& name, char separator, int lines_above) {
  if (text.find('\0') != std::string_view::npos) {
    throw InputError(
        {{{name}, "this is not a text file in UTF-8 (it holds NUL bytes); save it as CSV UTF-8"}});
  }
  CsvText csv;
  Mistakes mistakes;
  Cursor cursor(without_byte_order_mark(text), name, lines_above);
  while (!cursor.done()) {
    cursor.skip_blanks(separator);
    if (cursor.done()) break;
    if (cursor.peek() == '#') {
      csv.comments.push_back(read_comment(cursor));
    } else if (!cursor.at_line_end()) {
      CsvRow row{read_cell(cursor, separator, mistakes)};
      while (!cursor.at_line_end()) {
        cursor.next();
        row.push_back(read_cell(cursor, separator, mistakes));
      }
      csv.rows.push_back(std::move(row));
    }
    if (!cursor.done()) cursor.next();
  }
  mistakes.throw_if_any();
  return csv;
}

std::string csv_cell(std::string_view text) {
  const bool plain = text.find_first_of(",\"\r\n") == std::string_view::npos && trimmed(text) == text &&
                     (text.empty() || text.front() != '#');
  if (plain) return std::string(text);
  std::string quoted = "\"";
  for (const char c : text) quoted += c == '"' ? std::string("\"\"") : std::string(1, c);
  return quoted + '"';
}

std::optional<double> number(std::string_view text) {
  if (text.size() > 1 && text.front() == '+' && text[1] != '-') text.remove_prefix(1);
  double value = 0.0;
  const auto [end, error] = fast_float::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || end != text.data() + text.size() || !std::isfinite(value)) return std::nullopt;
  return value;
}

std::string_view trimmed(std::string_view text) {
  const std::size_t first = text.find_first_not_of(blanks);
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(blanks) - first + 1);
}

std::string_view without_byte_order_mark(std::string_view text) {
  return text.substr(text.substr(0, 3) == "\xEF\xBB\xBF" ? 3 : 0);
}

}  // namespace stoverturn
