#pragma once
#include <filesystem>

#include "scenarios/ensemble/ensemble.hpp"

namespace stoverturn {

/// Parts of an ensemble as numbered files of one folder, each written whole or not at all: whatever ends a
/// run, what was done stays. A part is an HDF5 file with `values` (run, column) and what failed.
class PartFiles {
 public:
  /// `of` is a digest of all that the numbers depend on: parts of something else are not taken for these.
  PartFiles(std::filesystem::path folder, std::string of);

  std::filesystem::path path(std::size_t part) const;
  void write(std::size_t part, const PartRows& rows) const;
  /// Whether the part is there and whole. Throws FileError for one of another ensemble.
  bool has(std::size_t part, std::size_t runs, std::size_t columns) const;
  std::vector<double> columns(std::size_t part, std::size_t first, std::size_t last) const;
  std::vector<RunFailure> failures(std::size_t part) const;

 private:
  std::filesystem::path folder_;
  std::string of_;
};

}  // namespace stoverturn
