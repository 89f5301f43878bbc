#include <algorithm>
#include <cstring>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "scenarios/files/hdf5_get.hpp"
#include "scenarios/files/result_file.hpp"
#include "scenarios/text/calendar.hpp"

namespace stoverturn {
namespace {

void read_time(hid_t root, const std::string& name, std::chrono::sys_days& start, int& entries,
               int& every_d) {
  const std::vector<int> values = integers_of(root, name);
  every_d = values.size() > 1 ? values[1] - values[0] : 1;
  for (std::size_t i = 0; i < values.size(); ++i) {
    if (every_d < 1 || values[i] - values[0] != static_cast<int>(i) * every_d) {
      throw BadContent(fmt::format("'{}' does not hold days at equal distances", name));
    }
  }
  const std::string units = attribute_of(open_dataset(root, name), "units");
  const std::string_view mark = result_file::days_since;
  if (units.compare(0, mark.size(), mark) != 0) {
    throw BadContent(fmt::format("'{}' has units '{}'; wanted 'days since yyyy-mm-dd'", name, units));
  }
  start = parse_date(std::string_view(units).substr(mark.size(), 10));
  if (!values.empty()) start += std::chrono::days(values[0]);
  entries = static_cast<int>(values.size());
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

void read_ensemble(hid_t root, Results& results) {
  const std::vector<std::string> names = labels_of(root, "site");
  const std::vector<double> latitudes = numbers_of(root, "site_latitude"),
                            longitudes = numbers_of(root, "site_longitude");
  if (latitudes.size() != names.size() || longitudes.size() != names.size()) {
    throw BadContent("the labels of the sites differ in number");
  }
  for (std::size_t i = 0; i < names.size(); ++i) {
    results.sites.push_back({names[i], latitudes[i], longitudes[i]});
  }
  results.quantiles = numbers_of(root, "quantile");
  if (has(root, "weather_year")) results.weather_years = labels_of(root, "weather_year");
  if (has(root, "draw")) results.draws = length_of(open_dataset(root, "draw"), "draw");
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
  variable.kind = kind_of(attribute_of(dataset, "kind"), name);
  variable.meaning = attribute_of(dataset, "long_name");
  variable.cf_name = attribute_of(dataset, "standard_name");
  variable.substance = attribute_of(dataset, "substance");
  if (attribute_of(dataset, "units") != canonical_unit(variable.kind)) {
    throw BadContent(fmt::format("'{}' is in '{}'; wanted '{}'", name, attribute_of(dataset, "units"),
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
    const std::string role = attribute_of(object, "role");
    if (role == result_file::series) {
      results.series.push_back(variable_of(object, name, false, results));
    } else if (role == result_file::key_number) {
      results.key_numbers.push_back(variable_of(object, name, false, results));
    } else if (role == result_file::weather) {
      results.weather.push_back(variable_of(object, name, true, results));
    }
  }
}

Results results_in(hid_t file) {
  want_format(file, result_file::format_attribute, result_file::format, "results");
  Results results;
  results.title = attribute_of(file, "title");
  results.program = attribute_of(file, "source");
  results.units = attribute_of(file, "units_shown");
  results.currency = attribute_of(file, "currency");
  results.treatments = labels_of(file, "treatment");
  results.components = labels_of(file, "component");
  results.placements = labels_of(file, "placement");
  results.elements = labels_of(file, "element");
  results.harvests = labels_of(file, "harvest");
  results.checkpoints = labels_of(file, "checkpoint");
  if (has(file, "stage")) results.stages = labels_of(file, "stage");
  if (has(file, "note")) results.notes = labels_of(file, "note");
  read_cohorts(file, results.cohorts);
  if (has(file, "site")) read_ensemble(file, results);
  if (has(file, "time")) {
    read_time(file, "time", results.start, results.days, results.every_d);
  } else if (const std::string start = attribute_of(file, result_file::start); !start.empty()) {
    results.start = parse_date(start);
  }
  if (has(file, "weather_time")) {
    int every_d = 1;
    read_time(file, "weather_time", results.weather_start, results.weather_days, every_d);
    if (every_d != 1) throw BadContent("'weather_time' does not hold one value a day");
    results.latitude_deg = number_of(file, "weather_latitude");
    results.elevation_m = number_of(file, "weather_elevation");
  }
  read_texts(file, results.texts);
  read_variables(file, results);
  return results;
}

}  // namespace

Results read_results(const std::filesystem::path& path) {
  Results results;
  read_hdf5(path, [&](hid_t file) { results = results_in(file); });
  return results;
}

}  // namespace stoverturn
