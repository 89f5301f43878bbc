#include "scenarios/trial/trial_data.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/format.h>

#include "scenarios/text/calendar.hpp"
#include "scenarios/text/column_header.hpp"

namespace stoverturn {
namespace {

enum class Role {
  unknown,
  treatment,
  component,
  placement,
  block,
  replicate,
  date,
  days,
  n,
  note,
  value,
  sd
};

struct KeyColumn {
  std::string_view name;
  Role role;
};
constexpr KeyColumn key_columns[] = {
    {"treatment", Role::treatment}, {"component", Role::component},
    {"placement", Role::placement}, {"block", Role::block},
    {"replicate", Role::replicate}, {"date", Role::date},
    {"days", Role::days},           {"n", Role::n},
    {"note", Role::note},           {"bag", Role::note},
};

struct Column {
  Role role = Role::unknown;
  std::size_t field = 0;
  std::string unit;
  double factor = 1.0;  ///< to the canonical unit of the field
};

std::vector<std::string> column_names() {
  std::vector<std::string> names;
  for (const KeyColumn& k : key_columns) names.emplace_back(k.name);
  for (const TrialField& f : trial_fields) names.emplace_back(f.name);
  return names;
}

class Reader {
 public:
  Reader(const std::string& name, std::span<const TrialTreatmentNames> treatments, const TrialSoil& soil,
         Mistakes& mistakes)
      : name_(name), treatments_(treatments), soil_(soil), mistakes_(mistakes) {}

  void header(const CsvRow& row) {
    std::map<std::string, int> seen;
    for (const CsvCell& cell : row) {
      columns_.push_back(head(cell));
      const std::string word = column_header(cell).folded;
      const auto [first, is_new] = seen.emplace(word, cell.column);
      if (!is_new) {
        add(cell, fmt::format("the column '{}' stands twice; first at column {}", word, first->second));
      }
    }
    settle_bare_sd(row);
    const CsvCell& at = row.front();
    if (!has(Role::date) && !has(Role::days)) {
      add(at, "there is no column for the time; write date (yyyy-mm-dd) or days [d]");
    }
    if (!has(Role::treatment) && treatments_.size() > 1) add(at, "there is no column 'treatment'");
    const bool measured = std::any_of(columns_.begin(), columns_.end(), [](const Column& c) {
      return c.role == Role::value && c.field != trial_initial_mass;
    });
    if (!measured && !has(Role::unknown))
      add(at, "there is no measured column; write mass [g], mass left [%] or nitrogen [%]");
    if (has_value(trial_mass) && !has_value(trial_initial_mass)) {
      add(at, "mass needs initial mass [g] beside it, what was put into each bag (or write mass left [%])");
    }
  }

  TrialRow row(const CsvRow& cells) {
    TrialRow r;
    r.line = cells.front().line;
    r.values.fill(not_weighed);
    r.sd.fill(not_weighed);
    if (cells.size() != columns_.size()) {
      add(cells.front(),
          fmt::format("this row has {} cells, the header has {}", cells.size(), columns_.size()));
      return r;
    }
    for (std::size_t c = 0; c < cells.size(); ++c) read_cell(cells[c], columns_[c], r);
    resolve(cells, r);
    refuse_twice(cells, r);
    return r;
  }

 private:
  void add(const CsvCell& cell, std::string message) {
    mistakes_.add({name_, cell.line, cell.column}, std::move(message));
  }

  bool has(Role role) const {
    return std::any_of(columns_.begin(), columns_.end(), [&](const Column& c) { return c.role == role; });
  }
  bool has_value(std::size_t field) const {
    return std::any_of(columns_.begin(), columns_.end(),
                       [&](const Column& c) { return c.role == Role::value && c.field == field; });
  }

  Column head(const CsvCell& cell) {
    const ColumnHeader header = column_header(cell);
    if (header.folded.empty()) {
      add(cell, "this column has no name");
      return {};
    }
    for (const KeyColumn& k : key_columns) {
      if (k.name != header.folded) continue;
      if (k.role == Role::days && header.unit.empty()) {
        add(cell, "days needs a unit: write days [d] or days [weeks]");
      }
      return {k.role, 0, header.unit};
    }
    if (header.folded == "sd") return {Role::sd, trial_fields.size(), header.unit};
    const bool is_sd = header.folded.ends_with(" sd");
    const std::string word = is_sd ? header.folded.substr(0, header.folded.size() - 3) : header.folded;
    for (std::size_t f = 0; f < trial_fields.size(); ++f) {
      if (trial_fields[f].name == word)
        return unit_checked(cell, header, {is_sd ? Role::sd : Role::value, f, header.unit});
    }
    add(cell, fmt::format("unknown column '{}'{}", header.name, did_you_mean(header.folded, column_names())));
    return {};
  }

