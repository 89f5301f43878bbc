#include "scenarios/stand/stand_data.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/format.h>

#include "scenarios/plan/prices_section.hpp"
#include "scenarios/text/column_header.hpp"
#include "scenarios/units/quantity.hpp"

namespace stoverturn {
namespace {

enum class Role { unknown, treatment, strip, row, note, length, width, leaves, count };

struct ColumnRow {
  std::string_view name;
  Role role;
  std::string_view unit = {};  ///< as messages write it; "": has none
  std::size_t count = 0;
};
constexpr ColumnRow column_rows[] = {
    {"treatment", Role::treatment},
    {"strip", Role::strip},
    {"block", Role::strip},
    {"row", Role::row},
    {"note", Role::note},
    {"length", Role::length, "ft"},
    {"row width", Role::width, "in"},
    {"late by", Role::leaves, "leaves"},
    {"plants", Role::count, "", stand_plants},
    {"ears", Role::count, "", stand_ears},
    {"late plants", Role::count, "", stand_late},
    {"skips", Role::count, "", stand_skips},
};

struct Limits {
  double lowest, highest;  ///< mm
};
constexpr Limits length_limits = {100.0, 5e6}, width_limits = {100.0, 3000.0};
constexpr double most_leaves = 12.0, most_counted = 1e6;

/// Values that may stand above the header, and how messages write them.
struct PriceRow {
  std::string_view name, example;
  double StandPrices::*value;
};
constexpr PriceRow price_rows[] = {
    {"price", "4.30 $/bu", &StandPrices::price_per_bu},
    {"bushels per ear", "0.006", &StandPrices::bu_per_ear},
    {"full yield", "210 bu/acre", &StandPrices::full_yield_bu_acre},
};

struct Column {
  const ColumnRow* is = nullptr;
  std::string unit;
};

class Reader {
 public:
  Reader(const std::string& name, Mistakes& mistakes) : name_(name), mistakes_(mistakes) {}

  void price_lines(const CsvText& csv, StandPrices& prices) {
    std::vector<std::string> names;
    for (const PriceRow& p : price_rows) names.emplace_back(p.name);
    for (const CsvCell& line : csv.comments) {
      const std::size_t colon = line.text.find(':');
      if (colon == std::string::npos || line.text.front() == '#') continue;
      const std::string word = folded_words(trimmed(line.text.substr(0, colon)));
      const std::string value(trimmed(std::string_view(line.text).substr(colon + 1)));
      try {
        if (read_stand_price(word, value, prices)) continue;
      } catch (const QuantityError& error) {
        add(line, fmt::format("{}: {}", word, error.what()));
        continue;
      }
      if (const std::string near = closest(word, names); !near.empty()) {
        add(line, fmt::format("unknown value '{}'; did you mean '{}'?", word, near));
      }
    }
  }

  void header(const CsvRow& row) {
    std::map<Role, int> seen;
    for (const CsvCell& cell : row) {
      columns_.push_back(head(cell));
      const Column& c = columns_.back();
      if (!c.is || c.is->role == Role::note) continue;
      const bool twice = std::any_of(columns_.begin(), columns_.end() - 1, [&](const Column& other) {
        return other.is && other.is->role == c.is->role && other.is->count == c.is->count;
      });
      if (twice) add(cell, fmt::format("'{}' stands a second time", cell.text));
    }
    const CsvCell& at = row.front();
    if (!has(Role::length)) add(at, "there is no column for the length counted; write length [ft]");
    if (!has(Role::width)) add(at, "there is no column for the width between rows; write row width [in]");
    const bool all_known =
        std::all_of(columns_.begin(), columns_.end(), [](const Column& c) { return c.is; });
    if (!has(Role::count) && all_known) add(at, "nothing is counted; write a column plants or ears");
    if (has(stand_late) && !has(stand_plants)) add(at, "late plants need the column plants beside them");
  }

  StandRow row(const CsvRow& cells) {
    StandRow r;
    r.line = cells.front().line;
    r.counts.fill(not_counted);
    if (cells.size() != columns_.size()) {
      add(cells.front(),
          fmt::format("this row has {} cells, the header has {}", cells.size(), columns_.size()));
      return r;
    }
    for (std::size_t c = 0; c < cells.size(); ++c) {
      if (columns_[c].is) read_cell(cells[c], columns_[c], r);
    }
    look_over(cells, r);
    return r;
  }

 private:
  void add(const CsvCell& cell, std::string message) {
    mistakes_.add({name_, cell.line, cell.column}, std::move(message));
  }
  bool has(Role role) const {
    return std::any_of(columns_.begin(), columns_.end(),
                       [&](const Column& c) { return c.is && c.is->role == role; });
  }
  bool has(StandCount count) const {
    return std::any_of(columns_.begin(), columns_.end(), [&](const Column& c) {
      return c.is && c.is->role == Role::count && c.is->count == count;
    });
  }

