#include "scenarios/files/hdf5_put.hpp"

#include <algorithm>
#include <limits>
#include <numeric>
#include <stdexcept>

#include <fmt/format.h>
#include <hdf5_hl.h>

#include "scenarios/files/atomic_file.hpp"
#include "scenarios/files/result_file.hpp"
#include "scenarios/text/calendar.hpp"

namespace stoverturn {
namespace {

/// Values a chunk holds at most: 256 kB, whole time series side by side.
constexpr hsize_t chunk_values = 32768;
/// Smaller arrays are stored as they are.
constexpr hsize_t compressed_from = 128;

const char* c_string(const std::string& text, std::string_view what) {
  if (text.find('\0') == std::string::npos) return text.c_str();
  throw std::invalid_argument(fmt::format("{} holds a NUL byte", what));
}

Hdf5Handle space_of(const Extents& extents) {
  if (extents.empty()) return {H5Screate(H5S_SCALAR), H5Sclose, "data space"};
  return {H5Screate_simple(static_cast<int>(extents.size()), extents.data(), nullptr), H5Sclose,
          "data space"};
}

/// Creation order kept, as netCDF wants it; no times, so that equal results give equal bytes.
void keep_order(hid_t creation) {
  hdf5(H5Pset_attr_creation_order(creation, H5P_CRT_ORDER_TRACKED | H5P_CRT_ORDER_INDEXED), "order");
  hdf5(H5Pset_obj_track_times(creation, false), "times");
}

Hdf5Handle group_creation(hid_t property_class) {
  Hdf5Handle creation(H5Pcreate(property_class), H5Pclose, "group properties");
  hdf5(H5Pset_link_creation_order(creation, H5P_CRT_ORDER_TRACKED | H5P_CRT_ORDER_INDEXED), "order");
  keep_order(creation);
  return creation;
}

Hdf5Handle dataset_creation() {
  Hdf5Handle creation(H5Pcreate(H5P_DATASET_CREATE), H5Pclose, "dataset properties");
  keep_order(creation);
  return creation;
}

/// Whole extents from the innermost on while the chunk stays small.
Extents chunk_of(const Extents& extents) {
  Extents chunk(extents.size(), 1);
  hsize_t room = chunk_values;
  for (std::size_t i = extents.size(); i-- > 0;) {
    chunk[i] = std::min(extents[i], room);
    room /= chunk[i];
    if (room == 0) break;
  }
  return chunk;
}

std::string hdf5_image(const std::function<void(hid_t)>& fill) {
  const Hdf5Handle access = hdf5_file_access();
  hdf5(H5Pset_fapl_core(access, 1 << 20, false), "file in memory");
  const Hdf5Handle file(H5Fcreate("results.h5", H5F_ACC_TRUNC, group_creation(H5P_FILE_CREATE), access),
                        H5Fclose, "file in memory");
  fill(file);
  hdf5(H5Fflush(file, H5F_SCOPE_LOCAL), "file in memory");
  const ssize_t size = hdf5(H5Fget_file_image(file, nullptr, 0), "file in memory");
  std::string image(static_cast<std::size_t>(size), '\0');
  hdf5(H5Fget_file_image(file, image.data(), image.size()), "file in memory");
  return image;
}

}  // namespace

void put(hid_t object, const char* name, std::string_view text) {
  if (text.empty()) return;
  Hdf5Handle type(H5Tcopy(H5T_C_S1), H5Tclose, name);
  hdf5(H5Tset_size(type, text.size()), name);
  hdf5(H5Tset_strpad(type, H5T_STR_NULLPAD), name);
  const bool ascii = std::all_of(text.begin(), text.end(), [](unsigned char c) { return c < 128; });
  hdf5(H5Tset_cset(type, ascii ? H5T_CSET_ASCII : H5T_CSET_UTF8), name);
  Hdf5Handle attribute(H5Acreate2(object, name, type, space_of({}), H5P_DEFAULT, H5P_DEFAULT), H5Aclose,
                       name);
  hdf5(H5Awrite(attribute, type, text.data()), name);
}

void put(hid_t object, const char* name, int value) {
  Hdf5Handle attribute(H5Acreate2(object, name, H5T_STD_I32LE, space_of({1}), H5P_DEFAULT, H5P_DEFAULT),
                       H5Aclose, name);
  hdf5(H5Awrite(attribute, H5T_NATIVE_INT, &value), name);
}

void put(hid_t object, const char* name, double value) {
  Hdf5Handle attribute(H5Acreate2(object, name, H5T_IEEE_F64LE, space_of({1}), H5P_DEFAULT, H5P_DEFAULT),
                       H5Aclose, name);
  hdf5(H5Awrite(attribute, H5T_NATIVE_DOUBLE, &value), name);
}

Hdf5Handle create_values(hid_t group, const std::string& name, const Extents& extents) {
  Hdf5Handle creation = dataset_creation();
  const double fill = std::numeric_limits<double>::quiet_NaN();
  hdf5(H5Pset_fill_value(creation, H5T_NATIVE_DOUBLE, &fill), name);
  const hsize_t size = std::accumulate(extents.begin(), extents.end(), hsize_t{1}, std::multiplies<>());
  if (size >= compressed_from) {
    const Extents chunk = chunk_of(extents);
    hdf5(H5Pset_chunk(creation, static_cast<int>(chunk.size()), chunk.data()), name);
    hdf5(H5Pset_shuffle(creation), name);
    hdf5(H5Pset_deflate(creation, 1), name);
  }
  return {
      H5Dcreate2(group, name.c_str(), H5T_IEEE_F64LE, space_of(extents), H5P_DEFAULT, creation, H5P_DEFAULT),
      H5Dclose, name};
}

Hdf5Handle put_values(hid_t group, const std::string& name, const Extents& extents,
                      const std::vector<double>& values) {
  Hdf5Handle dataset = create_values(group, name, extents);
  if (!values.empty()) {
    hdf5(H5Dwrite(dataset, H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, values.data()), name);
  }
  return dataset;
}

Hdf5Handle put_strings(hid_t group, const std::string& name, const std::vector<std::string>& texts,
                       const Extents& extents) {
  std::vector<const char*> pointers;
  pointers.reserve(texts.size());
  for (const std::string& text : texts) pointers.push_back(c_string(text, name));
  const Hdf5Handle type = hdf5_string_type();
  Hdf5Handle dataset(
      H5Dcreate2(group, name.c_str(), type, space_of(extents), H5P_DEFAULT, dataset_creation(), H5P_DEFAULT),
      H5Dclose, name);
  if (!texts.empty()) hdf5(H5Dwrite(dataset, type, H5S_ALL, H5S_ALL, H5P_DEFAULT, pointers.data()), name);
  return dataset;
}

Hdf5Handle put_integers(hid_t group, const std::string& name, const std::vector<int>& values) {
  Hdf5Handle dataset(H5Dcreate2(group, name.c_str(), H5T_STD_I32LE, space_of({values.size()}), H5P_DEFAULT,
                                dataset_creation(), H5P_DEFAULT),
                     H5Dclose, name);
  if (!values.empty()) {
    hdf5(H5Dwrite(dataset, H5T_NATIVE_INT, H5S_ALL, H5S_ALL, H5P_DEFAULT, values.data()), name);
  }
  return dataset;
}

void put_label_dimension(hid_t root, const std::string& name, const std::vector<std::string>& labels,
                         std::string_view meaning) {
  const Hdf5Handle scale = put_strings(root, name, labels, {labels.size()});
  put(scale, "long_name", meaning);
  hdf5(H5DSset_scale(scale, name.c_str()), name);
}

void put_bare_dimension(hid_t root, const std::string& name, std::size_t extent) {
  const Hdf5Handle scale(H5Dcreate2(root, name.c_str(), H5T_IEEE_F32BE, space_of({extent}), H5P_DEFAULT,
                                    dataset_creation(), H5P_DEFAULT),
                         H5Dclose, name);
  const std::string mark = fmt::format("This is a netCDF dimension but not a netCDF variable.{:10}", extent);
  hdf5(H5DSset_scale(scale, mark.c_str()), name);
}

void put_number_dimension(hid_t root, const std::string& name, const std::vector<double>& values,
                          std::string_view meaning) {
  const Hdf5Handle scale = put_values(root, name, {values.size()}, values);
  put(scale, "long_name", meaning);
  hdf5(H5DSset_scale(scale, name.c_str()), name);
}

void put_time_dimension(hid_t root, const std::string& name, std::chrono::sys_days start, int entries,
                        std::string_view meaning, int every_d) {
  std::vector<int> values(static_cast<std::size_t>(std::max(entries, 0)));
  for (std::size_t i = 0; i < values.size(); ++i) values[i] = static_cast<int>(i) * every_d;
  const Hdf5Handle scale = put_integers(root, name, values);
  put(scale, "standard_name", "time");
  put(scale, "long_name", meaning);
  put(scale, "units", result_file::days_since + format_date(start) + " 00:00:00");
  put(scale, "calendar", "standard");
  put(scale, "axis", "T");
  hdf5(H5DSset_scale(scale, name.c_str()), name);
}

void attach(hid_t root, hid_t dataset, const std::string& dimension, std::size_t axis) {
  const Hdf5Handle scale(H5Dopen2(root, dimension.c_str(), H5P_DEFAULT), H5Dclose, dimension);
  hdf5(H5DSattach_scale(dataset, scale, static_cast<unsigned>(axis)), dimension);
}

void put_scalar(hid_t root, const std::string& name, double value, std::string_view units,
                std::string_view standard_name, std::string_view meaning) {
  const Hdf5Handle dataset = create_values(root, name, {});
  hdf5(H5Dwrite(dataset, H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, &value), name);
  put(dataset, "standard_name", standard_name);
  put(dataset, "long_name", meaning);
  put(dataset, "units", units);
}

bool is_plain_name(const std::string& name) {
  const auto letter = [](char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); };
  return !name.empty() && letter(name[0]) && std::all_of(name.begin(), name.end(), [&](char c) {
    return letter(c) || (c >= '0' && c <= '9') || c == '_';
  });
}

void put_texts(hid_t root, const std::vector<KeptText>& texts) {
  const Hdf5Handle group(
      H5Gcreate2(root, "texts", H5P_DEFAULT, group_creation(H5P_GROUP_CREATE), H5P_DEFAULT), H5Gclose,
      "texts");
  for (const KeptText& text : texts) {
    std::string plain = is_plain_name(text.name) ? text.name : "text_" + text.name;
    for (char& c : plain) {
      if (!is_plain_name(std::string("x") + c)) c = '_';
    }
    std::string link = plain;
    for (int n = 2; hdf5(H5Lexists(group, link.c_str(), H5P_DEFAULT), link) > 0; ++n) {
      link = fmt::format("{}_{}", plain, n);
    }
    put(put_strings(group, link, {text.text}, {}), "name", text.name);
  }
}

void write_hdf5(const std::filesystem::path& path, const std::function<void(hid_t)>& fill) {
  const QuietHdf5 quiet;
  try {
    write_text(path, hdf5_image(fill));
  } catch (const Hdf5Error& error) {
    throw FileError(path, std::string("cannot be written: ") + error.what());
  }
}

}  // namespace stoverturn
