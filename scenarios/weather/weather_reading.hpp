#pragma once
#include <chrono>
#include <string>
#include <string_view>
#include <vector>

#include "engine/weather.hpp"
#include "scenarios/weather/filled_gap.hpp"
#include "scenarios/weather/weather_options.hpp"

namespace stoverturn {

/// A day that is kept as it is but looks wrong.
struct SuspiciousDay {
  enum class Why { wide_range, no_range, much_rain, no_radiation, out_of_season, repetition };
  std::chrono::sys_days day;
  int line = 0;
  Why why{};
  double value = not_measured;     ///< range, temperature or rain, in the unit of WeatherDay
  double distance = not_measured;  ///< out of season: from the fortnight's mean, C
  std::size_t field = 0;           ///< out of season: which
  int days = 0;                    ///< repetition: how many
};

/// "daily range 35.5 C", "daily range 63.9 F".
std::string to_string(const SuspiciousDay& day, bool us = false);

struct WeatherRecord {
  Weather weather;  ///< latitude is NaN when neither the file nor the options say it
  std::string format;
  std::vector<FilledGap> filled;            ///< by date
  int flagged_values = 0;                   ///< left out for a quality flag of the source
  int trimmed_days = 0;                     ///< days with values before the first or after the last whole day
  bool years_of_365_days = false;           ///< the source has no 31 December in leap years
  std::vector<std::string> unread_columns;  ///< that mean nothing to this program
  std::vector<SuspiciousDay> suspicious;    ///< by date
};

/// Reads daily weather from text in any known format, recognised by content: plain CSV (weather_plain.hpp),
/// GHCN-Daily fixed width or by station (weather_ghcnd.hpp), Daymet (weather_daymet.hpp), NASA POWER
/// (weather_power.hpp). `name` stands in messages.
///
/// The record runs from the first to the last day that has tmin, tmax and rain. In between, gaps of up to
/// `longest_gap_d` days are filled and listed:
///  - tmin, tmax: straight line between the neighbours; where the other of the two was measured, a filled
///    tmin is not put above tmax nor a filled tmax below tmin;
///  - rain: every day of the gap gets the mean daily rain of the same calendar days in the other years of the
///    record, so that the sum is right on average though the days are not; 0 when there is no other year.
/// The other columns stay NaN where they were not measured. Where the source's years have 365 days, 31
/// December of leap years is filled in the same way, and listed, whatever `longest_gap_d` is.
///
/// Every value is then rounded to six decimals of its unit, so that the plain format, written and read back,
/// gives the same bits.
///
/// Throws InputError with all mistakes: unreadable or impossible values, tmin above tmax, dates that are
/// twice or out of order, longer gaps with their dates, several stations with none chosen.
///
/// Listed as suspicious (assumed limits, chosen to show some dozen days in 40 years at most):
///  - daily range above 35 C, rain above 250 mm, tmin equal to tmax, radiation 0 at less than 60 degrees of
///    latitude;
///  - tmax (or tmin) more than 15 C AND more than three standard deviations from its mean in that fortnight
///    of the calendar, when the record has five years. The second condition is needed: one January day in
///    five lies 15 C off in a continental winter;
///  - the first day of more than ten in a row with the same tmin and tmax.
WeatherRecord read_weather(std::string_view text, const std::string& name,
                           const WeatherOptions& options = {});

/// What speaks against the units of a record of a whole year or more: a warmest month with a mean below 10
/// degC (Koppen's limit of trees; corn needs more) or above 45 degC (the hottest known is near 42, from
/// memory); rain above 6000 mm or below 60 mm a year (assumed limits: inches read as mm, tenths read as
/// whole).
std::vector<std::string> doubts_of(const Weather& weather, bool us = false);

/// What the reader of results must know of a record read from `file`: days that were filled, doubts.
std::vector<std::string> weather_notes(const WeatherRecord& record, const std::string& file);

struct WeatherExtreme {
  std::chrono::sys_days day{};
  double value = not_measured;
};

struct WeatherSummary {
  std::chrono::sys_days first{}, last{};
  int days = 0;
  int whole_years = 0;                        ///< twelve months each, counted from the first day
  double mean_temperature_C = not_measured;   ///< of (tmin + tmax) / 2, over the whole years (else all days)
  double mean_annual_rain_mm = not_measured;  ///< over the whole years; NaN when there is none
  WeatherExtreme hottest;                     ///< by tmax
  WeatherExtreme coldest;                     ///< by tmin
  WeatherExtreme wettest;                     ///< by rain
  std::vector<std::string> not_measured_columns;  ///< optional columns without one value
  int filled_days = 0;                            ///< days on which anything was filled
};

WeatherSummary summarise(const WeatherRecord& record);

}  // namespace stoverturn
