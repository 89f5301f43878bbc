#include "scenarios/weather/weather_reading.hpp"

#include <cmath>
#include <string>
#include <vector>

#include "scenarios/text/calendar.hpp"
#include "scenarios/text/csv_text.hpp"
#include "scenarios/text/mistakes.hpp"
#include "tests/catch.hpp"
#include "tests/mistakes_in.hpp"

using namespace stoverturn;

namespace {

constexpr double rounding = 1e-12;  // a few conversions in double precision

std::string mistakes_of(const std::string& text, const WeatherOptions& options = {}) {
  return mistakes_in([&] { read_weather(text, "w.csv", options); });
}

/// A .dly line: station, yyyymm, element, then the values of 31 days as they stand ("  123   ": 8 characters
/// each).
std::string dly(const std::string& station, const std::string& month, const std::string& element,
                std::vector<std::string> values) {
  values.resize(31, "-9999   ");
  std::string line = station + month + element;
  for (const std::string& value : values) line += value;
  return line + "\n";
}

}  // namespace

TEST_CASE("weather: GHCN-Daily fixed width, flags and missing values", "[scenarios][weather][ghcnd]") {
  // layout: NOAA's readme of version 3 (from memory)
  const std::string s = "USC00999999";  // an invented station
  const std::string text = dly(s, "201202", "TMAX", {"   11  X", "  -22  X", "  500 GX", "   44  X"}) +
                           dly(s, "201202", "TMIN", {"  -11  X", " -122  X", "  -50  X", "  -44  X"}) +
                           dly(s, "201202", "PRCP", {"    0T X", "    5  X", "-9999   ", "  254  X"}) +
                           dly(s, "201202", "SNWD", {"   25  X"}) + dly(s, "201202", "AWND", {"   40  X"}) +
                           dly(s, "201202", "WT01", {"    1  X"});
  WeatherOptions options;
  options.latitude_deg = 42.0;
  const auto record = read_weather(text, "w.dly", options);
  CHECK(record.format == "GHCN-Daily, fixed width");
  CHECK(record.flagged_values == 1);
  CHECK(record.weather.latitude_deg == 42.0);
  CHECK(format_date(record.weather.start) == "2012-02-01");
  REQUIRE(record.weather.days.size() == 4);
  CHECK(record.weather.days[0].tmax_C == 1.1);
  CHECK(record.weather.days[1].tmin_C == -12.2);
  CHECK(record.weather.days[2].tmax_C == Approx((-2.2 + 4.4) / 2.0).epsilon(rounding));  // flagged, so filled
  CHECK(record.weather.days[2].rain_mm == 0.0);
  CHECK(record.weather.days[3].rain_mm == 25.4);
  CHECK(record.weather.days[0].snow_depth_mm == 25.0);
  CHECK(record.weather.days[0].wind_m_s ==
        Approx(0.748 * 4.0).epsilon(0.001));  // FAO-56 Table 2.9: 0.748 at 10 m
}

TEST_CASE("weather: GHCN-Daily by station, leap day, with and without a header",
          "[scenarios][weather][ghcnd]") {
  const std::string rows =
      "USC00999999,20120228,TMAX,100,,,X,0700\n"
      "USC00999999,20120228,TMIN,0,,,X,0700\n"
      "USC00999999,20120228,PRCP,12,,,X,0700\n"
      "USC00999999,20120229,TMAX,300,,I,X,\n"
      "USC00999999,20120229,TMIN,20,,,X,\n"
      "USC00999999,20120229,PRCP,-9999,,,X,\n"
      "USC00999999,20120229,TOBS,20,,,X,\n"
      "USC00999999,20120301,PRCP,8,,,X,\n"
      "USC00999999,20120301,TMIN,40,,,X,\n"
      "USC00999999,20120301,TMAX,200,,,X\n";
  for (const std::string& start :
       {std::string(), std::string("ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME\n")}) {
    const auto record = read_weather(start + rows, "w.csv");
    CHECK(record.format == "GHCN-Daily, by station");
    CHECK(record.flagged_values == 1);
    REQUIRE(record.weather.days.size() == 3);
    CHECK(record.weather.days[1].tmax_C == 15.0);
    CHECK(record.weather.days[1].tmin_C == 2.0);
    CHECK(record.weather.days[2].rain_mm == 0.8);
    REQUIRE(record.filled.size() == 1);
    CHECK(record.filled[0].what == "tmax, rain");
  }
}