  Column unit_checked(const CsvCell& cell, const ColumnHeader& header, Column column) {
    const TrialField& field = trial_fields[column.field];
    if (header.unit.empty()) {
      add(cell, fmt::format("{0} needs a unit: write {0} [{1}]", header.folded, field.unit));
      return column;
    }
    try {
      column.factor = unit_factor(column.unit, field.kind);
    } catch (const QuantityError& error) {
      const bool per_soil =
          column.field == trial_mineral_nitrogen && is_quantity("1 " + column.unit, Kind::content);
      if (!per_soil) {
        mistakes_.add({name_, cell.line, header.unit_column},
                      fmt::format("{}: {}", header.folded, error.what()));
        return column;
      }
      if (std::isnan(soil_.bulk_density_g_cm3) || std::isnan(soil_.depth_mm)) {
        add(cell,
            fmt::format("mineral nitrogen in {} needs the soil's bulk_density and depth in the fit file; or "
                        "write it in kg/ha",
                        column.unit));
      }
      const double soil_g_m2 = 1000.0 * soil_.bulk_density_g_cm3 * soil_.depth_mm;
      column.factor = unit_factor(column.unit, Kind::content) * soil_g_m2;
    }
    return column;
  }

  /// `sd` alone belongs to the one measured column.
  void settle_bare_sd(const CsvRow& row) {
    std::vector<std::size_t> measured;
    for (const Column& c : columns_) {
      if (c.role == Role::value && c.field != trial_initial_mass) measured.push_back(c.field);
    }
    for (std::size_t i = 0; i < columns_.size(); ++i) {
      Column& c = columns_[i];
      if (c.role != Role::sd || c.field != trial_fields.size()) continue;
      if (measured.size() != 1) {
        add(row[i], "sd: which column's? Write the name before it, such as mass left sd [%]");
        c.role = Role::unknown;
        continue;
      }
      c.field = measured.front();
      c = unit_checked(row[i], column_header(row[i]), c);
    }
  }

  void read_cell(const CsvCell& cell, const Column& column, TrialRow& r) {
    const bool missing = cell.text.empty() || cell.text == "NA";
    switch (column.role) {
      case Role::treatment:
        r.treatment = cell.text;
        break;
      case Role::component:
        r.component = cell.text;
        break;
      case Role::placement:
        r.placement = cell.text;
        break;
      case Role::block:
        r.block = cell.text;
        break;
      case Role::replicate:
        r.replicate = cell.text;
        break;
      case Role::date:
        if (!missing) read_date(cell, r);
        break;
      case Role::days:
        if (!missing) read_days(cell, column, r);
        break;
      case Role::n:
        if (!missing) read_n(cell, r);
        break;
      case Role::value:
      case Role::sd:
        if (!missing) read_value(cell, column, r);
        break;
      case Role::unknown:
      case Role::note:
        break;
    }
  }

  void read_date(const CsvCell& cell, TrialRow& r) {
    try {
      r.date = parse_date(cell.text);
    } catch (const DateError& error) {
      add(cell, error.what());
    }
  }

  void read_days(const CsvCell& cell, const Column& column, TrialRow& r) {
    try {
      r.days = quantity(cell.text + " " + column.unit, Kind::time).value;
      if (r.days < 0.0 || r.days > 36525.0) {
        add(cell, fmt::format("days: found {} {}; wanted 0 or more since the bags were laid out", cell.text,
                              column.unit));
      }
    } catch (const QuantityError& error) {
      add(cell, fmt::format("days: {}", error.what()));
    }
  }

  void read_n(const CsvCell& cell, TrialRow& r) {
    const auto n = number(cell.text);
    if (!n || *n < 1.0 || *n > 1e6 || *n != std::floor(*n)) {
      add(cell, fmt::format("n: found '{}'; wanted how many bags this row is the mean of", cell.text));
      return;
    }
    r.n = static_cast<int>(*n);
  }

  void read_value(const CsvCell& cell, const Column& column, TrialRow& r) {
    const TrialField& field = trial_fields[column.field];
    const std::string what = fmt::format("{}{}", field.name, column.role == Role::sd ? " sd" : "");
    const auto written = number(cell.text);
    if (!written) {
      add(cell, fmt::format("{} '{}' is not a number; leave the cell empty when nothing was measured", what,
                            cell.text));
      return;
    }
    const double value = *written * column.factor;
    const double lowest = column.role == Role::sd ? 0.0 : field.lowest;
    if (value < lowest || value > field.highest) {
      add(cell, fmt::format("{} {} {} cannot be; possible are {:.4g} to {:.6g} {}", what, cell.text,
                            column.unit, in_unit(lowest, field.unit, field.kind),
                            in_unit(field.highest, field.unit, field.kind), field.unit));
      return;
    }
    (column.role == Role::sd ? r.sd : r.values)[column.field] = value;
  }

