#pragma once
#include <filesystem>
#include <string>
#include <vector>

#include "scenarios/results/results.hpp"
#include "scenarios/results/tidy_table.hpp"

namespace stoverturn {

/// Tables as one HDF5 file that netCDF-4 tools read: each table a dimension of its name, each column a
/// variable "TABLE_column" with long_name and units; root attributes `title`, `source` and `kind`; notes in
/// the variable `note`, texts in the group `texts`. Equal tables give equal files. Written atomically; throws
/// FileError.
struct TidyFile {
  std::string title, kind;  ///< kind: "stand counts"
  std::vector<TidyTable> tables;
  std::vector<std::string> notes;
  std::vector<KeptText> texts;
};
void write_tidy(const std::filesystem::path& path, const TidyFile& file);

void write_tidy_csv(const std::filesystem::path& path, const TidyTable& table);

}  // namespace stoverturn
