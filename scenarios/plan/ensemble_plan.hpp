#pragma once
#include <chrono>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "scenarios/text/mistakes.hpp"

namespace stoverturn {

/// A word of the file, and where it stands.
struct PlacedWord {
  std::string word;
  Position at;
};

/// [ensemble]: what a scenario is run over besides its treatments and draws, and what is kept of each run.
struct EnsemblePlan {
  bool given = false;  ///< the file has the section
  /// Weather years of the record that a run may begin in; or how many series of generated or drawn weather.
  /// Nothing: every year of a record, or 30 series.
  std::variant<std::monostate, std::vector<int>, int> weather_years;
  Position weather_years_at;
  std::string sites_file;  ///< table of sites; "" where there is one place, the scenario's
  Position sites_at;
  std::vector<PlacedWord> numbers;            ///< series taken at every date
  std::vector<std::chrono::month_day> dates;  ///< of every year, besides plantings and anniversaries
  std::vector<int> days_after;                ///< days after the first harvest
  std::vector<PlacedWord> series;             ///< series whose course is kept
  int every_d = 30;                           ///< days between the values of a course
  std::vector<double> quantiles = {0.05, 0.10, 0.25, 0.50, 0.75, 0.90, 0.95};
  std::optional<bool> keep_runs;  ///< nothing: where they are few
};

}  // namespace stoverturn
