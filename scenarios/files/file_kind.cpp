#include "scenarios/files/file_kind.hpp"

#include <optional>

#include <fmt/format.h>

#include "scenarios/files/atomic_file.hpp"
#include "scenarios/files/fit_file.hpp"
#include "scenarios/files/hdf5_get.hpp"
#include "scenarios/files/result_file.hpp"
#include "scenarios/files/tidy_file.hpp"

namespace stoverturn {
namespace {

constexpr const char* wanted = "wanted is a .h5 file of run, ensemble, timing, planting, fit, stand or trial";

struct KindRow {
  const char* format_attribute;
  FileKind kind;
};
constexpr KindRow kinds[] = {{result_file::format_attribute, FileKind::results},
                             {fit_file::format_attribute, FileKind::fit},
                             {tidy_file::format_attribute, FileKind::tidy}};

}  // namespace

FileKind kind_of_file(const std::filesystem::path& path) {
  std::optional<FileKind> found;
  try {
    read_hdf5(path, [&](hid_t root) {
      for (const KindRow& row : kinds) {
        if (hdf5(H5Aexists(root, row.format_attribute), row.format_attribute) > 0) found = row.kind;
      }
      if (!found)
        throw BadContent(fmt::format("is an HDF5 file, but none that can be read here; {}", wanted));
    });
  } catch (const FileError& error) {
    if (!std::string_view(error.what()).ends_with(not_hdf5)) throw;
    throw FileError(path, fmt::format("{}; {}", not_hdf5, wanted));
  }
  return *found;
}

}  // namespace stoverturn
