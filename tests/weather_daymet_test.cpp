#include <cmath>
#include <string>

#include "engine/evapotranspiration.hpp"
#include "engine/weather_drivers.hpp"
#include "scenarios/text/calendar.hpp"
#include "scenarios/text/mistakes.hpp"
#include "scenarios/weather/weather_plain.hpp"
#include "scenarios/weather/weather_reading.hpp"
#include "scenarios/weather/weather_years.hpp"
#include "tests/catch.hpp"
#include "tests/mistakes_in.hpp"

using namespace stoverturn;

namespace {

constexpr double rounding = 1e-12;  // a few conversions in double precision

// The form of the lines as the service writes them; place and numbers are invented.
const std::string preamble =
    "Latitude: 41.5  Longitude: -92.25\n"
    "X & Y on Lambert Conformal Conic: 600000.00 -50000.00\n"
    "Tile: 11745\n"
    "Elevation: 310 meters\n"
    "All years; all variables; Daymet Software Version 4.0\n"
    "How to cite: \"invented; a quote that never closes.\n"
    "\n";
const std::string header =
    "year,yday,dayl (s),prcp (mm/day),srad (W/m^2),swe (kg/m^2),tmax (deg c),tmin (deg c),vp (Pa)\n";

std::string mistakes_of(const std::string& text, const WeatherOptions& options = {}) {
  return mistakes_in([&] { read_weather(text, "d.csv", options); });
}

/// Rows of whole Daymet years, 365 days each, of even weather.
std::string years(int first, int last) {
  std::string text = preamble + "year,yday,prcp (mm/day),tmax (deg c),tmin (deg c)\n";
  for (int year = first; year <= last; ++year) {
    for (int day = 1; day <= 365; ++day) {
      text += std::to_string(year) + "," + std::to_string(day) + "," + (day == 365 ? "3" : "1") + ",20,10\n";
    }
  }
  return text;
}

}  // namespace

TEST_CASE("Daymet: place, units, radiation over the daylight, humidity from vapour pressure",
          "[scenarios][weather][daymet]") {
  const auto record = read_weather(preamble + header +
                                       "2013,1,36000.00,2.50,200.00,12.00,21.50,12.30,1409.00\n"
                                       "2013.0,2.0,32400,0,100,0,-5,-15,9999\n",
                                   "d.csv");
  CHECK(record.format == "Daymet, single pixel");
  const Weather& weather = record.weather;
  CHECK(weather.latitude_deg == 41.5);
  CHECK(weather.elevation_m == 310.0);
  REQUIRE(weather.days.size() == 2);
  const WeatherDay& day = weather.days[0];
  CHECK(day.tmin_C == 12.3);
  CHECK(day.tmax_C == 21.5);
  CHECK(day.rain_mm == 2.5);
  CHECK(day.radiation_MJ_m2 == Approx(7.2).epsilon(rounding));  // 200 W m-2 for ten hours
  CHECK(day.snow_depth_mm == Approx(120.0).epsilon(rounding));  // ten times its water
  // FAO-56 Example 18 (read in full): 12.3 and 21.5 degC, e_a 1.409 kPa, e_s 1.997 kPa
  CHECK(day.humidity_percent == Approx(100.0 * 1.409 / 1.997).epsilon(5e-4));
  const double e_s = 0.5 * (saturation_vapour_kPa(12.3) + saturation_vapour_kPa(21.5));
  // what the engine has back, from a humidity of six decimals
  CHECK(0.01 * day.humidity_percent * e_s == Approx(1.409).margin(0.01 * 0.5e-6 * e_s));
  CHECK(weather.days[1].humidity_percent == 100.0);  // more than saturated cannot be
  CHECK(std::isnan(day.wind_m_s));
}

TEST_CASE("Daymet: radiation without day length takes that of the latitude", "[scenarios][weather][daymet]") {
  // FAO-56 Example 8 has 20 deg S on 3 September (day 246): N = 11.7 hours, to its three digits
  const std::string south = "Latitude: -20  Longitude: 0\nElevation: 0 meters\n";
  const std::string rows =
      "year,yday,prcp (mm/day),srad (W/m^2),tmax (deg c),tmin (deg c)\n2013,246,0,500,25,15\n";
  CHECK(read_weather(south + rows, "d.csv").weather.days[0].radiation_MJ_m2 ==
        Approx(500.0 * 11.7 * 3600.0 * 1e-6).epsilon(0.005));
  CHECK(std::isnan(read_weather(rows, "d.csv").weather.days[0].radiation_MJ_m2));  // the place is not known
}

