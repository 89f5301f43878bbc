#include "scenarios/files/hdf5_get.hpp"

#include <cerrno>
#include <cstdio>
#include <new>
#include <system_error>

#include <fmt/format.h>
#include <hdf5_hl.h>

#include "scenarios/files/atomic_file.hpp"
#include "scenarios/text/calendar.hpp"

namespace stoverturn {
namespace {

/// More labels or days than any result has: a damaged file.
constexpr hsize_t extent_limit = 10'000'000;

void want_class(hid_t type, H5T_class_t wanted, const std::string& name) {
  if (H5Tget_class(type) != wanted) throw BadContent(fmt::format("'{}' is of the wrong type", name));
}

void read_number(hid_t object, const char* name, H5T_class_t wanted, hid_t memory_type, void* value) {
  if (hdf5(H5Aexists(object, name), name) == 0)
    throw BadContent(fmt::format("attribute '{}' is missing", name));
  const Hdf5Handle attribute(H5Aopen(object, name, H5P_DEFAULT), H5Aclose, name);
  const Hdf5Handle type(H5Aget_type(attribute), H5Tclose, name);
  const Hdf5Handle space(H5Aget_space(attribute), H5Sclose, name);
  want_class(type, wanted, name);
  if (H5Sget_simple_extent_npoints(space) != 1) {
    throw BadContent(fmt::format("attribute '{}' is not one number", name));
  }
  hdf5(H5Aread(attribute, memory_type, value), name);
}

}  // namespace

Extents extents_of(hid_t dataset, const std::string& name) {
  const Hdf5Handle space(H5Dget_space(dataset), H5Sclose, name);
  Extents extents(static_cast<std::size_t>(hdf5(H5Sget_simple_extent_ndims(space), name)));
  hdf5(H5Sget_simple_extent_dims(space, extents.data(), nullptr), name);
  return extents;
}

bool has(hid_t group, const char* name) { return hdf5(H5Lexists(group, name, H5P_DEFAULT), name) > 0; }

Hdf5Handle open_dataset(hid_t group, const std::string& name) {
  if (!has(group, name.c_str())) throw BadContent(fmt::format("'{}' is missing", name));
  return {H5Dopen2(group, name.c_str(), H5P_DEFAULT), H5Dclose, name};
}

std::size_t length_of(hid_t dataset, const std::string& name) {
  const Extents extents = extents_of(dataset, name);
  if (extents.size() != 1 || extents[0] > extent_limit) {
    throw BadContent(fmt::format("'{}' is not a list", name));
  }
  return extents[0];
}

std::string attribute_of(hid_t object, const char* name) {
  if (hdf5(H5Aexists(object, name), name) == 0) return "";
  const Hdf5Handle attribute(H5Aopen(object, name, H5P_DEFAULT), H5Aclose, name);
  const Hdf5Handle type(H5Aget_type(attribute), H5Tclose, name);
  const Hdf5Handle space(H5Aget_space(attribute), H5Sclose, name);
  want_class(type, H5T_STRING, name);
  if (H5Sget_simple_extent_npoints(space) == 0) return "";
  if (H5Sget_simple_extent_npoints(space) != 1) {
    throw BadContent(fmt::format("attribute '{}' is not one text", name));
  }
  if (H5Tis_variable_str(type) > 0) {
    char* read = nullptr;
    hdf5(H5Aread(attribute, type, &read), name);
    std::string text = read == nullptr ? "" : read;
    H5free_memory(read);
    return text;
  }
  std::string text(H5Tget_size(type), '\0');
  hdf5(H5Aread(attribute, type, text.data()), name);
  text.erase(text.find_last_not_of('\0') + 1);
  return text;
}

std::vector<std::string> strings_of(hid_t dataset, const std::string& name, std::size_t size) {
  const Hdf5Handle stored(H5Dget_type(dataset), H5Tclose, name);
  want_class(stored, H5T_STRING, name);
  if (H5Tis_variable_str(stored) <= 0) throw BadContent(fmt::format("'{}' is of the wrong type", name));
  std::vector<std::string> texts(size);
  if (size == 0) return texts;
  const Hdf5Handle space(H5Dget_space(dataset), H5Sclose, name);
  std::vector<char*> read(size, nullptr);
  hdf5(H5Dread(dataset, stored, H5S_ALL, H5S_ALL, H5P_DEFAULT, read.data()), name);
  for (std::size_t i = 0; i < size; ++i) texts[i] = read[i] == nullptr ? "" : read[i];
  H5Dvlen_reclaim(stored, space, H5P_DEFAULT, read.data());
  return texts;
}

std::vector<std::string> labels_of(hid_t root, const std::string& name) {
  const Hdf5Handle dataset = open_dataset(root, name);
  return strings_of(dataset, name, length_of(dataset, name));
}

std::vector<int> integers_of(hid_t root, const std::string& name) {
  const Hdf5Handle dataset = open_dataset(root, name);
  const Hdf5Handle type(H5Dget_type(dataset), H5Tclose, name);
  want_class(type, H5T_INTEGER, name);
  std::vector<int> values(length_of(dataset, name));
  if (!values.empty()) {
    hdf5(H5Dread(dataset, H5T_NATIVE_INT, H5S_ALL, H5S_ALL, H5P_DEFAULT, values.data()), name);
  }
  return values;
}

std::vector<double> numbers_of(hid_t root, const std::string& name) {
  const Hdf5Handle dataset = open_dataset(root, name);
  std::vector<double> values(length_of(dataset, name));
  if (!values.empty()) {
    hdf5(H5Dread(dataset, H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, values.data()), name);
  }
  return values;
}

double number_of(hid_t root, const std::string& name) {
  const Hdf5Handle dataset = open_dataset(root, name);
  if (!extents_of(dataset, name).empty()) throw BadContent(fmt::format("'{}' is not one number", name));
  double value = 0.0;
  hdf5(H5Dread(dataset, H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, &value), name);
  return value;
}

void want_format(hid_t file, const char* attribute_name, int wanted, std::string_view what) {
  const char* name = attribute_name;
  if (hdf5(H5Aexists(file, name), name) == 0) {
    throw BadContent(fmt::format("is an HDF5 file, but not one of {} of stoverturn", what));
  }
  const int format = integer_of(file, name);
  if (format != wanted) {
    const std::string_view singular = what.substr(0, what.size() - 1);
    throw BadContent(fmt::format("is in format {} of {} files, this program reads format {}{}", format,
                                 singular, wanted, format > wanted ? ": use a newer version of it" : ""));
  }
}

int integer_of(hid_t object, const char* name) {
  int value = 0;
  read_number(object, name, H5T_INTEGER, H5T_NATIVE_INT, &value);
  return value;
}

double double_of(hid_t object, const char* name) {
  double value = 0.0;
  read_number(object, name, H5T_FLOAT, H5T_NATIVE_DOUBLE, &value);
  return value;
}

std::vector<std::string> links_of(hid_t group) {
  std::vector<std::string> names;
  const auto add = [](hid_t, const char* name, const H5L_info_t*, void* list) -> herr_t {
    static_cast<std::vector<std::string>*>(list)->emplace_back(name);
    return 0;
  };
  hdf5(H5Literate(group, H5_INDEX_CRT_ORDER, H5_ITER_INC, nullptr, add, &names), "list of contents");
  return names;
}

std::string dimension_name(hid_t dataset, std::size_t axis, const std::string& name) {
  std::string found;
  const auto first = [](hid_t, unsigned, hid_t scale, void* text) -> herr_t {
    char path[64] = "";
    H5Iget_name(scale, path, sizeof path);
    *static_cast<std::string*>(text) = path;
    return 1;
  };
  hdf5(H5DSiterate_scales(dataset, static_cast<unsigned>(axis), nullptr, first, &found), name);
  return found.empty() ? "" : found.substr(1);
}

void read_texts(hid_t root, std::vector<KeptText>& texts) {
  if (!has(root, "texts")) throw BadContent("'texts' is missing");
  const Hdf5Handle group(H5Gopen2(root, "texts", H5P_DEFAULT), H5Gclose, "texts");
  for (const std::string& name : links_of(group)) {
    const Hdf5Handle dataset = open_dataset(group, name);
    if (!extents_of(dataset, name).empty()) throw BadContent(fmt::format("'texts/{}' is not one text", name));
    texts.push_back({attribute_of(dataset, "name"), strings_of(dataset, name, 1)[0]});
  }
}

void read_hdf5(const std::filesystem::path& path, const std::function<void(hid_t)>& read) {
  const QuietHdf5 quiet;
  std::error_code error;
  const std::filesystem::file_status status = std::filesystem::status(path, error);
  if (!std::filesystem::exists(status)) {
    throw FileError(path, "cannot be read: " + (error ? error.message() : "no such file"));
  }
  if (!std::filesystem::is_regular_file(status)) throw FileError(path, "cannot be read: is no regular file");
  std::FILE* opened = std::fopen(path.string().c_str(), "rb");
  if (opened == nullptr) {
    throw FileError(path, "cannot be read: " + std::generic_category().message(errno));
  }
  std::fclose(opened);
  try {
    if (H5Fis_hdf5(path.string().c_str()) <= 0) throw BadContent(std::string(not_hdf5));
    const Hdf5Handle file(H5Fopen(path.string().c_str(), H5F_ACC_RDONLY, hdf5_file_access()), H5Fclose,
                          "is damaged or was cut off");
    read(file);
  } catch (const BadContent& e) {
    throw FileError(path, e.what());
  } catch (const DateError& e) {
    throw FileError(path, e.what());
  } catch (const Hdf5Error& e) {
    throw FileError(path, std::string("cannot be read: ") + e.what());
  } catch (const std::bad_alloc&) {
    throw FileError(path, "cannot be read: it is damaged, or larger than the memory");
  }
}

}  // namespace stoverturn
