#include "scenarios/results/tidy_table.hpp"

#include <cmath>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "scenarios/text/csv_text.hpp"

namespace stoverturn {

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
