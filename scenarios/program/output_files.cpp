#include <unistd.h>

#include <chrono>
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

RunProgress progress_bar() {
  if (!isatty(STDERR_FILENO)) return {};
  const auto start = std::chrono::steady_clock::now();
  return [start](double done) {
    if (std::chrono::steady_clock::now() - start < std::chrono::seconds(1)) return;
    const int filled = static_cast<int>(40 * done);
    fmt::print(stderr, "\r[{:<40}] {:3.0f} %", std::string(static_cast<std::size_t>(filled), '#'),
               100 * done);
    if (done >= 1.0) fmt::print(stderr, "\r{:60}\r", "");
  };
}

}  // namespace stoverturn
