#include <cstdio>

#include <fmt/format.h>

#include "scenarios/program/commands.hpp"

namespace stoverturn {

std::string output_stem(const std::string& output, const std::string& usual) {
  std::filesystem::path base = output;
  if (base.filename().empty()) base /= usual;
  return (base.extension() == ".h5" ? base.parent_path() / base.stem() : base).string();
}

void tell_written(const std::vector<std::filesystem::path>& files) {
  std::fflush(stdout);
  for (const std::filesystem::path& file : files) fmt::print(stderr, "wrote {}\n", file.string());
}

}  // namespace stoverturn
