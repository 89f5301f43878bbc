#pragma once
#include <map>
#include <string>
#include <vector>

#include "scenarios/text/csv_text.hpp"
#include "tests/catch.hpp"

/// A row of a CSV file by the names of its columns; short rows lack the last ones.
using TableRow = std::map<std::string, std::string>;

inline std::vector<TableRow> table_rows(const std::filesystem::path& file) {
  const stoverturn::CsvText csv = stoverturn::read_csv(slurp(file), file.filename().string());
  std::vector<TableRow> rows;
  for (std::size_t r = 1; r < csv.rows.size(); ++r) {
    TableRow& row = rows.emplace_back();
    for (std::size_t c = 0; c < csv.rows[r].size(); ++c) row[csv.rows[0][c].text] = csv.rows[r][c].text;
  }
  return rows;
}
