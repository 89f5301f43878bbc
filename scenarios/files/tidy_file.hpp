#pragma once
#include <filesystem>

#include "scenarios/results/tidy_table.hpp"

namespace stoverturn {

/// Tables as one HDF5 file that netCDF-4 tools read: each table a dimension of its name, each column a
/// variable "TABLE_column" with long_name and units; root attributes `title`, `source` and `kind`; notes in
/// the variable `note`, texts in the group `texts`. Equal tables give equal files. Written atomically; throws
/// FileError. Tables without rows are left out.
void write_tidy(const std::filesystem::path& path, const TidyFile& file);

/// The tables in a file written by write_tidy(), exactly. Throws FileError for a file that is absent, not
/// HDF5, cut off, of another kind or by a newer version of this program.
TidyFile read_tidy(const std::filesystem::path& path);

void write_tidy_csv(const std::filesystem::path& path, const TidyTable& table);

/// Names shared by writer and readers.
namespace tidy_file {
inline constexpr int format = 1;  ///< raised when an older program could misread a file
inline constexpr const char* format_attribute = "stoverturn_tables_format";
inline constexpr const char* note = "note";
}  // namespace tidy_file

}  // namespace stoverturn
