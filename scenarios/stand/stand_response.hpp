#pragma once
#include <optional>

/// What published field work says of stands and late plants. Retyped from the sources named; not fitted here.
namespace stoverturn {

/// 1/1000 acre in m2; 17 ft 5 in of 30-inch row.
inline constexpr double acre_m2 = 4046.8564224, hectare_m2 = 10000.0;
inline constexpr double thousandth_acre_m2 = acre_m2 / 1000.0;

/// Length of row, mm, that is a thousandth of an acre.
inline constexpr double thousandth_acre_row_mm(double width_mm) {
  return thousandth_acre_m2 * 1e6 / width_mm;
}

/// Share of the full yield by plants per acre (Iowa State University Extension, 2010): 30,000 and more 100 %,
/// 25,000 95 %, 20,000 89 %; straight lines between. A table of the same source of 2009 has 81 % at 20,000.
/// Nothing below 20,000: the source has no figure there.
std::optional<double> yield_share_of_stand(double plants_acre);

/// Share of the yield of its neighbours that a plant costs by being late, by leaf stages behind. Every other
/// plant one leaf stage behind left 94 % of the yield, two 83 % (a Minnesota trial, as told by
/// agriculture.com): 12 and 34 % a late plant, on a straight line between 0, 1 and 2. Beyond two leaf stages
/// that of two: more is not published, so the loss is then at least this. That the loss grows in line with
/// the share of late plants is an assumption.
double loss_of_late_plant(double leaves);
inline constexpr double last_published_leaves = 2.0;

/// Bushels that an ear is worth where nothing is said: 7 bu/acre for one ear in a thousandth of an acre
/// (common practice, no source). It takes no account of neighbours that make up for a lost one.
inline constexpr double usual_bu_per_ear = 0.007;

}  // namespace stoverturn
