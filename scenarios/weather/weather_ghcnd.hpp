#pragma once
#include <string>
#include <string_view>

#include "scenarios/weather/weather_raw.hpp"

/// Global Historical Climatology Network - Daily in the two shapes in which NOAA gives out one station.
///
/// Fixed width (.dly): a line holds one element of one month: station (columns 1-11), year (12-15), month
/// (16-17), element (18-21), then 31 times value (5 columns), measurement, quality and source flag (1 each).
/// By station (CSV): station,yyyymmdd,element,value,measurement flag,quality flag,source flag,time, with or
/// without a header. -9999 is missing, also where a month has no such day. A value with a quality flag failed
/// one of NOAA's checks: it is left out and counted.
///
/// Read are TMIN, TMAX (tenths of degC), PRCP (tenths of mm), SNWD (mm), AWND (tenths of m/s) and RHAV (%);
/// all other elements are skipped. AWND is taken as measured at 10 m and reduced to 2 m by FAO-56 Eq. 47
/// (factor 0.748; Allen et al. 1998). The files do not hold the latitude. Source: Menne et al. 2012,
/// doi:10.7289/V5D21VHZ, readme of version 3 (fixed-width layout and units from memory of it; CSV layout from
/// NOAA's readme-by_station.txt).
namespace stoverturn {

bool is_ghcnd_fixed_width(std::string_view text);
RawWeather read_ghcnd_fixed_width(std::string_view text, const std::string& name,
                                  const WeatherOptions& options, Mistakes& mistakes);

bool is_ghcnd_by_station(std::string_view text);
RawWeather read_ghcnd_by_station(std::string_view text, const std::string& name,
                                 const WeatherOptions& options, Mistakes& mistakes);

}  // namespace stoverturn
