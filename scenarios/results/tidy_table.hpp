#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "scenarios/results/results.hpp"

namespace stoverturn {

/// One column of a tidy table: texts or numbers, one a row.
struct TidyColumn {
  std::string name;  ///< letters, digits and '_': "lower_per_acre"
  std::string unit;  ///< "" where there is none
  std::string meaning;
  std::vector<std::string> texts;
  std::vector<double> numbers;  ///< NaN: empty
  bool is_text = false;
};

/// A list of like things for CSV, HDF5 and JSON, declared once. All columns are equally long.
struct TidyTable {
  std::string name, meaning;  ///< name: letters, digits and '_'
  std::vector<TidyColumn> columns;
  std::size_t rows() const {
    if (columns.empty()) return 0;
    return columns.front().is_text ? columns.front().texts.size() : columns.front().numbers.size();
  }
};

/// Tables that belong together, as one file (scenarios/files/tidy_file.hpp).
struct TidyFile {
  std::string title, kind;  ///< kind: "stand counts"
  std::vector<TidyTable> tables;
  std::vector<std::string> notes;
  std::vector<KeptText> texts;
  std::string program = {};  ///< that wrote it; "": this one
};
inline constexpr std::string_view stand_file_kind = "stand counts", plan_file_kind = "plan of a trial";

/// What a column holds, one a row of its table: empty where there is no such table, NaN or "" in each row
/// where the table has no such column.
std::vector<double> numbers_in(const TidyFile& file, std::string_view table, std::string_view column);
std::vector<std::string> texts_in(const TidyFile& file, std::string_view table, std::string_view column);
std::size_t rows_in(const TidyFile& file, std::string_view table);

/// Adds a column, each row's text or number by `get`.
template <class Rows, class Get>
void add_texts(TidyTable& table, std::string name, std::string meaning, const Rows& rows, Get get) {
  TidyColumn column{std::move(name), "", std::move(meaning), {}, {}, true};
  for (const auto& row : rows) column.texts.emplace_back(get(row));
  table.columns.push_back(std::move(column));
}
template <class Rows, class Get>
void add_numbers(TidyTable& table, std::string name, std::string unit, std::string meaning, const Rows& rows,
                 Get get) {
  TidyColumn column{std::move(name), std::move(unit), std::move(meaning), {}, {}, false};
  for (const auto& row : rows) column.numbers.push_back(static_cast<double>(get(row)));
  table.columns.push_back(std::move(column));
}

/// One header line, then one line a row; numbers with ten digits, NaN and infinities empty.
std::string tidy_csv(const TidyTable& table);

/// A text that stands beside tables: "program", "name".
struct TidyText {
  std::string name, text;
};

/// An object with the texts, then an array of objects for each table, then `notes`; NaN as null.
std::string tidy_json(const std::vector<TidyText>& texts, const std::vector<TidyTable>& tables,
                      const std::vector<std::string>& notes);

}  // namespace stoverturn
