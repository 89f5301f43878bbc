#include "scenarios/files/atomic_file.hpp"

#include <cerrno>
#include <system_error>

namespace stoverturn {
namespace fs = std::filesystem;

void refuse_existing(const std::vector<fs::path>& paths, bool overwrite) {
  std::vector<fs::path> existing;
  for (const fs::path& path : paths) {
    std::error_code error;
    const fs::path folder = path.has_parent_path() ? path.parent_path() : fs::path(".");
    if (!fs::is_directory(folder, error)) {
      throw FileError(path, "cannot be written: there is no folder " + folder.string());
    }
    if (!fs::exists(fs::symlink_status(path, error))) continue;
    const fs::file_status target = fs::status(path, error);
    if (fs::exists(target) && !fs::is_regular_file(target)) {
      throw FileError(path, fs::is_directory(target) ? "is a folder; wanted the name of a file"
                                                     : "is not a regular file and is never replaced");
    }
    existing.push_back(path);
  }
  if (overwrite || existing.empty()) return;
  if (existing.size() == 1) {
    throw FileError(existing[0], "exists already; use --overwrite to replace it, or write elsewhere");
  }
  std::string others;
  for (std::size_t i = 1; i < existing.size(); ++i) others += (i > 1 ? ", " : "") + existing[i].string();
  throw FileError(existing[0], "exists already, and so " +
                                   std::string(existing.size() == 2 ? "does " : "do ") + others +
                                   "; use --overwrite to replace them, or write elsewhere");
}

void write_atomically(const fs::path& path, const std::function<void(const fs::path&)>& write) {
  refuse_existing({path}, true);
  std::error_code error;
  fs::path target = path;
  if (fs::is_symlink(path, error)) {
    target = fs::weakly_canonical(path, error);
    if (error) throw FileError(path, "cannot be written: " + error.message());
  }
  fs::path part = target;
  part += ".part";
  try {
    write(part);
    fs::rename(part, target, error);
    if (error) throw FileError(path, "cannot be written: " + error.message());
  } catch (...) {
    std::error_code ignored;
    if (fs::is_regular_file(part, ignored)) fs::remove(part, ignored);
    throw;
  }
}

TextFile::TextFile(const fs::path& path) : path_(path), file_(std::fopen(path.string().c_str(), "wb")) {
  if (file_ == nullptr) fail(errno);
}

TextFile::~TextFile() {
  if (file_ != nullptr) std::fclose(file_);
}

void TextFile::write(std::string_view text) {
  if (std::fwrite(text.data(), 1, text.size(), file_) != text.size()) fail(errno);
}

void TextFile::close() {
  const int result = std::fclose(file_);
  file_ = nullptr;
  if (result != 0) fail(errno);
}

void TextFile::fail(int error) const {
  throw FileError(path_, "cannot be written: " + std::generic_category().message(error));
}

void write_text(const fs::path& path, std::string_view text) {
  write_atomically(path, [&](const fs::path& part) {
    TextFile file(part);
    file.write(text);
    file.close();
  });
}

}  // namespace stoverturn
