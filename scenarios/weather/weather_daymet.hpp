#pragma once
#include <string>
#include <string_view>

#include "scenarios/weather/weather_raw.hpp"

/// Daymet single-pixel CSV: daily weather of North America on a 1 km grid, one pixel a file.
///
///     Latitude: 41.9  Longitude: -93.6
///     X & Y on Lambert Conformal Conic: 506022.01 -44135.47
///     Tile: 11744
///     Elevation: 310 meters
///     (two or more lines of text)
///     year,yday,dayl (s),prcp (mm/day),srad (W/m^2),swe (kg/m^2),tmax (deg c),tmin (deg c),vp (Pa)
///     2023,1,32445.20,0.00,183.29,0.00,4.63,-3.47,472.61
///
/// Read are tmin, tmax and prcp, which must be there, and
///   srad, the mean over the daylight of dayl seconds:  radiation = srad dayl 1e-6 MJ m-2
///     (without dayl the day length of FAO-56 Eq. 34 at the file's latitude)
///   vp, the day's mean vapour pressure:  humidity = 100 vp/e_s, at most 100, with e_s the mean of the
///     saturation pressures at tmin and tmax (FAO-56 Eq. 12), from which the engine has vp back
///   swe, snow as water:  depth = 10 mm a mm of water, the ratio of the two limits of docs/model.md, Eq. 27
/// Every year has days 1 to 365: leap years keep 29 February and lack 31 December. That day is filled.
/// Source: Thornton et al. 2022, Daymet Version 4 R1, doi:10.3334/ORNLDAAC/2129; the form of the lines as
/// quoted from the service by its users.
namespace stoverturn {

/// A line that begins with year,yday and names tmax, tmin or prcp with its unit.
bool is_daymet(std::string_view text);

RawWeather read_daymet(std::string_view text, const std::string& name, const WeatherOptions& options,
                       Mistakes& mistakes);

}  // namespace stoverturn
