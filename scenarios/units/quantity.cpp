#include "scenarios/units/quantity.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <vector>

#include <fast_float/fast_float.h>
#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/text/mistakes.hpp"
#include "scenarios/units/unit_key.hpp"
#include "scenarios/units/unit_table.hpp"

namespace stoverturn {
namespace {

struct Conversion {
  std::string_view udunits;
  double factor;
  double offset;
};

constexpr Conversion conversions[] = {
#include "unit_factors.inc"
};

constexpr bool factors_fit_table() {
  if (std::size(conversions) != std::size(unit_rows)) return false;
  for (std::size_t i = 0; i < std::size(unit_rows); ++i) {
    if (conversions[i].udunits != unit_rows[i].udunits) return false;
  }
  return true;
}
static_assert(factors_fit_table(), "unit_factors.inc is not made from this unit_table.hpp");

constexpr bool kinds_in_order() {
  for (std::size_t i = 0; i < std::size(kind_rows); ++i) {
    if (static_cast<std::size_t>(kind_rows[i].kind) != i) return false;
  }
  return std::size(kind_rows) == static_cast<std::size_t>(Kind::money_per_grain) + 1;
}
static_assert(kinds_in_order());

struct Entry {
  std::string key;
  std::size_t row;
};

struct Index {
  std::vector<Entry> entries[std::size(kind_rows)];
  std::vector<std::string> spellings[std::size(kind_rows)];
  Index() {
    for (std::size_t i = 0; i < std::size(unit_rows); ++i) {
      const UnitRow& row = unit_rows[i];
      const auto kind = static_cast<std::size_t>(row.kind);
      entries[kind].push_back({unit_key(row.spelling, row.kind), i});
      spellings[kind].emplace_back(row.spelling);
    }
  }
};

const Index& table() {
  static const Index index;
  return index;
}

const KindRow& row_of(Kind kind) { return kind_rows[static_cast<std::size_t>(kind)]; }

bool is_money(Kind kind) {
  return kind >= Kind::money;  // the last ones of the enumeration
}

bool is_digit(char c) { return c >= '0' && c <= '9'; }

std::string_view trim(std::string_view text) {
  constexpr std::string_view spaces = " \t\r\n";
  const std::size_t first = text.find_first_not_of(spaces);
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(spaces) - first + 1);
}

/// At most 40 bytes of what the user wrote, cut between characters.
std::string shown(std::string_view text) {
  if (text.size() <= 40) return std::string(text);
  std::size_t end = 37;
  while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0) == 0x80) --end;
  return std::string(text.substr(0, end)) + "...";
}

std::string listed(std::span<const std::string> units) {
  const std::size_t count = std::min<std::size_t>(units.size(), 8);
  return fmt::format("{}{}", fmt::join(units.first(count), ", "), units.size() > count ? ", ..." : "");
}

const std::size_t* find_row(std::string_view unit, Kind kind) {
  const std::vector<Entry>& entries = table().entries[static_cast<std::size_t>(kind)];
  for (const Entry& entry : entries) {
    if (unit_rows[entry.row].spelling == unit) return &entry.row;
  }
  std::string key = unit_key(unit, kind);
  if (is_money(kind) && key.starts_with('/')) key = "$" + key;
  for (const Entry& entry : entries) {
    if (entry.key == key) return &entry.row;
  }
  return nullptr;
}

bool has_symbol(std::string_view key, std::string_view symbol) {
  while (!key.empty()) {
    const std::size_t end = std::min(key.find_first_of("./"), key.size());
    if (key.substr(0, end) == symbol) return true;
    key.remove_prefix(std::min(end + 1, key.size()));
  }
  return false;
}

bool starts_second_number(std::string_view unit) {
  for (const std::string_view mark : {"-", "–", "±", "/", "+", "to "}) {
    if (unit.starts_with(mark)) unit = trim(unit.substr(mark.size()));
  }
  return !unit.empty() && (is_digit(unit[0]) || (unit[0] == '.' && unit.size() > 1 && is_digit(unit[1])));
}

bool names_an_oxide(std::string_view unit) {
  return unit.find("2O") != std::string_view::npos || unit.find("2o") != std::string_view::npos;
}

[[noreturn]] void refuse(std::string_view unit, Kind kind, std::size_t offset) {
  const KindRow& wanted = row_of(kind);
  const std::span<const std::string> fitting = table().spellings[static_cast<std::size_t>(kind)];
  if (starts_second_number(unit)) {
    throw QuantityError(offset, fmt::format("'{}' after the number: wanted {}", shown(unit), wanted.wanted));
  }
  const std::string key = unit_key(shown(unit), kind);
  for (const RefusedUnit& refused : refused_units) {
    if (key == refused.key) throw QuantityError(offset, fmt::format("'{}': {}", shown(unit), refused.advice));
  }
  for (const KindRow& other : kind_rows) {
    if (is_money(other.kind) && key.starts_with('/')) continue;
    if (find_row(shown(unit), other.kind) == nullptr) continue;
    throw QuantityError(offset, fmt::format("'{}' is a unit of {}: wanted {}; units that fit are {}",
                                            shown(unit), other.name, wanted.wanted, listed(fitting)));
  }
  for (const RefusedUnit& refused : refused_units) {
    if (!has_symbol(key, refused.key)) continue;
    throw QuantityError(offset, fmt::format("'{}': {}", shown(unit), refused.advice));
  }
  // A guess from one or two letters, or an element for its oxide, would mislead.
  const std::string hint = unit.size() <= 2 || names_an_oxide(unit) ? "; known are " + listed(fitting)
                                                                    : did_you_mean(shown(unit), fitting);
  throw QuantityError(offset, fmt::format("unknown unit '{}' of {}{}", shown(unit), wanted.name, hint));
}