TEST_CASE("Daymet: leap years keep 29 February and lack 31 December, which is filled",
          "[scenarios][weather][daymet][years]") {
  WeatherOptions strict;
  strict.longest_gap_d = 0;  // the calendar is not a gap
  const auto record = read_weather(years(2011, 2013), "d.csv", strict);
  const Weather& weather = record.weather;
  REQUIRE(weather.days.size() == 365 + 366 + 365);
  CHECK(format_date(weather.start) == "2011-01-01");
  CHECK(whole_years(weather) == 3);
  REQUIRE(record.filled.size() == 1);
  CHECK(to_string(record.filled[0]) == "2012-12-31 tmin, tmax, rain (a calendar of 365 days)");
  const auto place = static_cast<std::size_t>((parse_date("2012-12-31") - weather.start).count());
  CHECK(weather.days[place].tmin_C == 10.0);
  CHECK(weather.days[place].tmax_C == 20.0);
  CHECK(weather.days[place].rain_mm == 3.0);      // 31 December of 2011 and 2013
  CHECK(weather.days[place - 1].rain_mm == 3.0);  // its own day 365 is the 30th
  CHECK(weather_notes(record, "d.csv") ==
        std::vector<std::string>{
            "d.csv: its years have 365 days each; 31 December of leap years was filled (1 day)."});

  // a record that ends with a leap year ends with it whole
  const auto ends = read_weather(years(2011, 2012), "d.csv", strict);
  CHECK(ends.weather.days.size() == 365 + 366);
  CHECK(whole_years(ends.weather) == 2);
  CHECK(ends.weather.days.back().tmax_C == 20.0);

  // the plain format keeps both
  const auto again = read_weather(write_plain_weather(ends.weather, ends.filled), "again.csv", strict);
  CHECK(again.weather.days.size() == ends.weather.days.size());
  REQUIRE(again.filled.size() == 1);
  CHECK(to_string(again.filled[0]) == to_string(ends.filled[0]));
}

TEST_CASE("Daymet: 31 December inside a longer gap is part of that gap",
          "[scenarios][weather][daymet][gaps]") {
  const std::string start =
      preamble + "year,yday,prcp (mm/day),tmax (deg c),tmin (deg c)\n2012,364,0,20,10\n";
  const auto record = read_weather(start + "2013,1,0,20,10\n", "d.csv");
  REQUIRE(record.filled.size() == 1);
  CHECK(to_string(record.filled[0]) == "2012-12-30 to 2012-12-31 tmin, tmax, rain");
  WeatherOptions strict;
  strict.longest_gap_d = 1;
  CHECK(mistakes_of(start + "2013,1,0,20,10\n", strict) ==
        "d.csv:9:1: no tmin, tmax, rain from 2012-12-30 to 2012-12-31; a gap of 2 days is longer than the 1 "
        "allowed");
  // a file that was completed to 366 days is read as it is
  CHECK(read_weather(start + "2012,365,0,20,10\n2012,366,0,20,10\n2013,1,0,20,10\n", "d.csv").filled.empty());
}

TEST_CASE("Daymet: mistakes", "[scenarios][weather][daymet][errors]") {
  CHECK(mistakes_of(preamble + "year,yday,tmax (deg c)\n2013,1,3\n") ==
        "d.csv:8:1: there is no column 'tmin (deg c)'; ask Daymet for tmin, tmax and prcp at least\n"
        "d.csv:8:1: there is no column 'prcp (mm/day)'; ask Daymet for tmin, tmax and prcp at least");
  CHECK(mistakes_of(preamble + "year,yday,prcp (mm/day),tmax (deg c),tmin (deg c)\n"
                               "2013,366,0,20,10\n"
                               "2013,2,0,20\n"
                               "2013,x,0,20,10\n"
                               "2013,3,-2,2o,99\n"
                               "2013,4,0,20,-9999\n"
                               "2013,5,0,10,20\n"
                               "2013,5,0,20,10\n") ==
        "d.csv:9:1: there is no day 366 in 2013: that year has 365 days\n"
        "d.csv:10:1: this row has 4 cells, the header has 5\n"
        "d.csv:11:1: year '2013' and yday 'x' are not whole numbers\n"
        "d.csv:12:8: rain -2 mm is impossible; possible are 0 to 2000 mm\n"
        "d.csv:12:11: '2o' is not a number\n"
        "d.csv:12:14: tmin 99 degC is impossible; possible are -90 to 60 degC\n"
        "d.csv:14:13: tmin 20.0 degC of 2013-01-05 is above tmax 10.0 degC\n"
        "d.csv:15:8: rain of 2013-01-05 stands twice; first in line 14\n"
        "d.csv:15:10: tmax of 2013-01-05 stands twice; first in line 14\n"
        "d.csv:15:13: tmin of 2013-01-05 stands twice; first in line 14");
  WeatherOptions options;
  options.station = "x";
  CHECK(mistakes_of(years(2013, 2013), options) ==
        "d.csv: the file names no stations, so 'x' cannot be chosen; leave it out");
}
