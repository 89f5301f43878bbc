#pragma once
#include <chrono>
#include <filesystem>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "scenarios/files/hdf5_handle.hpp"
#include "scenarios/results/results.hpp"

/// What all HDF5 files of this program are written with: netCDF-4 dimension scales, CF attributes, equal
/// bytes for equal contents.
namespace stoverturn {

using Extents = std::vector<hsize_t>;

/// Attributes; an empty text writes none. ASCII where the text is.
void put(hid_t object, const char* name, std::string_view text);
void put(hid_t object, const char* name, int value);
void put(hid_t object, const char* name, double value);

/// Datasets. That of create_values() is still to be written: 64-bit floats, compressed where it is large.
Hdf5Handle create_values(hid_t group, const std::string& name, const Extents& extents);
Hdf5Handle put_values(hid_t group, const std::string& name, const Extents& extents,
                      const std::vector<double>& values);
Hdf5Handle put_strings(hid_t group, const std::string& name, const std::vector<std::string>& texts,
                       const Extents& extents);
Hdf5Handle put_integers(hid_t group, const std::string& name, const std::vector<int>& values);
void put_scalar(hid_t root, const std::string& name, double value, std::string_view units,
                std::string_view standard_name, std::string_view meaning);

/// Dimension scales: with labels, without (in the form netCDF gives them), and of days.
void put_label_dimension(hid_t root, const std::string& name, const std::vector<std::string>& labels,
                         std::string_view meaning);
void put_bare_dimension(hid_t root, const std::string& name, std::size_t extent);
void put_number_dimension(hid_t root, const std::string& name, const std::vector<double>& values,
                          std::string_view meaning);
/// `entries`, one every `every_d` days.
void put_time_dimension(hid_t root, const std::string& name, std::chrono::sys_days start, int entries,
                        std::string_view meaning, int every_d = 1);
void attach(hid_t root, hid_t dataset, const std::string& dimension, std::size_t axis);

/// Letters, digits and '_', a letter first.
bool is_plain_name(const std::string& name);

/// Group `texts`: one string each, its own name as an attribute.
void put_texts(hid_t root, const std::vector<KeptText>& texts);

/// A file filled in memory (HDF5 1.10 crashes at exit after a disk was full, and its messages are its own)
/// and written atomically. Throws FileError.
void write_hdf5(const std::filesystem::path& path, const std::function<void(hid_t root)>& fill);

}  // namespace stoverturn