  Column head(const CsvCell& cell) {
    const ColumnHeader header = column_header(cell);
    std::vector<std::string> names;
    for (const ColumnRow& known : column_rows) {
      if (known.name == header.folded) return with_unit(cell, header, known);
      names.emplace_back(known.name);
    }
    add(cell, header.folded.empty()
                  ? "this column has no name"
                  : fmt::format("unknown column '{}'{}", header.name, did_you_mean(header.folded, names)));
    return {};
  }

  Column with_unit(const CsvCell& cell, const ColumnHeader& header, const ColumnRow& known) {
    if (known.unit.empty()) {
      if (!header.unit.empty()) add(cell, fmt::format("{} has no unit; write {}", known.name, known.name));
      return {&known, ""};
    }
    if (header.unit.empty()) {
      add(cell, fmt::format("{0} needs a unit: write {0} [{1}]", known.name, known.unit));
      return {&known, std::string(known.unit)};
    }
    if (known.role == Role::leaves) {
      if (header.unit != known.unit) {
        add(cell, fmt::format("late by: found the unit '{}'; wanted leaf stages: write late by [leaves]",
                              header.unit));
      }
      return {&known, std::string(known.unit)};
    }
    try {
      unit_factor(header.unit, Kind::length);
    } catch (const QuantityError& error) {
      mistakes_.add({name_, cell.line, header.unit_column}, fmt::format("{}: {}", known.name, error.what()));
      return {&known, std::string(known.unit)};
    }
    return {&known, header.unit};
  }

  void read_cell(const CsvCell& cell, const Column& column, StandRow& r) {
    switch (column.is->role) {
      case Role::treatment:
        r.treatment = cell.text;
        break;
      case Role::strip:
        r.strip = cell.text;
        break;
      case Role::row:
        r.row = cell.text;
        break;
      case Role::length:
        read_length(cell, column, length_limits, r.length_mm);
        break;
      case Role::width:
        read_length(cell, column, width_limits, r.width_mm);
        break;
      case Role::leaves:
        read_leaves(cell, r);
        break;
      case Role::count:
        read_count(cell, column, r);
        break;
      case Role::unknown:
      case Role::note:
        break;
    }
  }

  void read_length(const CsvCell& cell, const Column& column, const Limits& limits, double& mm) {
    const auto value = number(cell.text);
    if (!value) {
      add(cell, fmt::format("{} '{}' is not a number", column.is->name, cell.text));
      return;
    }
    mm = *value * unit_factor(column.unit, Kind::length);
    if (mm < limits.lowest || mm > limits.highest) {
      add(cell, fmt::format("{} {} {} cannot be; possible are {:.4g} to {:.6g} {}", column.is->name,
                            cell.text, column.unit, in_unit(limits.lowest, column.unit, Kind::length),
                            in_unit(limits.highest, column.unit, Kind::length), column.unit));
    }
  }

  void read_leaves(const CsvCell& cell, StandRow& r) {
    if (cell.text.empty() || cell.text == "NA") return;
    const auto value = number(cell.text);
    if (!value || *value < 0.0 || *value > most_leaves) {
      add(cell, fmt::format("late by: found '{}'; wanted leaf stages behind the neighbours, 0 to {:.0f}",
                            cell.text, most_leaves));
      return;
    }
    r.late_leaves = *value;
  }

  void read_count(const CsvCell& cell, const Column& column, StandRow& r) {
    if (cell.text.empty() || cell.text == "NA") return;
    const auto value = number(cell.text);
    if (!value || *value < 0.0 || *value > most_counted || *value != std::floor(*value)) {
      add(cell,
          fmt::format("{}: found '{}'; wanted a whole number, 0 or more, or an empty cell where nothing was "
                      "counted",
                      column.is->name, cell.text));
      return;
    }
    r.counts[column.is->count] = *value;
  }

  const CsvCell& cell_of(const CsvRow& cells, std::string_view name) const {
    for (std::size_t c = 0; c < cells.size(); ++c) {
      if (columns_[c].is && columns_[c].is->name == name) return cells[c];
    }
    return cells.front();
  }

  void look_over(const CsvRow& cells, const StandRow& r) {
    const double plants = r.counts[stand_plants], late = r.counts[stand_late];
    if (late > plants) {
      add(cell_of(cells, "late plants"),
          fmt::format("{:.0f} late plants of {:.0f} plants cannot be", late, plants));
    }
    if (!std::isnan(late) && std::isnan(plants)) {
      add(cell_of(cells, "late plants"), "late plants are counted here and plants are not");
    }
    if (has(Role::treatment) && r.treatment.empty())
      add(cell_of(cells, "treatment"), "the treatment is missing");
    if (!has(Role::row) || r.row.empty()) return;
    const auto [first, is_new] = rows_.emplace(fmt::format("{}|{}|{}", r.treatment, r.strip, r.row), r.line);
    if (!is_new) {
      add(cells.front(),
          fmt::format("the same row stands in line {} (treatment, strip and row are all equal)",
                      first->second));
    }
  }

