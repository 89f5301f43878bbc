#pragma once
#include "scenarios/stand/stand_report.hpp"

namespace stoverturn {

/// One observation of one kind of count: rows added together, or a single row.
struct StandUnitCount {
  int treatment = 0, strip = 0, rows = 0;
  double count = 0.0, area_m2 = 0.0, length_mm = 0.0;
};

/// The counts of one kind, laid out for a model. Treatments and strips in which nothing at all was found are
/// left out: their logarithm has no value.
struct StandLayout {
  std::vector<StandUnitCount> units;
  std::vector<int> treatments;  ///< those that take part, as indices into the data's
  int strips = 0;
  bool by_plots = false, strip_effect = false;
  Eigen::VectorXd counts, areas;
  Eigen::MatrixXd
      design;  ///< a column a treatment, then one a strip but the first where strips have an effect
};

/// Names of strips in the order in which they come; StandUnitCount::strip is an index into them.
std::vector<std::string> strip_names(const StandData& data);

/// Units of every treatment, found or not: plots or rows.
std::vector<StandUnitCount> stand_units(const StandData& data, std::size_t count, bool by_plots);

/// Strips take part where they join all treatments (each treatment can be reached from each through strips
/// that two share); where not, a strip's effect cannot be told from its treatment's.
StandLayout stand_layout(const StandData& data, std::size_t count, StandUnit unit);

}  // namespace stoverturn
