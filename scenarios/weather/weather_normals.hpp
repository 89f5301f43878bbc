#pragma once
#include <array>

#include "engine/weather.hpp"

/// Twelve monthly normals, the days between them, and the normals of a daily record.
///                                                                                docs/model.md, Eq. 40
namespace stoverturn {

using Months = std::array<double, 12>;  ///< January to December
inline constexpr Months months_not_known = {not_measured, not_measured, not_measured, not_measured,
                                            not_measured, not_measured, not_measured, not_measured,
                                            not_measured, not_measured, not_measured, not_measured};

struct MonthlyNormals {
  Months tmax_C{}, tmin_C{};  ///< means of the days' highest and lowest
  Months rain_mm{};           ///< sum of the month
  Months wet_days{};          ///< days of at least `wet_day_mm`
  double wet_day_mm = 1.0;    ///< as the World Meteorological Organization counts them
  /// NaN where not known:
  Months temperature_sd_C = months_not_known;  ///< of daily (tmin + tmax)/2 within the month
  Months radiation_MJ_m2 = months_not_known;
  Months wind_m_s = months_not_known;
  Months humidity_percent = months_not_known;
};

/// One value for each day of a year of 365 days.
using DaysOfYear = std::array<double, 365>;

/// Days in a month: 28.2425 in February, the mean of the calendar.
extern const Months month_days;

/// Month (0 to 11) of a day of the year (0 to 364).
int month_of(int day_of_year);

/// What a month and its days may be.
enum class Bounds { none, positive, fraction };

/// Smooth days whose mean over each month is the month's value: every day becomes the mean of itself and its
/// neighbours, then the month's mean is restored, again and again [form of Rymes and Myers 2001, from
/// memory]. The mean is restored by a shift; by a factor where values are positive; by a factor on the rarer
/// of a share and its rest where they are fractions. `weights` weigh the mean (nullptr: all alike).
DaysOfYear smooth_days(const Months& months, Bounds bounds, const DaysOfYear* weights = nullptr);

/// Day-to-day standard deviation of temperature where only means are known:
///   sd = max(1, min(1, |latitude|/40) (0.8 + 0.20 A - 0.12 (T - T_coldest))),  A = T_warmest - T_coldest
/// Own fit by eye to daily records of Ames, Milwaukee, New York and Seattle, 41 to 48 N: within 1 K in every
/// month. Below 40 degrees and in monsoon winters, which are calmer, it is an assumption.
Months estimated_temperature_sd_C(const MonthlyNormals& normals, double latitude_deg);

/// The normals of a record: all its days by month, without `temperature_sd_C` where a month has no two days.
/// What was not measured is NaN. The standard deviation is about the mean of the calendar day, smoothed.
MonthlyNormals normals_of(const Weather& weather, double wet_day_mm = 1.0);

}  // namespace stoverturn
