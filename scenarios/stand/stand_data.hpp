#pragma once
#include <array>
#include <limits>
#include <string>
#include <string_view>
#include <vector>

#include "scenarios/text/mistakes.hpp"

/// Counts of plants and ears in trial strips: one row a length of crop row that was counted.
///
///     # price: 4.30 $/bu
///     treatment,strip,row,length [ft],row width [in],plants,late plants,late by [leaves],skips,ears
///     opened,1,3,17.42,30,32,2,1,1,31
///
/// docs/file-formats.md lists columns and the values that may stand above the header.
namespace stoverturn {

enum StandCount : std::size_t { stand_plants, stand_ears, stand_late, stand_skips };
struct StandCountName {
  std::string_view name, meaning;
};
inline constexpr std::array<StandCountName, 4> stand_counts = {{
    {"plants", "plants that stand"},
    {"ears", "ears that will be harvested"},
    {"late plants", "of the plants, those behind their neighbours"},
    {"skips", "gaps where a plant is missing"},
}};

inline constexpr double not_counted = std::numeric_limits<double>::quiet_NaN();

struct StandRow {
  int line = 0;
  std::string treatment, strip, row;  ///< "" where the file has no such column
  double length_mm = 0.0, width_mm = 0.0;
  std::array<double, stand_counts.size()> counts;  ///< NaN: not counted
  double late_leaves = not_counted;  ///< leaf stages that the late plants are behind, their mean
  double area_m2() const { return length_mm * width_mm * 1e-6; }
};

/// Money and yields, NaN where not said. The command line goes before the lines above the header.
struct StandPrices {
  double price_per_bu = not_counted;  ///< in `currency`
  double bu_per_ear = not_counted;
  double full_yield_bu_acre = not_counted;  ///< with a stand that leaves nothing to wish
  std::string currency = "$";
};

struct StandData {
  std::string name;
  std::vector<StandRow> rows;           ///< in the order of the file
  std::vector<std::string> treatments;  ///< in the order in which they come
  StandPrices prices;
  bool has(std::size_t count) const;
};

/// Throws InputError with all mistakes: unknown columns and header lines (did you mean), missing or unfitting
/// units, counts that are no whole numbers, late plants above plants, the same row twice, nothing counted.
StandData read_stand_data(std::string_view text, const std::string& name);

/// Whether a CSV text has the columns of a sheet of stand counts: the length of row counted, or the width
/// between rows.
bool is_stand_data(std::string_view text);

/// A sheet to be filled in: a row for every treatment, strip and row, counts left empty.
struct NewStand {
  std::vector<std::string> treatments = {"left long", "opened"};
  int strips = 4, rows = 2;
  double length_ft = 17.42, width_in = 30.0;
};
std::string new_stand_text(const NewStand& plan);

/// "4.30 $/bu", "$4.30/bu", "170 EUR/t". Throws QuantityError; `currency` is as written.
double price_per_bushel(std::string_view text, std::string* currency = nullptr);

/// One header line or option by its name ("price", "bushels per ear", "full yield"). Throws QuantityError;
/// false for a name that is none.
bool read_stand_price(std::string_view name, std::string_view text, StandPrices& prices);

/// Changes what the other has.
void override_prices(StandPrices& prices, const StandPrices& with);

}  // namespace stoverturn
