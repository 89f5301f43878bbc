#include "scenarios/weather/conditions_reading.hpp"

#include <cmath>

#include <fmt/format.h>

#include "scenarios/text/calendar.hpp"
#include "scenarios/text/csv_text.hpp"
#include "scenarios/text/mistakes.hpp"
#include "scenarios/units/quantity.hpp"

namespace stoverturn {
namespace {

struct LogField {
  std::string_view name, unit;
  Kind kind;
  double lowest, highest;
  double LoggedDay::*member;
};
constexpr LogField fields[] = {
    {"temperature", "degC", Kind::temperature, -40.0, 60.0, &LoggedDay::temperature_C},
    {"wetness", "%", Kind::fraction, 0.0, 1.0, &LoggedDay::wetness},
    {"pore_filling", "%", Kind::fraction, 0.0, 1.0, &LoggedDay::pore_filling},
    {"water", "mm", Kind::length, 0.0, 500.0, &LoggedDay::water_mm},
};

struct Column {
  const LogField* field = nullptr;  ///< nullptr: date or day
  bool is_date = false;
  std::string unit;
};

std::vector<Column> read_header(const CsvRow& row, const std::string& name, Mistakes& mistakes) {
  std::vector<std::string> known = {"date", "day"};
  for (const LogField& f : fields) known.emplace_back(f.name);
  std::vector<Column> columns;
  for (const CsvCell& cell : row) {
    const std::size_t bracket = cell.text.find('[');
    const std::string word(trimmed(std::string_view(cell.text).substr(0, bracket)));
    Column column;
    for (const LogField& f : fields) {
      if (f.name == word) column.field = &f;
    }
    column.is_date = word == "date";
    if (!column.field && word != "date" && word != "day") {
      mistakes.add({name, cell.line, cell.column},
                   fmt::format("unknown column `{}`{}", word, did_you_mean(word, known)));
    }
    if (column.field) {
      const std::size_t close = cell.text.find(']');
      if (bracket == std::string::npos || close == std::string::npos) {
        mistakes.add({name, cell.line, cell.column},
                     fmt::format("{} needs a unit: write {} [{}]", word, word, column.field->unit));
      } else {
        column.unit = cell.text.substr(bracket + 1, close - bracket - 1);
      }
    }
    columns.push_back(column);
  }
  return columns;
}

}  // namespace

ConditionsLog read_conditions_log(std::string_view text, const std::string& name) {
  const CsvText csv = read_csv(text, name);
  if (csv.rows.size() < 2)
    throw InputError({{{name, 1, 1}, "the log has no rows; wanted a header and one row a day or more"}});
  Mistakes mistakes;
  const std::vector<Column> columns = read_header(csv.rows.front(), name, mistakes);
  mistakes.throw_if_any();

  std::vector<LoggedDay> log;
  std::optional<std::chrono::sys_days> first_date;
  LoggedDay now;
  for (std::size_t r = 1; r < csv.rows.size(); ++r) {
    const CsvRow& row = csv.rows[r];
    std::optional<long> day;
    now.water_mm = 0.0;
    for (std::size_t c = 0; c < row.size() && c < columns.size(); ++c) {
      const Position at{name, row[c].line, row[c].column};
      if (row[c].text.empty()) continue;
      try {
        if (columns[c].field) {
          const LogField& f = *columns[c].field;
          const double value = quantity(row[c].text + " " + columns[c].unit, f.kind).value;
          if (value < f.lowest || value > f.highest) {
            mistakes.add(
                at, fmt::format("{}: found {} {}, which cannot be", f.name, row[c].text, columns[c].unit));
          }
          now.*f.member = value;
        } else if (columns[c].is_date) {
          const std::chrono::sys_days date = parse_date(row[c].text);
          if (!first_date) first_date = date;
          day = (date - *first_date).count();
        } else if (const auto n = number(row[c].text); n && *n >= 0.0 && *n == std::floor(*n)) {
          day = static_cast<long>(*n);
        } else {
          mistakes.add(at, fmt::format("day: found '{}'; wanted whole days from the start", row[c].text));
        }
      } catch (const std::runtime_error& error) {
        mistakes.add(at, error.what());
      }
    }
    const Position at{name, row.front().line, row.front().column};
    if (!day) {
      mistakes.add(at, "this row has no date or day");
    } else if (*day < static_cast<long>(log.size()) || *day > 40000) {
      mistakes.add(at, fmt::format("day {} comes after day {}; wanted days in order, each once", *day,
                                   static_cast<long>(log.size()) - 1));
    } else {
      LoggedDay held = log.empty() ? now : log.back();
      held.water_mm = 0.0;
      while (static_cast<long>(log.size()) < *day) log.push_back(held);
      log.push_back(now);
    }
  }
  mistakes.throw_if_any();
  return {first_date, std::move(log)};
}

}  // namespace stoverturn