  const CsvCell& cell_of(const CsvRow& cells, Role role) const {
    for (std::size_t c = 0; c < columns_.size(); ++c) {
      if (columns_[c].role == role) return cells[c];
    }
    return cells.front();
  }

  void resolve(const CsvRow& cells, TrialRow& r) {
    if (r.date && !std::isnan(r.days)) {
      add(cell_of(cells, Role::days), "found a date and days in one row; leave one of the two empty");
    } else if (!r.date && std::isnan(r.days)) {
      add(cells.front(), "this row has no date and no days");
    }
    static const std::vector<std::string> places = {"standing", "surface", "buried"};
    if (!r.placement.empty() && std::find(places.begin(), places.end(), r.placement) == places.end()) {
      add(cell_of(cells, Role::placement), fmt::format("placement: found '{}'; wanted standing, surface or "
                                                       "buried",
                                                       r.placement));
    }
    if (treatments_.empty()) return;
    const TrialTreatmentNames* known =
        treatments_.size() == 1 && r.treatment.empty() ? &treatments_[0] : nullptr;
    std::vector<std::string> names;
    for (const TrialTreatmentNames& t : treatments_) {
      names.push_back(t.key);
      if (t.key == r.treatment || t.label == r.treatment) known = &t;
    }
    if (!known) {
      add(cell_of(cells, Role::treatment),
          fmt::format("the scenario has no treatment '{}'{}", r.treatment, did_you_mean(r.treatment, names)));
      return;
    }
    r.treatment = known->key;
    if (!r.component.empty() && std::find(known->components.begin(), known->components.end(), r.component) ==
                                    known->components.end()) {
      add(cell_of(cells, Role::component),
          fmt::format("treatment '{}' has no component '{}'{}", known->key, r.component,
                      did_you_mean(r.component, known->components)));
    }
    if (r.date && known->laid_out && *r.date < *known->laid_out) {
      add(cell_of(cells, Role::date), fmt::format("{} is before the bags were laid out, on {}",
                                                  format_date(*r.date), format_date(*known->laid_out)));
    }
  }

  /// A bag is told by all its names and its time; without a replicate or block, rows may repeat.
  void refuse_twice(const CsvRow& cells, const TrialRow& r) {
    if (!has(Role::replicate)) return;
    const std::string key = fmt::format("{}|{}|{}|{}|{}|{}|{}", r.treatment, r.component, r.placement,
                                        r.block, r.replicate, r.date ? format_date(*r.date) : "", r.days);
    const auto [first, is_new] = bags_.emplace(key, r.line);
    if (!is_new) {
      add(cells.front(),
          fmt::format("the same bag stands in line {} (treatment, component, placement, block, "
                      "replicate and time are all equal)",
                      first->second));
    }
  }

  const std::string& name_;
  std::span<const TrialTreatmentNames> treatments_;
  const TrialSoil& soil_;
  Mistakes& mistakes_;
  std::vector<Column> columns_;
  std::map<std::string, int> bags_;
};

}  // namespace

bool TrialData::has(std::size_t field) const {
  return std::any_of(rows.begin(), rows.end(),
                     [&](const TrialRow& r) { return !std::isnan(r.values[field]); });
}

bool is_trial_data(std::string_view text) {
  try {
    const CsvText csv = read_csv(text, "");
    if (csv.rows.empty()) return false;
    return std::any_of(csv.rows.front().begin(), csv.rows.front().end(), [](const CsvCell& cell) {
      const std::string word = column_header(cell).folded;
      if (word == "treatment" || word == "replicate" || word == "placement") return true;
      return std::any_of(trial_fields.begin(), trial_fields.end(),
                         [&](const TrialField& f) { return f.name == word; });
    });
  } catch (const InputError&) {
    return false;
  }
}

TrialData read_trial_data(std::string_view text, const std::string& name,
                          std::span<const TrialTreatmentNames> treatments, const TrialSoil& soil) {
  const CsvText csv = read_csv(text, name);
  if (csv.rows.size() < 2) {
    throw InputError({{{name, 1, 1}, "the trial has no rows; wanted a header and one row a bag"}});
  }
  Mistakes mistakes;
  Reader reader(name, treatments, soil, mistakes);
  reader.header(csv.rows.front());
  mistakes.throw_if_any();
  TrialData data{name, {}};
  for (std::size_t r = 1; r < csv.rows.size(); ++r) data.rows.push_back(reader.row(csv.rows[r]));
  mistakes.throw_if_any();
  return data;
}

}  // namespace stoverturn
