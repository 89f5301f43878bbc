#pragma once
#include "fitting/count_model.hpp"
#include "fitting/covariance.hpp"
#include "scenarios/stand/stand_data.hpp"
#include "scenarios/stand/stand_response.hpp"

/// From counts to rates, differences and what they are worth (docs/statistics.md, Stand counts).
namespace stoverturn {

/// What counts as one observation.
enum class StandUnit {
  automatic,  ///< plots where they leave two degrees of freedom, else rows
  plots,      ///< all rows of a treatment in a strip, added together
  rows,       ///< each row of the file
};

struct StandSettings {
  double level = 0.9, power = 0.8;
  StandUnit unit = StandUnit::automatic;
  std::string against;  ///< treatment that the others are compared with; "": all with all
  StandPrices prices;   ///< of the command line; NaN: as in the file
};

/// What was found in one strip, rows added together.
struct StandPlot {
  std::string treatment, strip;
  std::size_t count = 0;  ///< StandCount
  int rows = 0;
  double counted = 0.0, length_mm = 0.0;
  double rate = 0.0;  ///< per m2
};

/// Rates and differences are per m2. Intervals are NaN where none can be told.
struct StandRate {
  std::string treatment;
  std::size_t count = 0;  ///< StandCount
  double counted = 0.0, length_mm = 0.0, area_m2 = 0.0;
  int strips = 0, rows = 0;
  double rate = 0.0;
  Interval between;
};

struct StandDifference {
  std::string treatment, against;
  std::size_t count = 0;
  double difference = 0.0;
  Interval between;
  double ratio = 0.0;
  Interval ratio_between;
  int units_needed = 0;  ///< a treatment, to see this difference; 0: more than `most_units`, or none to see
  double length_needed_mm = 0.0;  ///< of row, a treatment; NaN with units_needed 0
  static constexpr int most_units = 5000;
};

/// How the counts of one kind were taken together.
struct StandModel {
  std::size_t count = 0;
  bool by_plots = false, strip_effect = false;
  int units = 0, freedom = 0;
  double dispersion = 0.0;                          ///< 1 where none can be told (freedom 0)
  double unit_length_mm = 0.0, unit_area_m2 = 0.0;  ///< means
  CountTest treatments;                             ///< do treatments differ at all?
};

enum class StandEffectBy { ears, stand, late };
/// What a difference is worth: yield in bu/acre (NaN without full yield), money per acre (NaN without price).
struct StandEffect {
  StandEffectBy by = StandEffectBy::ears;
  std::string treatment, against;
  double share = 0.0;  ///< of the full yield; NaN for ears
  double yield_bu_acre = 0.0;
  Interval yield_between;
  double value_acre = 0.0;
  Interval value_between;
};

struct StandReport {
  std::string name;
  double level = 0.9, power = 0.8;
  std::vector<std::string> treatments;
  std::vector<StandPlot> plots;
  std::vector<StandRate> rates;
  std::vector<StandDifference> differences;
  std::vector<StandModel> models;
  std::vector<StandEffect> effects;
  std::vector<double> yield_share,
      late_loss;  ///< by treatment: of the stand table, of late plants; NaN: none
  StandPrices prices;
  bool usual_ear = false;          ///< bushels per ear are the trade's rule, not the user's
  double width_mm = 0.0;           ///< between rows; NaN where they differ
  std::vector<std::string> notes;  ///< what limits the numbers, for people
};

/// Throws InputError where `against` is no treatment of the data.
StandReport stand_report(const StandData& data, const StandSettings& settings);

}  // namespace stoverturn
