#include "scenarios/text/document.hpp"

#include <algorithm>
#include <cctype>

#include <fast_float/fast_float.h>
#include <fmt/format.h>

#include "scenarios/text/calendar.hpp"
#include "scenarios/text/toml.hpp"

namespace stoverturn {
namespace {

Position position_of(const toml::source_region& region, const std::string& name) {
  return {name, static_cast<int>(region.begin.line), static_cast<int>(region.begin.column)};
}

Value converted(const toml::node& node, const std::string& name, Mistakes& mistakes);

Table converted_table(const toml::table& from, const std::string& name, Mistakes& mistakes) {
  Table table;
  for (const auto& [key, node] : from) {
    table.push_back(
        {std::string(key.str()), position_of(key.source(), name), {converted(node, name, mistakes)}});
  }
  std::stable_sort(table.begin(), table.end(), [](const Entry& a, const Entry& b) {
    return std::pair(a.key_at.line, a.key_at.column) < std::pair(b.key_at.line, b.key_at.column);
  });
  return table;
}

Value converted(const toml::node& node, const std::string& name, Mistakes& mistakes) {
  Value value{position_of(node.source(), name), {}};
  if (const auto* text = node.as_string()) {
    value.data = std::string(text->get());
  } else if (const auto* integer = node.as_integer()) {
    value.data = static_cast<double>(integer->get());
  } else if (const auto* real = node.as_floating_point()) {
    value.data = real->get();
  } else if (const auto* flag = node.as_boolean()) {
    value.data = flag->get();
  } else if (const auto* date = node.as_date()) {
    const toml::date& d = date->get();
    value.data = date_of(d.year, d.month, d.day, "date");
  } else if (const auto* list = node.as_array()) {
    List items;
    for (const toml::node& item : *list) items.push_back(converted(item, name, mistakes));
    value.data = std::move(items);
  } else if (const auto* table = node.as_table()) {
    value.data = converted_table(*table, name, mistakes);
  } else {
    mistakes.add(value.at, "found a time of day; wanted a date alone, such as 2026-10-20");
  }
  return value;
}

std::string_view line_of(std::string_view text, int line) {
  std::size_t begin = 0;
  for (int i = 1; i < line && begin != std::string_view::npos; ++i) {
    begin = text.find('\n', begin);
    if (begin != std::string_view::npos) ++begin;
  }
  if (begin == std::string_view::npos) return {};
  return text.substr(begin, text.find('\n', begin) - begin);
}

/// `key = 60 lb/acre`: a number and then a word, no quotes.
bool has_unquoted_quantity(std::string_view line) {
  const std::size_t equals = line.find('=');
  if (equals == std::string_view::npos) return false;
  std::size_t i = equals + 1;
  while (i < line.size() && line[i] == ' ') ++i;
  const std::size_t start = i;
  while (i < line.size() && (std::isdigit(static_cast<unsigned char>(line[i])) || line[i] == '.' ||
                             line[i] == '-' || line[i] == '+' || line[i] == ',')) {
    ++i;
  }
  if (i == start) return false;
  while (i < line.size() && line[i] == ' ') ++i;
  return i < line.size() && (std::isalpha(static_cast<unsigned char>(line[i])) || line[i] == '%' ||
                             line[i] == '/' || line[i] == '$');
}

// More names in a row, dot by dot, than any file has; toml++ 3.3 limits how deep values are, not names, and
// each level is a table in a table.
constexpr int deepest_name = 200;

void refuse_deep_names(std::string_view text, const std::string& name) {
  constexpr std::string_view of_names =
      "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789_-\"' \t";
  int line = 1, column = 0, dots = 0;
  for (std::size_t i = 0; i < text.size(); ++i) {
    ++column;
    if (text[i] == '.' && i > 0 && text[i - 1] != '.') {
      if (++dots == deepest_name)
        throw InputError({{{name, line, column}, "found a name of more than 200 parts"}});
    } else if (of_names.find(text[i]) == std::string_view::npos) {
      dots = 0;
    }
    if (text[i] != '\n') continue;
    ++line;
    column = 0;
  }
}

}  // namespace

std::string_view kind_name(const Value& value) {
  static constexpr std::string_view names[] = {"a text", "a number", "true or false",
                                               "a date", "a list",   "a table"};
  return names[value.data.index()];
}

Table read_toml(std::string_view text, const std::string& name) {
  refuse_deep_names(text, name);
  toml::table parsed;
  try {
    parsed = toml::parse(text, std::string_view(name));
  } catch (const toml::parse_error& error) {
    Position at = position_of(error.source(), name);
    const std::string_view line = line_of(text, at.line);
    if (has_unquoted_quantity(line)) {
      throw InputError(
          {{at, fmt::format("found a number followed by a unit in `{}`; put quantities in quotes",
                            line.substr(line.find_first_not_of(' ')))}});
    }
    throw InputError({{at, std::string(error.description())}});
  }
  Mistakes mistakes;
  Table table = converted_table(parsed, name, mistakes);
  mistakes.throw_if_any();
  return table;
}

std::string quoted(const std::string& text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') out += '\\';
    out += c;
  }
  return out + '"';
}

Value command_line_value(std::string_view text) {
  Value value{{"command line", 0, 0}, {}};
  double number = 0.0;
  const auto [end, error] = fast_float::from_chars(text.data(), text.data() + text.size(), number);
  if (text == "true" || text == "false") {
    value.data = text == "true";
  } else if (error == std::errc() && end == text.data() + text.size()) {
    value.data = number;
  } else {
    try {
      value.data = parse_date(text);
    } catch (const DateError&) {
      value.data = std::string(text);
    }
  }
  return value;
}

Override split_override(const std::string& text, Mistakes& mistakes) {
  const std::size_t equals = text.find('=');
  if (equals == std::string::npos || equals == 0) {
    mistakes.add({"command line", 0, 0}, fmt::format("found `--set {}`; wanted --set name=value", text));
    return {};
  }
  return {text.substr(0, equals), command_line_value(std::string_view(text).substr(equals + 1))};
}

const Value* find(const Table& table, std::string_view key) {
  for (const Entry& entry : table) {
    if (entry.key == key) return &entry.value.front();
  }
  return nullptr;
}

Table merged(const Table& base, const Table& over, const std::vector<std::string>& wholes) {
  Table result = base;
  for (const Entry& entry : over) {
    const auto same =
        std::find_if(result.begin(), result.end(), [&](const Entry& e) { return e.key == entry.key; });
    if (same == result.end()) {
      result.push_back(entry);
      continue;
    }
    Value& below = same->value.front();
    const Value& above = entry.value.front();
    if (below.table() && above.table() &&
        std::find(wholes.begin(), wholes.end(), entry.key) == wholes.end()) {
      const Table both = merged(*below.table(), *above.table(), wholes);
      below.data = both;
    } else {
      *same = entry;
    }
  }
  return result;
}

void set_path(Table& table, std::string_view dotted, const Value& value) {
  const std::size_t dot = dotted.find('.');
  const std::string key(dotted.substr(0, dot));
  auto entry = std::find_if(table.begin(), table.end(), [&](const Entry& e) { return e.key == key; });
  if (entry == table.end()) {
    table.push_back({key, value.at, {Value{value.at, Table{}}}});
    entry = table.end() - 1;
  }
  if (dot == std::string_view::npos) {
    entry->value.front() = value;
    return;
  }
  Value& below = entry->value.front();
  if (!below.table()) below = Value{value.at, Table{}};
  set_path(std::get<Table>(below.data), dotted.substr(dot + 1), value);
}

}  // namespace stoverturn
