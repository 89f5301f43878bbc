#pragma once
#include <filesystem>
#include <functional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

#include "scenarios/files/hdf5_handle.hpp"
#include "scenarios/results/results.hpp"

/// What all HDF5 files of this program are read with. Names are of datasets and attributes; what does not
/// hold what was wanted is a BadContent.
namespace stoverturn {

using Extents = std::vector<hsize_t>;

/// A file that opens but does not hold what this program puts in.
struct BadContent : std::runtime_error {
  using std::runtime_error::runtime_error;
};

inline constexpr std::string_view not_hdf5 = "is not an HDF5 file";

/// Calls `read` with the root of the file. Throws FileError for a file that is absent, not HDF5, cut off, or
/// of which `read` throws BadContent.
void read_hdf5(const std::filesystem::path& path, const std::function<void(hid_t root)>& read);

/// The root attribute that tells files of one kind and their version; `what` is a plural, "results".
void want_format(hid_t root, const char* attribute, int wanted, std::string_view what);

bool has(hid_t group, const char* name);
Hdf5Handle open_dataset(hid_t group, const std::string& name);
Extents extents_of(hid_t dataset, const std::string& name);
/// Size of a dataset of one dimension.
std::size_t length_of(hid_t dataset, const std::string& name);
/// Text of a string attribute, fixed or variable in length; "" when there is none.
std::string attribute_of(hid_t object, const char* name);
/// Number attributes.
int integer_of(hid_t object, const char* name);
double double_of(hid_t object, const char* name);

std::vector<std::string> strings_of(hid_t dataset, const std::string& name, std::size_t size);
std::vector<std::string> labels_of(hid_t root, const std::string& name);
std::vector<int> integers_of(hid_t root, const std::string& name);
std::vector<double> numbers_of(hid_t root, const std::string& name);
double number_of(hid_t root, const std::string& name);

/// Names of the links of a group, in the order they were made.
std::vector<std::string> links_of(hid_t group);
/// Of one axis of a dataset; "" when it has no scale.
std::string dimension_name(hid_t dataset, std::size_t axis, const std::string& name);

void read_texts(hid_t root, std::vector<KeptText>& texts);

}  // namespace stoverturn
