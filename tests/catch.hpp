#pragma once
/// Catch2 version 2 (Debian 12) and 3 (Debian 13) behind one header.
#if __has_include(<catch2/catch_all.hpp>)
#include <catch2/catch_all.hpp>
using Catch::Approx;
namespace Matchers = Catch::Matchers;
inline auto contains(const std::string& part) { return Catch::Matchers::ContainsSubstring(part); }
#else
#include <catch2/catch.hpp>
namespace Matchers = Catch::Matchers;
inline auto contains(const std::string& part) { return Catch::Matchers::Contains(part); }
#endif

#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

/// Bytes of a file; fails the test when it cannot be read.
inline std::string slurp(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  if (!in) FAIL("cannot read " << path);
  return {std::istreambuf_iterator<char>(in), {}};
}

inline std::filesystem::path source_dir() { return STOVERTURN_SOURCE_DIR; }

/// Folder of the open data that is never committed; the test ends with a message when it is absent.
inline std::filesystem::path shared_data(const std::string& folder) {
  return std::filesystem::path(STOVERTURN_SHARED_DIR) / "data" / folder;
}
#define NEEDS_SHARED(folder)                                                         \
  if (!std::filesystem::exists(shared_data(folder))) {                               \
    WARN("skipped: open data " << shared_data(folder) << " is not on this machine"); \
    return;                                                                          \
  }
