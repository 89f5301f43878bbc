#include <cmath>
#include <string>

#include "engine/evapotranspiration.hpp"
#include "engine/weather_drivers.hpp"
#include "scenarios/text/calendar.hpp"
#include "scenarios/text/mistakes.hpp"
#include "scenarios/weather/weather_reading.hpp"
#include "tests/catch.hpp"
#include "tests/mistakes_in.hpp"

using namespace stoverturn;

namespace {

constexpr double rounding = 1e-12;  // a few conversions in double precision

// The form of the block as the service writes it; place and numbers are invented.
std::string block(const std::string& radiation_unit = "MJ/m^2/day") {
  return "-BEGIN HEADER-\n"
         "NASA/POWER CERES/MERRA2 Native Resolution Daily Data \n"
         "Dates (month/day/year): 12/30/2012 through 01/01/2013 \n"
         "Location: Latitude  -33.25   Longitude 148.75 \n"
         "Elevation from MERRA-2: Average for 0.5 x 0.625 degree lat/lon region = 321.5 meters\n"
         "The value for missing source data that cannot be computed or is outside of the sources "
         "availability "
         "range: -999 \n"
         "Parameter(s): \n"
         "T2M                   MERRA-2 Temperature at 2 Meters (C) \n"
         "T2M_MAX               MERRA-2 Temperature at 2 Meters Maximum (C) \n"
         "T2M_MIN               MERRA-2 Temperature at 2 Meters Minimum (C) \n"
         "PRECTOTCORR           MERRA-2 Precipitation Corrected (mm/day) \n"
         "ALLSKY_SFC_SW_DWN     CERES SYN1deg All Sky Surface Shortwave Downward Irradiance (" +
         radiation_unit +
         ") \n"
         "WS10M                 MERRA-2 Wind Speed at 10 Meters (m/s) \n"
         "RH2M                  MERRA-2 Relative Humidity at 2 Meters (%) \n"
         "-END HEADER-\n";
}

std::string mistakes_of(const std::string& text, const WeatherOptions& options = {}) {
  return mistakes_in([&] { read_weather(text, "p.csv", options); });
}

}  // namespace

TEST_CASE("POWER: place, units, wind from 10 m, missing values, day 366", "[scenarios][weather][power]") {
  const auto record =
      read_weather(block() +
                       "YEAR,DOY,T2M,T2M_MAX,T2M_MIN,PRECTOTCORR,ALLSKY_SFC_SW_DWN,WS10M,RH2M\n"
                       "2012,365,25.0,31.5,18.5,0.0,28.4,3.2,45.5\n"
                       "2012,366,25.0,33.0,19.0,-999.0,-999.0,4.0,-999\n"
                       "2013,1,25.0,30.0,17.0,12.25,20.5,-999,60\n",
                   "p.csv");
  CHECK(record.format == "NASA POWER, daily");
  const Weather& weather = record.weather;
  CHECK(weather.latitude_deg == -33.25);
  CHECK(weather.elevation_m == 321.5);
  CHECK(format_date(weather.start) == "2012-12-30");
  REQUIRE(weather.days.size() == 3);
  CHECK(weather.days[0].tmax_C == 31.5);
  CHECK(weather.days[0].tmin_C == 18.5);
  CHECK(weather.days[0].radiation_MJ_m2 == 28.4);
  CHECK(weather.days[0].humidity_percent == 45.5);
  CHECK(weather.days[0].wind_m_s == Approx(2.4).margin(0.05));  // FAO-56 Example 14: 3.2 m/s at 10 m
  CHECK(weather.days[1].rain_mm == 0.0);                        // filled
  CHECK(std::isnan(weather.days[1].radiation_MJ_m2));
  CHECK(std::isnan(weather.days[1].humidity_percent));
  CHECK(std::isnan(weather.days[2].wind_m_s));
  CHECK(weather.days[2].rain_mm == 12.25);
  REQUIRE(record.filled.size() == 1);
  CHECK(to_string(record.filled[0]) == "2012-12-31 rain");
  CHECK(record.unread_columns == std::vector<std::string>{"T2M"});
}

TEST_CASE("POWER: year, month and day; radiation in kilowatt-hours or watts; wind at 2 m goes first",
          "[scenarios][weather][power]") {
  const std::string rows =
      "YEAR,MO,DY,T2M_MAX,T2M_MIN,PRECTOTCORR,ALLSKY_SFC_SW_DWN,WS10M,WS2M\r\n"
      "2012,2,28,31.5,18.5,0.0,5.0,4.0,2.5\r\n"
      "2012,2,29,31.5,18.5,0.0,5.0,4.0,2.5\r\n";
  const auto kilowatt_hours = read_weather(block("kW-hr/m^2/day") + rows, "p.csv").weather;
  REQUIRE(kilowatt_hours.days.size() == 2);
  CHECK(kilowatt_hours.days[1].radiation_MJ_m2 == Approx(18.0).epsilon(rounding));  // 3.6 MJ each
  CHECK(kilowatt_hours.days[1].wind_m_s == 2.5);
  CHECK(read_weather(block("kWh/m^2/day") + rows, "p.csv").weather.days[0].radiation_MJ_m2 ==
        Approx(18.0).epsilon(rounding));
  CHECK(read_weather(block("W/m^2") + rows, "p.csv").weather.days[0].radiation_MJ_m2 ==
        Approx(0.432).epsilon(rounding));  // 5 W for 86,400 s
}