  const std::string& name_;
  Mistakes& mistakes_;
  std::vector<Column> columns_;
  std::map<std::string, int> rows_;
};

}  // namespace

bool StandData::has(std::size_t count) const {
  return std::any_of(rows.begin(), rows.end(),
                     [&](const StandRow& r) { return !std::isnan(r.counts[count]); });
}

bool is_stand_data(std::string_view text) {
  try {
    const CsvText csv = read_csv(text, "");
    return !csv.rows.empty() &&
           std::any_of(csv.rows.front().begin(), csv.rows.front().end(), [](const CsvCell& cell) {
             const std::string word = column_header(cell).folded;
             return word == "length" || word == "row width";
           });
  } catch (const InputError&) {
    return false;
  }
}

std::string new_stand_text(const NewStand& plan) {
  std::string text =
      "# Stand counts, one row a length of crop row. Count first, look at the treatment's name after; leave "
      "a cell\n"
      "# empty where nothing was counted. 17 ft 5 in (17.42 ft) of 30-inch row is a thousandth of an acre.\n"
      "# Take one # of these away and write your own:\n"
      "## price: 4.30 $/bu\n"
      "## full yield: 200 bu/acre\n"
      "treatment,strip,row,length [ft],row width [in],plants,late plants,late by [leaves],skips,ears\n";
  for (int strip = 1; strip <= plan.strips; ++strip) {
    for (const std::string& treatment : plan.treatments) {
      for (int row = 1; row <= plan.rows; ++row) {
        text += fmt::format("{},{},{},{:.6g},{:.6g},,,,,\n", csv_cell(treatment), strip, row, plan.length_ft,
                            plan.width_in);
      }
    }
  }
  return text;
}

double price_per_bushel(std::string_view text, std::string* currency) {
  const double price = in_unit(quantity(text, Kind::money_per_grain).value, "$/bu", Kind::money_per_grain);
  if (currency) *currency = currency_of(text);
  return price;
}

bool read_stand_price(std::string_view name, std::string_view text, StandPrices& prices) {
  const auto* row = std::find_if(std::begin(price_rows), std::end(price_rows),
                                 [&](const PriceRow& p) { return p.name == name; });
  if (row == std::end(price_rows)) return false;
  double& value = prices.*row->value;
  if (row->value == &StandPrices::price_per_bu) {
    try {
      value = price_per_bushel(text, &prices.currency);
    } catch (const QuantityError&) {
      throw QuantityError(0, fmt::format("found '{}'; wanted a price such as {}", text, row->example));
    }
  } else if (row->value == &StandPrices::full_yield_bu_acre) {
    value = in_unit(quantity(text, Kind::grain_yield).value, "bu/acre", Kind::grain_yield);
  } else {
    const std::string_view digits = trimmed(text.substr(0, text.find("bu")));
    value = number(digits).value_or(not_counted);
    if (!(value > 0.0 && value <= 0.05)) {
      value = not_counted;
      throw QuantityError(
          0, fmt::format("found '{}'; wanted 0 to 0.05 bushels, such as {}", text, row->example));
    }
  }
  if (value >= 0.0) return true;
  value = not_counted;
  throw QuantityError(0, fmt::format("found '{}'; wanted 0 or more, such as {}", text, row->example));
}

void override_prices(StandPrices& prices, const StandPrices& with) {
  for (const PriceRow& p : price_rows) {
    if (!std::isnan(with.*p.value)) prices.*p.value = with.*p.value;
  }
  if (!std::isnan(with.price_per_bu)) prices.currency = with.currency;
}

StandData read_stand_data(std::string_view text, const std::string& name) {
  const CsvText csv = read_csv(text, name);
  if (csv.rows.size() < 2) {
    throw InputError({{{name, 1, 1}, "there are no counts; wanted a header and one row a length counted"}});
  }
  Mistakes mistakes;
  Reader reader(name, mistakes);
  StandData data{name, {}, {}, {}};
  reader.price_lines(csv, data.prices);
  reader.header(csv.rows.front());
  mistakes.throw_if_any();
  for (std::size_t r = 1; r < csv.rows.size(); ++r) data.rows.push_back(reader.row(csv.rows[r]));
  mistakes.throw_if_any();
  for (const StandRow& r : data.rows) {
    if (std::find(data.treatments.begin(), data.treatments.end(), r.treatment) == data.treatments.end()) {
      data.treatments.push_back(r.treatment);
    }
  }
  return data;
}

}  // namespace stoverturn
