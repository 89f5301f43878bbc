#pragma once
#include <filesystem>
#include <string_view>

#include "scenarios/trial/fit_result.hpp"

namespace stoverturn {

/// A fit as one HDF5 file that netCDF-4 tools read, with the conventions of result_file.hpp: equal fits give
/// equal files, byte for byte; written atomically. docs/file-formats.md, "Fit results", lists what is in it.
///
/// Lists (unknowns, residuals, curves, ...) are dimensions, their members variables "LIST_member". What is
/// empty is not written, nor are the seconds a stage took: the same fit gives the same file. Throws
/// FileError; std::invalid_argument for a NUL in a text.
void write_fit(const std::filesystem::path& path, const FitResult& fit, std::string_view history = {});

/// The fit in a file written by write_fit(), exactly but for the seconds of its stages. Throws FileError for
/// a file that is absent, not HDF5, cut off, of another kind or by a newer version of this program.
FitResult read_fit(const std::filesystem::path& path);

/// Names shared by writer and readers.
namespace fit_file {
inline constexpr int format = 1;  ///< raised when an older program could misread a file
inline constexpr const char* format_attribute = "stoverturn_fit_format";
}  // namespace fit_file

}  // namespace stoverturn
