#pragma once
#include <cstdio>
#include <filesystem>
#include <functional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

namespace stoverturn {

/// A file that cannot be read or written. The message starts with the path and ends with the reason.
struct FileError : std::runtime_error {
  FileError(std::filesystem::path path_, const std::string& reason)
      : std::runtime_error(path_.string() + ": " + reason), path(std::move(path_)) {}
  std::filesystem::path path;
};

/// Throws a FileError that names every path that exists, unless `overwrite`; what is no regular file (a
/// folder, a device) is refused always. To be called before the work whose output these files are.
void refuse_existing(const std::vector<std::filesystem::path>& paths, bool overwrite);

/// Calls `write` with "<path>.part" and renames that file to `path` once `write` has returned, so that `path`
/// is never half written. When anything fails the .part file is removed, `path` is left as it was and the
/// exception goes on. A .part file left by a killed program is replaced; a symbolic link stays a link.
void write_atomically(const std::filesystem::path& path,
                      const std::function<void(const std::filesystem::path& part)>& write);

/// Text written in pieces; every failure is a FileError with the system's reason.
class TextFile {
 public:
  explicit TextFile(const std::filesystem::path& path);
  ~TextFile();
  TextFile(const TextFile&) = delete;
  TextFile& operator=(const TextFile&) = delete;

  void write(std::string_view text);
  /// Must be called: a full disk may show only here.
  void close();

 private:
  [[noreturn]] void fail(int error) const;
  std::filesystem::path path_;
  std::FILE* file_;
};

/// A whole text, atomically.
void write_text(const std::filesystem::path& path, std::string_view text);

}  // namespace stoverturn
