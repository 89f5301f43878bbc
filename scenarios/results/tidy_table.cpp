#include "scenarios/results/tidy_table.hpp"

#include <cmath>
#include <limits>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "scenarios/text/csv_text.hpp"

namespace stoverturn {
namespace {

template <class List>
const typename List::value_type* named(const List& list, std::string_view name) {
  for (const auto& one : list) {
    if (one.name == name) return &one;
  }
  return nullptr;
}

const TidyColumn* column_in(const TidyFile& file, std::string_view table, std::string_view column) {
  const TidyTable* found = named(file.tables, table);
  return found ? named(found->columns, column) : nullptr;
}

}  // namespace

std::size_t rows_in(const TidyFile& file, std::string_view table) {
  const TidyTable* found = named(file.tables, table);
  return found ? found->rows() : 0;
}

std::vector<double> numbers_in(const TidyFile& file, std::string_view table, std::string_view column) {
  const TidyColumn* found = column_in(file, table, column);
  if (found && !found->is_text) return found->numbers;
  return std::vector<double>(rows_in(file, table), std::numeric_limits<double>::quiet_NaN());
}

std::vector<std::string> texts_in(const TidyFile& file, std::string_view table, std::string_view column) {
  const TidyColumn* found = column_in(file, table, column);
  if (found && found->is_text) return found->texts;
  return std::vector<std::string>(rows_in(file, table));
}

std::string tidy_csv(const TidyTable& table) {
  std::string text;
  for (const TidyColumn& c : table.columns) text += (text.empty() ? "" : ",") + csv_cell(c.name);
  text += '\n';
  for (std::size_t r = 0; r < table.rows(); ++r) {
    std::string line;
    for (const TidyColumn& c : table.columns) {
      if (&c != &table.columns.front()) line += ',';
      if (c.is_text) line += csv_cell(c.texts[r]);
      if (!c.is_text && std::isfinite(c.numbers[r])) line += fmt::format("{:.10g}", c.numbers[r] + 0.0);
    }
    text += line + '\n';
  }
  return text;
}

std::string tidy_json(const std::vector<TidyText>& texts, const std::vector<TidyTable>& tables,
                      const std::vector<std::string>& notes) {
  nlohmann::ordered_json out;
  for (const TidyText& t : texts) out[t.name] = t.text;
  for (const TidyTable& table : tables) {
    nlohmann::ordered_json rows = nlohmann::ordered_json::array();
    for (std::size_t r = 0; r < table.rows(); ++r) {
      nlohmann::ordered_json row;
      for (const TidyColumn& c : table.columns) {
        if (c.is_text) {
          row[c.name] = c.texts[r];
        } else {
          row[c.name] = std::isfinite(c.numbers[r]) ? nlohmann::ordered_json(c.numbers[r]) : nullptr;
        }
      }
      rows.push_back(std::move(row));
    }
    out[table.name] = std::move(rows);
  }
  out["notes"] = notes;
  return out.dump(1, ' ', false, nlohmann::ordered_json::error_handler_t::replace) + "\n";
}

}  // namespace stoverturn