std::size_t row_index(std::string_view unit, Kind kind, std::size_t offset) {
  if (unit.empty()) unit = row_of(kind).bare;
  if (unit.empty()) throw QuantityError(offset, fmt::format("no unit: wanted {}", row_of(kind).wanted));
  const std::size_t* row = find_row(unit, kind);
  if (row == nullptr) refuse(unit, kind, offset);
  return *row;
}

struct Number {
  double value;
  std::size_t end;
};

/// Reads the number that starts at `pos`; `end` is the byte after it.
Number read_number(std::string_view text, std::size_t pos, Kind kind) {
  const std::size_t start = pos;
  bool negative = false;
  for (const std::string_view sign : {"+", "-", "\u2212"}) {
    if (!text.substr(pos).starts_with(sign)) continue;
    negative = sign != "+";
    pos = std::min(text.find_first_not_of(" \t", pos + sign.size()), text.size());
    break;
  }
  const char* const begin = text.data() + pos;
  const char* const last = text.data() + text.size();
  double value = 0.0;
  const bool signed_twice = pos < text.size() && *begin == '-';
  const auto result = fast_float::from_chars(begin, last, value);
  const auto end = static_cast<std::size_t>(result.ptr - text.data());
  const bool out_of_range = result.ec == std::errc::result_out_of_range;
  if (signed_twice || (result.ec != std::errc() && !out_of_range)) {
    throw QuantityError(start, fmt::format("'{}' does not start with a number: wanted {}",
                                           shown(text.substr(start)), row_of(kind).wanted));
  }
  if (!std::isfinite(value) || (out_of_range && value != 0.0)) {
    throw QuantityError(
        start, fmt::format("'{}' is not a finite number", shown(trim(text.substr(start, end - start)))));
  }
  if (end + 1 < text.size() && text[end] == ',' && is_digit(text[end + 1])) {
    throw QuantityError(end, fmt::format("'{}' has a comma in its number: write 2.5 for two and a half, 1000 "
                                         "for a thousand",
                                         shown(text.substr(start))));
  }
  return {negative ? -value : value, end};
}

/// Length of a currency sign written before the number.
std::size_t currency_sign(std::string_view text) {
  for (const std::string_view sign : {"$", "\u20ac", "\u00a3"}) {
    if (text.starts_with(sign)) return sign.size();
  }
  return 0;
}

double checked(double value, std::string_view text, std::size_t offset) {
  if (std::isfinite(value)) return value;
  throw QuantityError(offset, fmt::format("'{}' is too large", shown(text)));
}

}  // namespace

Quantity quantity(std::string_view whole, Kind kind) {
  const std::string_view text = trim(whole);
  if (text.empty()) throw QuantityError(0, fmt::format("empty: wanted {}", row_of(kind).wanted));
  const auto shift = static_cast<std::size_t>(text.data() - whole.data());

  try {
    const std::size_t sign = is_money(kind) ? currency_sign(text) : 0;
    const std::size_t start = sign > 0 ? std::min(text.find_first_not_of(' ', sign), text.size()) : 0;
    const Number number = read_number(text, start, kind);
    const std::string_view rest = trim(text.substr(number.end));
    const std::string_view gap = sign > 0 && !rest.empty() && rest.front() != '/' ? " " : "";
    const std::string unit = fmt::format("{}{}{}", text.substr(0, sign), gap, rest);
    const std::size_t unit_at =
        rest.empty() ? number.end : static_cast<std::size_t>(rest.data() - text.data());

    if (!rest.empty() && starts_second_number(rest) && !rest.starts_with("1/")) refuse(rest, kind, unit_at);
    if (unit.empty() && row_of(kind).bare.empty()) {
      throw QuantityError(number.end, fmt::format("{}: wanted {}", shown(text), row_of(kind).wanted));
    }
    const std::size_t row = row_index(unit, kind, unit_at);
    if (kind == Kind::angle && number.value < 0.0) {
      for (const char* point : {"N", "S", "E", "W"}) {
        if (unit_rows[row].spelling != point) continue;
        throw QuantityError(unit_at,
                            fmt::format("'{}' has both a minus and a compass point: write one", shown(text)));
      }
    }
    const Conversion& to_canonical = conversions[row];
    const double value = checked(number.value * to_canonical.factor + to_canonical.offset, text, start);
    return {value, unit};
  } catch (const QuantityError& error) {
    throw QuantityError(error.offset + shift, error.what());
  }
}

bool is_quantity(std::string_view text, Kind kind) {
  try {
    quantity(text, kind);
    return true;
  } catch (const QuantityError&) {
    return false;
  }
}

double unit_factor(std::string_view unit, Kind kind) {
  if (kind == Kind::temperature) {
    throw QuantityError(0, "a temperature has no factor: it is read with its zero point");
  }
  return conversions[row_index(trim(unit), kind, 0)].factor;
}

double in_unit(double canonical, std::string_view unit, Kind kind) {
  const Conversion& to_canonical = conversions[row_index(trim(unit), kind, 0)];
  return (canonical - to_canonical.offset) / to_canonical.factor;
}

std::string_view canonical_unit(Kind kind) { return row_of(kind).canonical; }

std::span<const std::string> spellings(Kind kind) {
  return table().spellings[static_cast<std::size_t>(kind)];
}

std::string_view to_string(Kind kind) { return row_of(kind).name; }

}  // namespace stoverturn
