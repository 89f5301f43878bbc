#pragma once
#include <filesystem>

namespace stoverturn {

/// What a file written by this program holds, and so who reads it: read_results(), read_fit(), read_tidy().
enum class FileKind { results, fit, tidy };

/// By the root attributes alone. Throws FileError for a file that is absent, not HDF5, cut off, or none of
/// ours, which says what writes the files that can be read.
FileKind kind_of_file(const std::filesystem::path& path);

}  // namespace stoverturn
