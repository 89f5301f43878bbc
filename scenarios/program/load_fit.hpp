#pragma once
#include "scenarios/program/commands.hpp"
#include "scenarios/trial/fit_problem.hpp"

namespace stoverturn {

/// A fit file read with all the files it names.
struct LoadedFit {
  FitPlan plan;
  std::vector<LoadedTrial> trials;
  std::vector<KeptText> texts;
  std::vector<std::pair<std::string, std::string>> checksums;  ///< SHA-256 of every file read
  std::string inputs;  ///< checksum of all of them, of the overrides and of the program's version
};

/// Reads a fit file with its data, scenarios and weather. Throws InputError, FileError.
LoadedFit load_fit(const std::filesystem::path& path, const std::vector<std::string>& overrides);

}  // namespace stoverturn
