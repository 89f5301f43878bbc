#pragma once
#include <chrono>
#include <string>
#include <vector>

#include "scenarios/units/quantity.hpp"

namespace stoverturn {

/// What `Variable::values` runs over, outermost first.
enum class Dimension {
  treatment,
  cohort,
  component,
  placement,
  element,
  harvest,
  checkpoint,
  stage,
  // of ensembles
  site,
  quantile,
  weather_year,
  draw,
  time
};
std::string_view to_string(Dimension d);

/// A named series or key number: THE result model. HDF5, CSV, JSON, the printed table and reports loop
/// over lists of these and know nothing else about any of them.
struct Variable {
  std::string name;                   ///< snake_case, ours
  Kind kind = Kind::fraction;         ///< values are in its canonical unit
  std::vector<Dimension> dimensions;  ///< the order of the array, last fastest
  std::string meaning;                ///< one line for people (long_name)
  std::string cf_name;                ///< CF standard name where one exists, else ""
  std::string substance;              ///< of a mass: "N", "P", "K", "S", "C", "dry matter"; else ""
  std::vector<double> values;         ///< NaN where not defined
};

/// Labels of one cohort along the cohort dimension.
struct CohortLabel {
  std::string component;
  std::string pieces;     ///< name of the piece class
  std::string placement;  ///< "standing", "surface" or "buried"
  std::string harvest;    ///< number of its harvest, from 1; "1, 4, 7" in turn, never two at once; or "older"
};

/// A text kept with the results so that they can be run again.
struct KeptText {
  std::string name;  ///< "scenario", "parameters", ...
  std::string text;
};

/// A place of an ensemble; NaN where it is not said.
struct SiteLabel {
  std::string name;
  double latitude_deg, longitude_deg;
};

/// Everything a run or an ensemble leaves behind. The extent of a dimension is the size of its label list;
/// `time` holds one entry every `every_d` days from `start`, each the state at the start of that day just
/// after its events.
struct Results {
  std::string title;
  std::string program;       ///< "stoverturn 0.1.0"
  std::string units = "si";  ///< how people are shown numbers: "us" or "si"
  std::string currency = "$";
  std::vector<std::string> treatments;
  std::vector<CohortLabel> cohorts;
  std::vector<std::string> components;
  std::vector<std::string> placements;
  std::vector<std::string> elements;     ///< "C", "N", "P", "K", "S"
  std::vector<std::string> harvests;     ///< "1", "2", ... in the order of each treatment
  std::vector<std::string> checkpoints;  ///< "planting 1", "year 1", "planting 2", ...
  std::vector<std::string> stages;       ///< of the following crop: "emergence 1", "V6 1", ...; may be empty
  std::vector<SiteLabel> sites;          ///< this and the next three: of an ensemble
  std::vector<double> quantiles;         ///< shares of the runs
  std::vector<std::string> weather_years;  ///< "1998"; only where single runs are kept
  std::size_t draws = 0;                   ///< likewise
  std::chrono::sys_days start{};
  int days = 0;                       ///< extent of `time`
  int every_d = 1;                    ///< days between its entries
  std::vector<Variable> series;       ///< variables with a time dimension
  std::vector<Variable> key_numbers;  ///< variables without
  std::vector<Variable> weather;      ///< daily weather used, dimensions {time}, from `weather_start`
  std::chrono::sys_days weather_start{};
  int weather_days = 0;  ///< extent of `time` in `weather`; 0: no weather file was used
  double latitude_deg = 0.0, elevation_m = 0.0;  ///< of the weather
  std::vector<std::string> notes;  ///< what the reader of the numbers must know, one sentence each
  std::vector<KeptText> texts;

  std::size_t extent(Dimension d) const;
  /// A series or key number; throws std::out_of_range naming the variable.
  const Variable& find(std::string_view name) const;
};

}  // namespace stoverturn
