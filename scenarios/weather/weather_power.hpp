#pragma once
#include <string>
#include <string_view>

#include "scenarios/weather/weather_raw.hpp"

/// NASA POWER daily CSV: weather of any place on Earth from satellites and reanalysis, one point a file or
/// several told apart by columns LAT and LON.
///
///     -BEGIN HEADER-
///     NASA/POWER ... Daily Data
///     Location: Latitude  -33.25   Longitude 148.75
///     Elevation from MERRA-2: Average for 0.5 x 0.625 degree lat/lon region = 321.5 meters
///     The value for missing source data ...: -999
///     Parameter(s):
///     T2M_MAX     MERRA-2 Temperature at 2 Meters Maximum (C)
///     ...
///     -END HEADER-
///     YEAR,DOY,T2M_MAX,T2M_MIN,PRECTOTCORR
///     2015,182,14.2,3.1,0.0
///
/// Dates are YEAR,MO,DY or YEAR,DOY. Read are T2M_MIN, T2M_MAX and PRECTOTCORR (or PRECTOT), which must be
/// there, and ALLSKY_SFC_SW_DWN (radiation), RH2M (humidity), WS2M, or else WS10M reduced to 2 m by FAO-56
/// Eq. 47. The unit is the one in brackets at the end of the parameter's line, or in brackets after the
/// column's name; radiation, which comes in several, must state it. Other parameters are listed and not read.
/// Source: power.larc.nasa.gov, daily service; the form of the lines as quoted from it by its users.
namespace stoverturn {

/// A header line with YEAR and one of the parameters' names.
bool is_power(std::string_view text);

RawWeather read_power(std::string_view text, const std::string& name, const WeatherOptions& options,
                      Mistakes& mistakes);

}  // namespace stoverturn
