#pragma once
#include <filesystem>
#include <string_view>

#include "scenarios/results/results.hpp"

namespace stoverturn {

/// Results as one HDF5 file that netCDF-4 tools read (ncdump, xarray, R's ncdf4), with CF attributes.
///
/// Root group: dimension scales treatment, component, placement, element, harvest, checkpoint, stage and note
/// with their labels, cohort (no labels; coordinates cohort_component, cohort_pieces, cohort_placement,
/// cohort_harvest), time and weather_time [days since the first day]; every series and key number under
/// its name, weather under "weather_" + its name, with units, long_name, standard_name, kind, substance and
/// role; weather_latitude, weather_elevation. Group `texts`: one string each. All of it:
/// docs/file-formats.md.
///
/// Without weather (weather_days 0) nothing of it is written, its start and place included.
///
/// Equal results give equal files, byte for byte, with one version of HDF5: no clock, no user, no machine.
/// `history` becomes the CF attribute of that name when not empty.
///
/// The file is written atomically and replaces another of its name. Throws FileError; std::invalid_argument
/// for results that contradict themselves (wrong number of values, two variables of one name, a name that is
/// not letters, digits and '_', a NUL in a text). The file is made in memory first. Not for two threads at
/// once.
void write_results(const std::filesystem::path& path, const Results& results, std::string_view history = {});

/// The results in a file written by write_results(), exactly. Throws FileError for a file that is absent, not
/// HDF5, cut off, by another program or by a newer version of this one. Bytes changed inside a whole file are
/// not always noticed: HDF5 has no checksum for strings, and version 1.10 can crash on such a file.
Results read_results(const std::filesystem::path& path);

/// "1.10.8"
std::string hdf5_version();

/// Names shared by writer and reader.
namespace result_file {
inline constexpr int format = 1;  ///< raised when an older program could misread a file
inline constexpr const char* format_attribute = "stoverturn_results_format";
inline constexpr const char* days_since = "days since ";
inline constexpr const char* start = "start";  ///< attribute where there is no time to tell it
inline constexpr const char* weather_prefix = "weather_";
inline constexpr const char* series = "series";
inline constexpr const char* key_number = "key number";
inline constexpr const char* weather = "weather";
}  // namespace result_file

}  // namespace stoverturn
