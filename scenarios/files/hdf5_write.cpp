#include <limits>
#include <stdexcept>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "scenarios/files/hdf5_put.hpp"
#include "scenarios/files/result_file.hpp"
#include "scenarios/text/calendar.hpp"

namespace stoverturn {
namespace {

void put_cohorts(hid_t root, const std::vector<CohortLabel>& cohorts) {
  std::vector<std::string> components, pieces, placements, harvests;
  for (const CohortLabel& label : cohorts) {
    components.push_back(label.component);
    pieces.push_back(label.pieces);
    placements.push_back(label.placement);
    harvests.push_back(label.harvest);
  }
  put_bare_dimension(root, "cohort", cohorts.size());
  const auto put_labels = [&](const char* name, const std::vector<std::string>& labels,
                              std::string_view meaning) {
    const Hdf5Handle dataset = put_strings(root, name, labels, {labels.size()});
    put(dataset, "long_name", meaning);
    attach(root, dataset, "cohort", 0);
  };
  put_labels("cohort_component", components, "component of the cohort");
  put_labels("cohort_pieces", pieces, "piece class of the cohort");
  put_labels("cohort_placement", placements, "placement of the cohort");
  put_labels("cohort_harvest", harvests,
             "harvest that left the cohort; several in turn, or older ones together");
}

/// Labels of an ensemble.
void put_ensemble(hid_t root, const Results& results) {
  std::vector<std::string> names;
  for (const SiteLabel& site : results.sites) names.push_back(site.name);
  put_label_dimension(root, "site", names, "name of the site");
  const auto put_degrees = [&](const char* name, const char* units, double SiteLabel::*member) {
    std::vector<double> values;
    for (const SiteLabel& site : results.sites) values.push_back(site.*member);
    const Hdf5Handle dataset = put_values(root, fmt::format("site_{}", name), {names.size()}, values);
    put(dataset, "standard_name", name);
    put(dataset, "long_name", fmt::format("{} of the site", name));
    put(dataset, "units", units);
    attach(root, dataset, "site", 0);
  };
  put_degrees("latitude", "degrees_north", &SiteLabel::latitude_deg);
  put_degrees("longitude", "degrees_east", &SiteLabel::longitude_deg);
  put_number_dimension(root, "quantile", results.quantiles, "share of the runs that lie below");
  if (!results.weather_years.empty()) {
    put_label_dimension(root, "weather_year", results.weather_years, "weather that the run met");
  }
  if (results.draws > 0) put_bare_dimension(root, "draw", results.draws);
}

void put_weather_place(hid_t root, const Results& results) {
  put_time_dimension(root, "weather_time", results.weather_start, results.weather_days,
                     "day of the weather record");
  put_scalar(root, "weather_latitude", results.latitude_deg, "degrees_north", "latitude",
             "latitude of the weather record");
  put_scalar(root, "weather_elevation", results.elevation_m, "m", "surface_altitude",
             "elevation of the weather record above sea level");
}

bool is_money(Kind kind) {
  return kind >= Kind::money;  // the last ones of the enumeration
}

void put_variable(hid_t root, const Results& results, const Variable& variable, const char* role) {
  const bool of_weather = role == std::string_view(result_file::weather);
  const std::string name = (of_weather ? result_file::weather_prefix : "") + variable.name;
  if (!is_plain_name(variable.name)) {
    throw std::invalid_argument(fmt::format("result '{}': wanted letters, digits and '_' in its name", name));
  }
  if (hdf5(H5Lexists(root, name.c_str(), H5P_DEFAULT), name) > 0) {
    throw std::invalid_argument(fmt::format("two results are named '{}'", name));
  }
  Extents extents;
  hsize_t size = 1;
  for (const Dimension d : variable.dimensions) {
    const bool weather_time = of_weather && d == Dimension::time;
    extents.push_back(weather_time ? static_cast<hsize_t>(results.weather_days) : results.extent(d));
    size *= extents.back();
  }
  if (size != variable.values.size()) {
    throw std::invalid_argument(
        fmt::format("result '{}' has {} values; its dimensions make {}", name, variable.values.size(), size));
  }

  if (of_weather && results.weather_days == 0) {
    throw std::invalid_argument(
        fmt::format("weather '{}' in results without days of weather", variable.name));
  }
  const Hdf5Handle dataset = put_values(root, name, extents, variable.values);
  std::string coordinates = of_weather ? "weather_latitude weather_elevation" : "";
  for (std::size_t axis = 0; axis < extents.size(); ++axis) {
    const Dimension d = variable.dimensions[axis];
    const bool weather_time = of_weather && d == Dimension::time;
    attach(root, dataset, (weather_time ? result_file::weather_prefix : "") + std::string(to_string(d)),
           axis);
    if (d == Dimension::site) coordinates = "site_latitude site_longitude";
    if (d == Dimension::cohort) {
      coordinates = "cohort_component cohort_pieces cohort_placement cohort_harvest";
    }
  }
  put(dataset, "standard_name", variable.cf_name);
  put(dataset, "long_name", variable.meaning);
  put(dataset, "units", canonical_unit(variable.kind));
  put(dataset, "kind", to_string(variable.kind));
  put(dataset, "substance", variable.substance);
  put(dataset, "role", role);
  if (is_money(variable.kind)) put(dataset, "currency", results.currency);
  put(dataset, "coordinates", coordinates);
  put(dataset, "_FillValue", std::numeric_limits<double>::quiet_NaN());
}

void fill(hid_t file, const Results& results, std::string_view history) {
  put(file, "Conventions", "CF-1.10");
  put(file, "title", results.title);
  put(file, "source", results.program);
  put(file, "history", history);
  put(file, result_file::format_attribute, result_file::format);
  put(file, "units_shown", results.units);
  put(file, "currency", results.currency);

  put_label_dimension(file, "treatment", results.treatments, "name of the treatment");
  put_label_dimension(file, "component", results.components, "part of the plant");
  put_label_dimension(file, "placement", results.placements, "where the residue lies");
  put_label_dimension(file, "element", results.elements, "chemical element");
  put_label_dimension(file, "harvest", results.harvests, "harvest of the treatment, by number");
  put_label_dimension(file, "checkpoint", results.checkpoints, "date at which a key number is taken");
  if (!results.stages.empty()) {
    put_label_dimension(file, "stage", results.stages, "stage of the following crop, and its season");
  }
  if (!results.notes.empty()) {
    put_label_dimension(file, "note", results.notes, "what the reader of the numbers must know");
  }
  put_cohorts(file, results.cohorts);
  if (!results.sites.empty()) put_ensemble(file, results);
  if (results.days > 0 || results.sites.empty()) {
    put_time_dimension(file, "time", results.start, results.days, "start of the day, just after its events",
                       results.every_d);
  } else if (results.start != std::chrono::sys_days{}) {
    put(file, result_file::start, format_date(results.start));
  }
  if (results.weather_days > 0) put_weather_place(file, results);
  put_texts(file, results.texts);

  for (const Variable& v : results.key_numbers) put_variable(file, results, v, result_file::key_number);
  for (const Variable& v : results.series) put_variable(file, results, v, result_file::series);
  for (const Variable& v : results.weather) put_variable(file, results, v, result_file::weather);
}

}  // namespace

std::string hdf5_version() {
  return std::to_string(H5_VERS_MAJOR) + "." + std::to_string(H5_VERS_MINOR) + "." +
         std::to_string(H5_VERS_RELEASE);
}

void write_results(const std::filesystem::path& path, const Results& results, std::string_view history) {
  write_hdf5(path, [&](hid_t file) { fill(file, results, history); });
}

}  // namespace stoverturn
