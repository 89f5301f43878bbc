#pragma once
#include <chrono>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

#include "scenarios/text/mistakes.hpp"

namespace stoverturn {

struct Value;

/// One `key = value`, with the place of each.
struct Entry {
  std::string key;
  Position key_at;
  std::vector<Value> value;  ///< exactly one; a vector because Value is not yet complete here
};
using Table = std::vector<Entry>;  ///< in the order of the file
using List = std::vector<Value>;

/// A value of an input file that remembers where it stood. Copies and merges keep positions.
struct Value {
  Position at;
  std::variant<std::string, double, bool, std::chrono::sys_days, List, Table> data;

  const std::string* text() const { return std::get_if<std::string>(&data); }
  const double* number() const { return std::get_if<double>(&data); }
  const bool* flag() const { return std::get_if<bool>(&data); }
  const std::chrono::sys_days* date() const { return std::get_if<std::chrono::sys_days>(&data); }
  const List* list() const { return std::get_if<List>(&data); }
  const Table* table() const { return std::get_if<Table>(&data); }
};

/// "a text", "a number", "a list", ... for messages.
std::string_view kind_name(const Value& value);

/// Reads TOML. `name` stands in messages. Throws InputError; an unquoted quantity (60 lb/acre) is answered
/// with "put quantities in quotes".
Table read_toml(std::string_view text, const std::string& name);

/// A text of one line as TOML writes it, in quotes.
std::string quoted(const std::string& text);

/// A number, flag, date or text from the command line ("--set k_hol=0.04").
Value command_line_value(std::string_view text);

/// "address=value" of the command line (--set).
struct Override {
  std::string address;  ///< "" and a mistake when the text is something else
  Value value;
};
Override split_override(const std::string& text, Mistakes& mistakes);

const Value* find(const Table& table, std::string_view key);

/// `over` laid on `base`: tables merge key by key, everything else is replaced, and so is a table under
/// a key in `wholes`, whose entries only make sense together. Keys keep the order of `base`, new ones follow.
Table merged(const Table& base, const Table& over, const std::vector<std::string>& wholes = {});

/// Sets the value at a dotted path ("harvest.grain_yield"), making tables on the way.
void set_path(Table& table, std::string_view dotted, const Value& value);

}  // namespace stoverturn
