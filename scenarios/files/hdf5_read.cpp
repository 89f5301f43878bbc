#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <new>
#include <stdexcept>
#include <string>
#include <system_error>
#include <vector>

#include <fmt/format.h>
#include <hdf5_hl.h>

#include "scenarios/files/atomic_file.hpp"
#include "scenarios/files/hdf5_handle.hpp"
#include "scenarios/files/result_file.hpp"
#include "scenarios/text/calendar.hpp"

namespace stoverturn {
namespace {

using Extents = std::vector<hsize_t>;

/// A file that opens but does not hold what write_results() puts in.
struct BadContent : std::runtime_error {
  using std::runtime_error::runtime_error;
};

/// More labels or days than any result has: a damaged file.
constexpr hsize_t extent_limit = 10'000'000;

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

void want_class(hid_t type, H5T_class_t wanted, const std::string& name) {
  if (H5Tget_class(type) != wanted) throw BadContent(fmt::format("'{}' is of the wrong type", name));
}

/// Text of a string attribute, fixed or variable in length; "" when there is none.
std::string text_of(hid_t object, const char* name) {
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

int format_of(hid_t file) {
  const char* name = result_file::format_attribute;
  if (hdf5(H5Aexists(file, name), name) == 0) {
    throw BadContent("is an HDF5 file, but not one of results of stoverturn");
  }
  const Hdf5Handle attribute(H5Aopen(file, name, H5P_DEFAULT), H5Aclose, name);
  const Hdf5Handle type(H5Aget_type(attribute), H5Tclose, name);
  const Hdf5Handle space(H5Aget_space(attribute), H5Sclose, name);
  want_class(type, H5T_INTEGER, name);
  if (H5Sget_simple_extent_npoints(space) != 1) throw BadContent("has no readable format number");
  int format = 0;
  hdf5(H5Aread(attribute, H5T_NATIVE_INT, &format), name);
  return format;
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

double number_of(hid_t root, const std::string& name) {
  const Hdf5Handle dataset = open_dataset(root, name);
  if (!extents_of(dataset, name).empty()) throw BadContent(fmt::format("'{}' is not one number", name));
  double value = 0.0;
  hdf5(H5Dread(dataset, H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, &value), name);
  return value;
}

void read_time(hid_t root, const std::string& name, std::chrono::sys_days& start, int& days) {
  const std::vector<int> values = integers_of(root, name);
  for (std::size_t i = 0; i < values.size(); ++i) {
    if (values[i] - values[0] != static_cast<int>(i)) {
      throw BadContent(fmt::format("'{}' does not hold one value a day", name));
    }
  }
  const std::string units = text_of(open_dataset(root, name), "units");
  const std::string_view mark = result_file::days_since;
  if (units.compare(0, mark.size(), mark) != 0) {
    throw BadContent(fmt::format("'{}' has units '{}'; wanted 'days since yyyy-mm-dd'", name, units));
  }
  start = parse_date(std::string_view(units).substr(mark.size(), 10));
  if (!values.empty()) start += std::chrono::days(values[0]);
  days = static_cast<int>(values.size());
}

void read_cohorts(hid_t root, std::vector<CohortLabel>& cohorts) {
  const std::vector<std::string> components = labels_of(root, "cohort_component");
  const std::vector<std::string> pieces = labels_of(root, "cohort_pieces");
  const std::vector<std::string> placements = labels_of(root, "cohort_placement");
  const std::vector<std::string> harvests = labels_of(root, "cohort_harvest");
  if (pieces.size() != components.size() || placements.size() != components.size() ||
      harvests.size() != components.size()) {
    throw BadContent("the labels of the cohorts differ in number");
  }
  for (std::size_t i = 0; i < harvests.size(); ++i) {
    cohorts.push_back({components[i], pieces[i], placements[i], harvests[i]});
  }
}

/// Names of the links of a group, in the order they were made.
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

Dimension dimension_of(const std::string& found, bool of_weather, const std::string& variable) {
  if (of_weather && found == "weather_time") return Dimension::time;
  for (int i = 0; i <= static_cast<int>(Dimension::time) && !of_weather; ++i) {
    if (found == to_string(static_cast<Dimension>(i))) return static_cast<Dimension>(i);
  }
  throw BadContent(fmt::format("'{}' runs over an unknown dimension '{}'", variable, found));
}

Kind kind_of(const std::string& found, const std::string& variable) {
  for (int i = 0; i <= static_cast<int>(Kind::money_per_area); ++i) {
    if (found == to_string(static_cast<Kind>(i))) return static_cast<Kind>(i);
  }
  throw BadContent(fmt::format("'{}' is of an unknown kind '{}'", variable, found));
}

Variable variable_of(hid_t dataset, const std::string& name, bool of_weather, const Results& results) {
  Variable variable;
  const std::size_t prefix = of_weather ? std::strlen(result_file::weather_prefix) : 0;
  variable.name = name.substr(std::min(prefix, name.size()));
  variable.kind = kind_of(text_of(dataset, "kind"), name);
  variable.meaning = text_of(dataset, "long_name");
  variable.cf_name = text_of(dataset, "standard_name");
  variable.substance = text_of(dataset, "substance");
  if (text_of(dataset, "units") != canonical_unit(variable.kind)) {
    throw BadContent(fmt::format("'{}' is in '{}'; wanted '{}'", name, text_of(dataset, "units"),
                                 canonical_unit(variable.kind)));
  }
  const Extents extents = extents_of(dataset, name);
  std::size_t size = 1;
  for (std::size_t axis = 0; axis < extents.size(); ++axis) {
    const Dimension d = dimension_of(dimension_name(dataset, axis, name), of_weather, name);
    const std::size_t wanted =
        of_weather ? static_cast<std::size_t>(results.weather_days) : results.extent(d);
    if (extents[axis] != wanted) {
      throw BadContent(
          fmt::format("'{}' has {} values along {}; wanted {}", name, extents[axis], to_string(d), wanted));
    }
    variable.dimensions.push_back(d);
    size *= wanted;
  }
  variable.values.resize(size);
  if (size > 0) {
    hdf5(H5Dread(dataset, H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, variable.values.data()), name);
  }
  return variable;
}

void read_variables(hid_t root, Results& results) {
  for (const std::string& name : links_of(root)) {
    const Hdf5Handle object(H5Oopen(root, name.c_str(), H5P_DEFAULT), H5Oclose, name);
    if (H5Iget_type(object) != H5I_DATASET) continue;
    const std::string role = text_of(object, "role");
    if (role == result_file::series) {
      results.series.push_back(variable_of(object, name, false, results));
    } else if (role == result_file::key_number) {
      results.key_numbers.push_back(variable_of(object, name, false, results));
    } else if (role == result_file::weather) {
      results.weather.push_back(variable_of(object, name, true, results));
    }
  }
}

void read_texts(hid_t root, std::vector<KeptText>& texts) {
  if (!has(root, "texts")) throw BadContent("'texts' is missing");
  const Hdf5Handle group(H5Gopen2(root, "texts", H5P_DEFAULT), H5Gclose, "texts");
  for (const std::string& name : links_of(group)) {
    const Hdf5Handle dataset = open_dataset(group, name);
    if (!extents_of(dataset, name).empty()) throw BadContent(fmt::format("'texts/{}' is not one text", name));
    texts.push_back({text_of(dataset, "name"), strings_of(dataset, name, 1)[0]});
  }
}

Results results_in(const std::string& path) {
  const Hdf5Handle file(H5Fopen(path.c_str(), H5F_ACC_RDONLY, hdf5_file_access()), H5Fclose,
                        "is damaged or was cut off");
  const int format = format_of(file);
  if (format != result_file::format) {
    throw BadContent(fmt::format("is in format {} of result files, this program reads format {}{}", format,
                                 result_file::format,
                                 format > result_file::format ? ": use a newer version of it" : ""));
  }
  Results results;
  results.title = text_of(file, "title");
  results.program = text_of(file, "source");
  results.units = text_of(file, "units_shown");
  results.currency = text_of(file, "currency");
  results.treatments = labels_of(file, "treatment");
  results.components = labels_of(file, "component");
  results.placements = labels_of(file, "placement");
  results.elements = labels_of(file, "element");
  results.harvests = labels_of(file, "harvest");
  results.checkpoints = labels_of(file, "checkpoint");
  if (has(file, "stage")) results.stages = labels_of(file, "stage");
  if (has(file, "note")) results.notes = labels_of(file, "note");
  read_cohorts(file, results.cohorts);
  read_time(file, "time", results.start, results.days);
  if (has(file, "weather_time")) {
    read_time(file, "weather_time", results.weather_start, results.weather_days);
    results.latitude_deg = number_of(file, "weather_latitude");
    results.elevation_m = number_of(file, "weather_elevation");
  }
  read_texts(file, results.texts);
  read_variables(file, results);
  return results;
}

}  // namespace

Results read_results(const std::filesystem::path& path) {
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
    if (H5Fis_hdf5(path.string().c_str()) <= 0) throw BadContent("is not an HDF5 file");
    return results_in(path.string());
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