TEST_CASE("POWER: several points in one file", "[scenarios][weather][power][stations]") {
  const std::string text =
      "LAT,LON,YEAR,DOY,T2M_MAX,T2M_MIN,PRECTOT\n"
      "-33.25,148.75,2013,1,30,20,0\n-33.75,148.75,2013,1,40,20,0\n";
  CHECK(mistakes_of(text) ==
        "p.csv: the file holds 2 stations (-33.25 148.75, -33.75 148.75); choose one with --station, or with "
        "`station` under [weather]");
  WeatherOptions options;
  options.station = "-33.75 148.75";
  const Weather weather = read_weather(text, "p.csv", options).weather;
  CHECK(weather.latitude_deg == -33.75);
  CHECK(weather.days.at(0).tmax_C == 40.0);
  CHECK(std::isnan(
      read_weather("YEAR,DOY,T2M_MAX,T2M_MIN,PRECTOT\n2013,1,30,20,0\n", "p.csv").weather.latitude_deg));
}

TEST_CASE("POWER: mistakes", "[scenarios][weather][power][errors]") {
  CHECK(
      mistakes_of(block() + "YEAR,DOY,T2M_MAX,RH2M\n2013,1,30,50\n") ==
      "p.csv:16:1: there is no column T2M_MIN; ask POWER for T2M_MIN, T2M_MAX and PRECTOTCORR at least\n"
      "p.csv:16:1: there is no column PRECTOTCORR; ask POWER for T2M_MIN, T2M_MAX and PRECTOTCORR at least");
  CHECK(mistakes_of(block() + "YEAR,MO,DY,HR,T2M,PRECTOTCORR\n") ==
        "p.csv:16:1: this is hourly weather (it has a column HR); ask POWER for the daily series\n"
        "p.csv:16:1: there is no column T2M_MIN; ask POWER for T2M_MIN, T2M_MAX and PRECTOTCORR at least\n"
        "p.csv:16:1: there is no column T2M_MAX; ask POWER for T2M_MIN, T2M_MAX and PRECTOTCORR at least");
  const std::string rows = "YEAR,DOY,T2M_MAX,T2M_MIN,PRECTOTCORR,ALLSKY_SFC_SW_DWN\n2013,1,30,20,0,20\n";
  CHECK(mistakes_of(rows) ==
        "p.csv:1:38: the unit of ALLSKY_SFC_SW_DWN is not stated, because the header block is gone; put it "
        "back, or write ALLSKY_SFC_SW_DWN [MJ/m2/d] or ALLSKY_SFC_SW_DWN [kWh/m2/d]");
  CHECK(read_weather("YEAR,DOY,T2M_MAX,T2M_MIN,PRECTOTCORR,ALLSKY_SFC_SW_DWN [kWh/m2/d]\n2013,1,30,20,0,5\n",
                     "p.csv")
            .weather.days[0]
            .radiation_MJ_m2 == Approx(18.0).epsilon(rounding));
  CHECK_THAT(mistakes_of(block("furlongs") + rows), contains("p.csv:16:38: ALLSKY_SFC_SW_DWN: "));
  CHECK(mistakes_of(block() + "YEAR,DOY,T2M_MAX,T2M_MIN,PRECTOTCORR\n"
                              "2013,366,30,20,0\n"
                              "2013,1,30,20\n"
                              "2013,2,x,-99,-1\n"
                              "2013,3,20,30,0\n"
                              "2013,3,30,20,0\n") ==
        "p.csv:17:1: there is no day 366 in 2013: that year has 365 days\n"
        "p.csv:18:1: this row has 4 cells, the header has 5\n"
        "p.csv:19:8: T2M_MAX 'x' is not a number\n"
        "p.csv:19:10: tmin -99 C is impossible; possible are -90 to 60 degC\n"
        "p.csv:19:14: rain -1 mm/day is impossible; possible are 0 to 2000 mm\n"
        "p.csv:20:11: tmin 30.0 degC of 2013-01-03 is above tmax 20.0 degC\n"
        "p.csv:21:1: 2013-01-03 stands twice; first in line 20");
}

TEST_CASE("POWER: a year south of the equator, from the file to the climate of the residue",
          "[scenarios][weather][power][southern]") {
  const auto record =
      read_weather(slurp(source_dir() / "notebooks-data" / "weather-invented-south.csv"), "p.csv");
  const Weather& weather = record.weather;
  CHECK(record.format == "NASA POWER, daily");
  CHECK(weather.latitude_deg < -30.0);
  CHECK(format_date(weather.start) == "2015-07-01");
  CHECK(record.filled.size() == 2);
  const auto summary = summarise(record);
  CHECK(summary.days == 184 + 366);  // half of 2015 and all of 2016, its day 366 included
  CHECK(summary.whole_years == 1);
  CHECK(record.suspicious.empty());
  WeatherDriversInput in;
  in.weather = &weather;
  in.start = weather.start;
  in.days = summary.days;
  in.parameters = default_parameters();
  const WeatherDrivers out = weather_drivers(in);
  CHECK(out.penman_monteith);
  const auto mean_of_month = [&](const char* first) {
    const auto begin = static_cast<std::size_t>((parse_date(first) - weather.start).count());
    double ET = 0.0, soil = 0.0;
    for (std::size_t d = begin; d < begin + 30; ++d) {
      ET += out.reference_ET_mm[d] / 30.0;
      soil += out.drivers.days[d].soil_temperature_C / 30.0;
    }
    return std::pair(ET, soil);
  };
  const auto january = mean_of_month("2016-01-01"), july = mean_of_month("2016-07-01");
  CHECK(january.first > 3.0 * july.first);
  CHECK(january.second > july.second + 10.0);
}
