#include "scenarios/text/table_reader.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/text/calendar.hpp"

namespace stoverturn {
namespace {

std::string shown(const Value& value) {
  if (const std::string* text = value.text()) return fmt::format("'{}'", *text);
  if (const double* number = value.number()) return fmt::format("{}", *number);
  return std::string(kind_name(value));
}

/// Where the trouble lies inside a quoted text.
Position inside(const Value& value, std::size_t offset) {
  Position at = value.at;
  if (at.line > 0) at.column += 1 + static_cast<int>(offset);
  return at;
}

}  // namespace

std::optional<Quantity> read_quantity(const Value& value, Kind kind, const std::string& key,
                                      Mistakes& mistakes) {
  if (const double* number = value.number(); number && kind == Kind::fraction) return Quantity{*number, ""};
  const std::string* text = value.text();
  const std::string bare = value.number() ? fmt::format("{}", *value.number()) : "";
  if (!text && bare.empty()) {
    mistakes.add(value.at, fmt::format("{}: found {}; wanted a quantity in quotes, such as \"12 {}\"", key,
                                       kind_name(value), spellings(kind).front()));
    return std::nullopt;
  }
  try {
    return stoverturn::quantity(text ? *text : bare, kind);
  } catch (const QuantityError& error) {
    mistakes.add(text ? inside(value, error.offset) : value.at, fmt::format("{}: {}", key, error.what()));
    return std::nullopt;
  }
}

TableReader::TableReader(const Table& table, std::string what, Position at, Mistakes& mistakes)
    : table_(table), what_(std::move(what)), at_(std::move(at)), mistakes_(mistakes) {}

bool TableReader::has(const std::string& key) { return value(key) != nullptr; }

const Value* TableReader::value(const std::string& key) {
  if (std::find(known_.begin(), known_.end(), key) == known_.end()) known_.push_back(key);
  return find(table_, key);
}

Position TableReader::at(const std::string& key) const {
  const Value* v = find(table_, key);
  return v ? v->at : at_;
}

void TableReader::mistake(const std::string& key, const std::string& message) {
  mistakes_.add(at(key), fmt::format("{}: {}", key, message));
}

void TableReader::require(const std::string& key, const std::string& example) {
  if (!has(key)) mistakes_.add(at_, fmt::format("{} lacks `{}`; write {}", what_, key, example));
}

std::optional<std::string> TableReader::text(const std::string& key) {
  const Value* v = value(key);
  if (!v) return std::nullopt;
  if (const std::string* t = v->text()) return *t;
  mistake(key, fmt::format("found {}; wanted a text in quotes", shown(*v)));
  return std::nullopt;
}

std::optional<std::string> TableReader::one_of(const std::string& key,
                                               const std::vector<std::string>& choices) {
  std::optional<std::string> word = text(key);
  if (!word) return std::nullopt;
  if (std::find(choices.begin(), choices.end(), *word) != choices.end()) return word;
  mistake(key, fmt::format("found '{}'; wanted one of {}{}", *word, fmt::join(choices, ", "),
                           closest(*word, choices).empty() ? "" : did_you_mean(*word, choices)));
  return std::nullopt;
}

std::optional<double> TableReader::number(const std::string& key, double lowest, double highest) {
  const Value* v = value(key);
  if (!v) return std::nullopt;
  const double* n = v->number();
  if (n && *n >= lowest && *n <= highest) return *n;
  mistake(key, fmt::format("found {}; wanted a number from {} to {}", shown(*v), lowest, highest));
  return std::nullopt;
}

std::optional<bool> TableReader::flag(const std::string& key) {
  const Value* v = value(key);
  if (!v) return std::nullopt;
  if (const bool* f = v->flag()) return *f;
  mistake(key, fmt::format("found {}; wanted true or false without quotes", shown(*v)));
  return std::nullopt;
}

std::optional<std::chrono::sys_days> TableReader::date(const std::string& key) {
  const Value* v = value(key);
  if (!v) return std::nullopt;
  if (const std::chrono::sys_days* d = v->date()) return *d;
  try {
    if (const std::string* t = v->text()) return parse_date(*t);
  } catch (const DateError& error) {
    mistake(key, error.what());
    return std::nullopt;
  }
  mistake(key, fmt::format("found {}; wanted a date, such as 2026-10-20", shown(*v)));
  return std::nullopt;
}

std::optional<Quantity> TableReader::quantity(const std::string& key, Kind kind) {
  const Value* v = value(key);
  if (!v) return std::nullopt;
  return read_quantity(*v, kind, key, mistakes_);
}

std::optional<double> TableReader::amount(const std::string& key, Kind kind, double lowest, double highest) {
  const std::optional<Quantity> q = quantity(key, kind);
  if (!q) return std::nullopt;
  if (q->value >= lowest && q->value <= highest) return q->value;
  const std::string unit = q->unit.empty() ? "" : " " + q->unit;
  const auto in = [&](double x) { return q->unit.empty() ? x : in_unit(x, q->unit, kind); };
  const std::string wanted =
      std::isfinite(highest) ? fmt::format("from {:.5g}{} to {:.5g}{}", in(lowest), unit, in(highest), unit)
                             : fmt::format("at least {:.5g}{}", in(lowest), unit);
  mistake(key, fmt::format("found {}; wanted {}", shown(*value(key)), wanted));
  return std::nullopt;
}

const Table* TableReader::table(const std::string& key) {
  const Value* v = value(key);
  if (!v) return nullptr;
  if (!v->table()) mistake(key, fmt::format("found {}; wanted a table", shown(*v)));
  return v->table();
}

const List* TableReader::list(const std::string& key) {
  const Value* v = value(key);
  if (!v) return nullptr;
  if (v->table()) {
    mistake(key,
            fmt::format("found one table; wanted a list: [[{}]] in double brackets, or [ ] around it", key));
  } else if (!v->list()) {
    mistake(key, fmt::format("found {}; wanted a list", shown(*v)));
  }
  return v->list();
}

void TableReader::finish() {
  for (const Entry& entry : table_) {
    if (std::find(known_.begin(), known_.end(), entry.key) != known_.end()) continue;
    mistakes_.add(entry.key_at,
                  fmt::format("unknown key `{}` in {}{}", entry.key, what_, did_you_mean(entry.key, known_)));
  }
}

}  // namespace stoverturn