TEST_CASE("weather: mistakes in GHCN-Daily files", "[scenarios][weather][ghcnd][errors]") {
  const std::string s = "USC00999999";
  CHECK(mistakes_of(dly(s, "201202", "TMAX", {"   1a   ", "  700   "}) +
                    dly(s, "201202", "TMAX", {}).substr(0, 100) + "\nfoo\n" +
                    dly(s, "201302", "PRCP", std::vector<std::string>(29, "    0   "))) ==
        "w.csv:1:22: TMAX '   1a' of day 1 is not a whole number\n"
        "w.csv:1:30: tmax 700 (tenths of degC) is impossible; possible are -90 to 60 degC\n"
        "w.csv:2:1: this line is cut: it has 100 characters, 31 days need 266\n"
        "w.csv:3:1: this line does not begin with station (11 characters), year (4), month (2), element (4) "
        "and a "
        "value (5)\n"
        "w.csv:4:246: there is no day '2013-02-29': February 2013 has 28 days");
  CHECK(mistakes_of("USC00999999,20120228,TMAX,100,,,X,0700\n"
                    "USC00999999,20120228,TMAX,100,,,X,0700\n"
                    "USC00999999,2012022,TMIN,0,,,X,0700\n"
                    "USC00999999,20120228,TMIN,0.5,,,X,0700\n"
                    "USC00999999,20120228,PRCP,0\n") ==
        "w.csv:2:27: tmax of 2012-02-28 stands twice; first in line 1\n"
        "w.csv:3:13: '2012022' is not a date in the form yyyymmdd\n"
        "w.csv:4:27: TMIN '0.5' is not a whole number\n"
        "w.csv:5:1: this row has 4 cells; wanted are 8: station, date, element, value, three flags and time");
}

TEST_CASE("weather: several stations in one file", "[scenarios][weather][ghcnd][errors]") {
  std::string text;
  for (const std::string s : {"USC00999998", "USC00999999"}) {
    for (const char* e : {",20120228,TMAX,100,,,X,\n", ",20120228,TMIN,0,,,X,\n", ",20120228,PRCP,0,,,X,\n"})
      text += s + e;
  }
  CHECK(mistakes_of(text) ==
        "w.csv: the file holds 2 stations (USC00999998, USC00999999); choose one with --station, or with "
        "`station` under [weather]");
  WeatherOptions options;
  options.station = "USC00999999";
  CHECK(read_weather(text, "w.csv", options).weather.days.size() == 1);
  options.station = "USC0099999";
  CHECK(mistakes_of(text, options) ==
        "w.csv: the file holds no station 'USC0099999'; did you mean 'USC00999998'?");
}

TEST_CASE("weather: Milwaukee, GHCN-Daily in inches and Fahrenheit", "[scenarios][weather][data]") {
  NEEDS_SHARED("weather-milwaukee-ghcnd");
  const auto csv =
      read_csv(slurp(shared_data("weather-milwaukee-ghcnd") / "GHCN_USW00014839_2000-2025.csv"), "m");
  std::string text = "date,tmax [degF],tmin [degF],rain [in],snow depth [in]\n";
  std::string ghcnd;
  const auto tenths = [](double value) { return std::to_string(std::lround(10.0 * value)); };
  for (std::size_t r = 1; r < csv.rows.size(); ++r) {
    const auto& row = csv.rows[r];
    text +=
        row[3].text + "," + row[8].text + "," + row[9].text + "," + row[5].text + "," + row[7].text + "\n";
    const std::string start = "USW00014839," + row[0].text + row[1].text + row[2].text + ",";
    ghcnd += start + "TMAX," + tenths((*number(row[8].text) - 32.0) / 1.8) + ",,,W,2400\n";
    ghcnd += start + "TMIN," + tenths((*number(row[9].text) - 32.0) / 1.8) + ",,,W,2400\n";
    ghcnd += start + "PRCP," + tenths(*number(row[5].text) * 25.4) + ",,,W,2400\n";
  }
  const auto record = read_weather(text, "milwaukee.csv");
  CHECK(record.weather.days.size() == 9497);
  CHECK(record.filled.empty());
  // the source was whole tenths of degC and mm before it was converted to US units: they must come back
  const auto original = read_weather(ghcnd, "milwaukee-ghcnd.csv");
  CHECK(original.format == "GHCN-Daily, by station");
  REQUIRE(original.weather.days.size() == 9497);
  for (std::size_t i = 0; i < original.weather.days.size(); ++i) {
    const WeatherDay &us = record.weather.days[i], &si = original.weather.days[i];
    INFO("day " << i);
    REQUIRE(std::abs(us.tmin_C - si.tmin_C) < 1e-3);
    REQUIRE(std::abs(us.tmax_C - si.tmax_C) < 1e-3);
    REQUIRE(std::abs(us.rain_mm - si.rain_mm) < 1e-3);
  }
}
