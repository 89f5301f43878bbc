#include "scenarios/plan/sieve_sheet.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/text/column_header.hpp"
#include "scenarios/units/quantity.hpp"

namespace stoverturn {
namespace {

struct SieveColumn {
  std::string_view name;
  Kind kind;
  std::string_view unit;
};
constexpr SieveColumn sieve_columns[] = {
    {"component", Kind::fraction, ""}, {"from", Kind::length, "mm"}, {"to", Kind::length, "mm"},
    {"sieve", Kind::length, "mm"},     {"mass", Kind::mass, "g"},    {"share", Kind::fraction, "%"},
};
enum { of_component, from, to, sieve, mass, share };

struct SieveClass {
  Position at;
  double lower_mm = 0.0;
  double upper_mm = not_measured;  ///< NaN: no end
  double mass = 0.0;
};

class SieveReader {
 public:
  SieveReader(const std::string& name, Mistakes& mistakes) : name_(name), mistakes_(mistakes) {}

  bool header(const CsvRow& row) {
    for (const CsvCell& cell : row) columns_.push_back(head(cell));
    const Position at{name_, row.front().line, 1};
    if (!sound_) return false;
    const bool limits = has(from), sieves = has(sieve);
    if (limits == sieves) mistakes_.add(at, "wanted the columns from [mm] and to [mm], or sieve [mm]");
    if (has(mass) == has(share)) mistakes_.add(at, "wanted one of the columns mass [g] and share [%]");
    return limits != sieves && has(mass) != has(share);
  }

  void row(const CsvRow& cells, const std::string& component, std::vector<SieveClass>& classes) {
    SieveClass c;
    c.at = {name_, cells.front().line, cells.front().column};
    bool mine = true;
    for (std::size_t i = 0; i < cells.size() && i < columns_.size(); ++i) {
      const auto [column, unit] = columns_[i];
      if (column == of_component) mine = cells[i].text.empty() || cells[i].text == component;
      if (column == of_component || cells[i].text.empty()) continue;
      const auto value = amount(cells[i], column, unit);
      if (!value) continue;
      if (column == from || column == sieve) c.lower_mm = *value;
      if (column == to) c.upper_mm = *value;
      if (column == mass || column == share) c.mass = *value;
    }
    if (c.upper_mm <= c.lower_mm) mistakes_.add(c.at, "a class must end above where it begins");
    if (mine) classes.push_back(c);
  }

 private:
  using Column = std::pair<int, std::string>;

  bool has(int column) const {
    return std::any_of(columns_.begin(), columns_.end(), [&](const Column& c) { return c.first == column; });
  }

  Column head(const CsvCell& cell) {
    const ColumnHeader h = column_header(cell);
    std::vector<std::string> names;
    for (int i = 0; i < 6; ++i) {
      const SieveColumn& c = sieve_columns[i];
      names.emplace_back(c.name);
      if (c.name != h.folded) continue;
      if (i == of_component) return {i, ""};
      try {
        unit_factor(h.unit, c.kind);
        return {i, h.unit};
      } catch (const QuantityError&) {
        mistakes_.add({name_, cell.line, cell.column},
                      fmt::format("{0} needs a unit: write {0} [{1}]", c.name, c.unit));
        sound_ = false;
        return {i, std::string(c.unit)};
      }
    }
    mistakes_.add({name_, cell.line, cell.column},
                  fmt::format("unknown column '{}'{}", h.name, did_you_mean(h.folded, names)));
    sound_ = false;
    return {-1, ""};
  }

  std::optional<double> amount(const CsvCell& cell, int column, const std::string& unit) {
    if (column < 0) return std::nullopt;
    const auto written = number(cell.text);
    if (!written || *written < 0.0) {
      mistakes_.add({name_, cell.line, cell.column}, fmt::format("{}: found '{}'; wanted a number, 0 or more",
                                                                 sieve_columns[column].name, cell.text));
      return std::nullopt;
    }
    return *written * unit_factor(unit, sieve_columns[column].kind);
  }

  const std::string& name_;
  Mistakes& mistakes_;
  std::vector<Column> columns_;
  bool sound_ = true;
};

double length_of(const SieveClass& c) {
  if (std::isnan(c.upper_mm)) return std::sqrt(2.0) * c.lower_mm;
  return c.lower_mm > 0.0 ? std::sqrt(c.lower_mm * c.upper_mm) : 0.5 * c.upper_mm;
}

std::string class_name(const SieveClass& c) {
  return std::isnan(c.upper_mm) ? fmt::format("over {:.4g} mm", c.lower_mm)
                                : fmt::format("{:.4g} to {:.4g} mm", c.lower_mm, c.upper_mm);
}

}  // namespace

std::vector<PieceClass> read_sieve_sheet(std::string_view text, const std::string& name,
                                         const std::string& component, const Pieces& base,
                                         Mistakes& mistakes) {
  std::vector<SieveClass> classes;
  try {
    const CsvText csv = read_csv(text, name);
    if (csv.rows.size() < 2) {
      mistakes.add({name, 1, 1}, "the sieve sheet has no rows; wanted a header and one row a class");
      return {};
    }
    SieveReader reader(name, mistakes);
    if (!reader.header(csv.rows.front())) return {};
    for (std::size_t r = 1; r < csv.rows.size(); ++r) reader.row(csv.rows[r], component, classes);
  } catch (const InputError& error) {
    mistakes.add(error);
    return {};
  }
  std::stable_sort(classes.begin(), classes.end(),
                   [](const SieveClass& a, const SieveClass& b) { return a.lower_mm < b.lower_mm; });
  double sum = 0.0;
  for (std::size_t i = 0; i < classes.size(); ++i) {
    SieveClass& c = classes[i];
    const double next_mm = i + 1 < classes.size() ? classes[i + 1].lower_mm : not_measured;
    if (c.lower_mm == next_mm) mistakes.add(classes[i + 1].at, "two classes begin at the same length");
    if (std::isnan(c.upper_mm)) c.upper_mm = next_mm;
    if (c.upper_mm > next_mm + 1e-9)
      mistakes.add(classes[i + 1].at, "this class begins before the one below ends");
    sum += c.mass;
  }
  if (!(sum > 0.0)) {
    mistakes.add({name, 1, 1}, fmt::format("nothing was weighed of component `{}`", component));
    return {};
  }
  std::vector<PieceClass> pieces;
  for (const SieveClass& c : classes) {
    if (c.mass <= 0.0) continue;
    PieceClass p{class_name(c), base, c.mass / sum};
    p.geometry.length_mm = std::max(0.01, length_of(c));
    pieces.push_back(p);
  }
  return pieces;
}

}  // namespace stoverturn
