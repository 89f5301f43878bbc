#pragma once
#include <cstdint>

#include "scenarios/weather/weather_normals.hpp"

/// Daily weather drawn at random from monthly normals.                       docs/model.md, Eq. 38 to 40
///
/// Wet and dry days follow each other as a two-state Markov chain whose share of wet days f is that of the
/// normals on every day of the year (38); the persistence is that of Geng, Penning de Vries and Supit 1986:
///   P(wet | dry) = 0.75 f,  P(wet | wet) = 0.25 + P(wet | dry)
/// A wet day brings the threshold and a gamma-distributed rest of shape mean/scale, scale = -2.16 + 1.83 mean
/// mm [the same]; where that shape would pass 1, at little rain a day, an exponential one.
///
/// Residuals of tmax, tmin and radiation follow Richardson 1981 (39):  e(d) = A e(d-1) + B noise
/// Their sum moves the day's mean temperature, their difference its range, which is smaller on wet days. So
/// tmin stays below tmax and the monthly means of both are kept.
///
/// Means of the days between the months are smooth and keep the months' means (40).
namespace stoverturn {

/// Constants beside those of the sources.
namespace generator {
inline constexpr double persistence = 0.25;  ///< Geng et al. 1986, from memory
/// Daily range of wet over that of dry days: 0.64 to 0.86 in Ames, 0.79 to 0.99 in Milwaukee (own count).
inline constexpr double wet_range = 0.75;
/// Standard deviation of the range over its mean; 0.22 to 0.46 on dry, 0.31 to 0.65 on wet days in Ames.
inline constexpr double range_cv = 0.35;
/// Range residuals beyond this many standard deviations are cut on both sides, so that no range is negative
/// and the mean stays.
inline constexpr double range_limit = 2.5;
inline constexpr double wet_radiation = 0.70;  ///< radiation of wet over dry days; 0.58 to 0.82 in Ames
inline constexpr double radiation_cv = 0.35;   ///< assumption, not verified
inline constexpr double brightest = 0.80;  ///< of what arrives above the atmosphere; Eq. 25 has 0.75 inland
inline constexpr double wind_cv = 0.5;     ///< assumption, not verified
inline constexpr double humidity_step_percent = 12.0;  ///< wet over dry days; assumption, not verified
inline constexpr double humidity_sd_percent = 8.0;     ///< likewise, at most
}  // namespace generator

/// Matrices of Richardson and Wright 1984 (from memory), rows tmax, tmin, radiation.
extern const std::array<std::array<double, 3>, 3> residual_memory;  ///< A
extern const std::array<std::array<double, 3>, 3> residual_noise;   ///< B

/// Whole calendar years [first_year, last_year], leap days included. A year depends on normals, latitude,
/// seed and its number alone, whatever other years are asked for: it has streams of random numbers of its own
/// ("weather", year), and begins where 31 December of the year before leaves wet state and residuals.
/// Radiation, wind and humidity are NaN unless the normals have them; all else but tmin, tmax and rain is.
Weather generated_weather(const MonthlyNormals& normals, double latitude_deg, double elevation_m,
                          int first_year, int last_year, std::uint64_t seed);

}  // namespace stoverturn
