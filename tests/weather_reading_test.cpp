#include "scenarios/weather/weather_reading.hpp"

#include <cmath>
#include <string>
#include <vector>

#include "scenarios/text/calendar.hpp"
#include "scenarios/text/mistakes.hpp"
#include "scenarios/weather/weather_plain.hpp"
#include "tests/ames_weather.hpp"
#include "tests/catch.hpp"
#include "tests/mistakes_in.hpp"

using namespace stoverturn;
using std::chrono::days;

namespace {

constexpr double rounding = 1e-12;  // a few conversions in double precision

std::chrono::sys_days day(const char* text) { return parse_date(text); }

std::string mistakes_of(const std::string& text, const WeatherOptions& options = {}) {
  return mistakes_in([&] { read_weather(text, "w.csv", options); });
}

const std::string header = "date,tmin [degC],tmax [degC],rain [mm]\n";

const WeatherDay& at(const Weather& weather, const char* date) {
  return weather.days.at(static_cast<std::size_t>((day(date) - weather.start).count()));
}

bool same(const Weather& a, const Weather& b) {
  const auto equal = [](double x, double y) { return x == y || (std::isnan(x) && std::isnan(y)); };
  if (a.start != b.start || a.days.size() != b.days.size() || a.elevation_m != b.elevation_m ||
      !equal(a.latitude_deg, b.latitude_deg)) {
    return false;
  }
  for (std::size_t i = 0; i < a.days.size(); ++i) {
    const WeatherDay &x = a.days[i], &y = b.days[i];
    if (!equal(x.tmin_C, y.tmin_C) || !equal(x.tmax_C, y.tmax_C) || !equal(x.rain_mm, y.rain_mm) ||
        !equal(x.radiation_MJ_m2, y.radiation_MJ_m2) || !equal(x.wind_m_s, y.wind_m_s) ||
        !equal(x.humidity_percent, y.humidity_percent) || !equal(x.snow_depth_mm, y.snow_depth_mm) ||
        !equal(x.soil_temperature_C, y.soil_temperature_C) ||
        !equal(x.soil_moisture_m3_m3, y.soil_moisture_m3_m3)) {
      return false;
    }
  }
  return true;
}

}  // namespace

TEST_CASE("plain weather: units, other names, comments, missing cells", "[scenarios][weather]") {
  const auto record = read_weather(
      "\xEF\xBB\xBF# Latitude: 33.9 S\n# elevation: 100 ft\n# any other: remark\n"
      "date,Max_Temp [F],T-min [degC],Precipitation [in],note,wind speed [mph],Relative Humidity [%],"
      "snow depth [cm],soil_temperature (degF),soil moisture [m3/m3],radiation [W/m2]\r\n"
      "2013-03-01,50,-40,0.5,\"a, b\",10,55,2.5,32,0.25,100\r\n"
      "2013-03-02,212e-1,NA,1,,,,,,,\r\n"
      "2013-03-03,-4,-40,0,,NA,0,0,212e-1,0,0\r\n",
      "w.csv");
  const Weather& weather = record.weather;
  CHECK(record.format == "plain CSV");
  CHECK(weather.latitude_deg == -33.9);
  CHECK(weather.elevation_m == Approx(30.48).epsilon(rounding));
  REQUIRE(weather.days.size() == 3);
  const WeatherDay& first = weather.days[0];
  CHECK(first.tmax_C == Approx(10.0).epsilon(rounding));
  CHECK(first.tmin_C == -40.0);
  CHECK(first.rain_mm == Approx(12.7).epsilon(rounding));
  CHECK(first.wind_m_s == Approx(4.4704).epsilon(rounding));  // international mile, 1609.344 m
  CHECK(first.humidity_percent == 55.0);
  CHECK(first.snow_depth_mm == 25.0);
  CHECK(std::abs(first.soil_temperature_C) < rounding);
  CHECK(first.soil_moisture_m3_m3 == 0.25);
  CHECK(first.radiation_MJ_m2 == Approx(8.64).epsilon(rounding));  // 86400 s
  CHECK(weather.days[1].tmax_C == Approx(-6.0).epsilon(rounding));
  CHECK(weather.days[1].tmin_C == -40.0);  // filled
  CHECK(std::isnan(weather.days[1].wind_m_s));
  CHECK(weather.days[2].humidity_percent == 0.0);
  REQUIRE(record.filled.size() == 1);
  CHECK(record.filled[0].what == "tmin");
}

TEST_CASE("plain weather: what was read and is written reads back to the last bit", "[scenarios][weather]") {
  Weather weather;
  weather.start = day("2012-02-27");
  weather.latitude_deg = -12.345678901234567;
  weather.elevation_m = 287.1;
  for (int i = 0; i < 10; ++i) {
    WeatherDay entry{-0.1 * i, 1.0 / 3.0 + i, 0.1 * i};
    if (i != 4) entry.humidity_percent = 55.1 + i / 7.0;
    if (i == 5) entry.soil_moisture_m3_m3 = 0.1 + 0.2;
    if (i == 0) entry.wind_m_s = 5e-324;
    weather.days.push_back(entry);
  }
  const std::string unrounded = write_plain_weather(weather);
  CHECK(unrounded.find("\n2012-02-28,-0.1,1.333333,0.1,,55.242857,\n") != std::string::npos);
  CHECK(unrounded.find("\n2012-02-27,0,0.333333,0,0,55.1,\n") != std::string::npos);
  // six decimals are the nearest ones
  weather = read_weather(unrounded, "w.csv").weather;
  for (std::size_t i = 0; i < weather.days.size(); ++i) {
    CHECK(std::abs(weather.days[i].tmax_C - (1.0 / 3.0 + static_cast<double>(i))) <= 0.5e-6);
  }
  const std::string text = write_plain_weather(weather);
  CHECK(text == unrounded);
  CHECK(text.substr(0, text.find("\n2012")) ==
        "# latitude: -12.345678901234567\n# elevation: 287.1 m\n"
        "date,tmin [degC],tmax [degC],rain [mm],wind [m/s],humidity [%],soil moisture [m3/m3]");
  CHECK(same(read_weather(text, "w.csv").weather, weather));
}

TEST_CASE("plain weather: whole degrees Fahrenheit and hundredths of inches are written short",
          "[scenarios][weather]") {
  std::string text = "# latitude: 42\ndate,tmin [degF],tmax [degF],rain [in]\n";
  for (int i = 0; i < 28; ++i) {
    text += format_date(day("2013-02-01") + days(i)) + "," + std::to_string(i + 10) + "," +
            std::to_string(3 * i + 20) + ",0." + std::to_string(i + 10) + "\n";
  }
  const Weather first = read_weather(text, "w.csv").weather;
  const std::string once = write_plain_weather(first);
  CHECK(once.find("\n2013-02-05,-10,0,3.556\n") != std::string::npos);  // 14 and 32 degF, 0.14 in
  const Weather second = read_weather(once, "once.csv").weather;
  CHECK(same(first, second));
  CHECK(write_plain_weather(second) == once);
}

TEST_CASE("plain weather: latitude and elevation of the options go first", "[scenarios][weather]") {
  const std::string text = "# latitude: 10\n# elevation: 20 m\n" + header + "2013-01-01,0,1,0\n";
  WeatherOptions options;
  CHECK(read_weather(text, "w").weather.latitude_deg == 10.0);
  CHECK(read_weather(text, "w").weather.elevation_m == 20.0);
  options.latitude_deg = 42.0;
  options.elevation_m = 300.0;
  CHECK(read_weather(text, "w", options).weather.latitude_deg == 42.0);
  CHECK(read_weather(text, "w", options).weather.elevation_m == 300.0);
  CHECK(std::isnan(read_weather(header + "2013-01-01,0,1,0\n", "w").weather.latitude_deg));
}

TEST_CASE("weather: no known format", "[scenarios][weather][errors]") {
  CHECK(mistakes_of(" \r\n") == "w.csv: the file is empty; wanted is daily weather");
  const std::string readable =
      "w.csv:1:1: this is daily weather in none of the formats that can be read (GHCN-Daily, fixed width; "
      "GHCN-Daily, by station; Daymet, single pixel; NASA POWER, daily; plain CSV); it looks like ";
  const std::string advice =
      "; a plain CSV begins with a header such as: date,tmin [degC],tmax [degC],rain [mm]";
  CHECK(mistakes_of("once upon\n") ==
        readable + "text that is no table; its first line is 'once upon'" + advice);
  CHECK(mistakes_of("1,2,3\n4,5,6\n") ==
        readable + "a table of 3 columns parted by commas; its first line is '1,2,3'" + advice);
  CHECK(mistakes_of("\n a\tb\n") ==
        readable + "a table of 2 columns parted by tabs; its first line is 'a\tb'" + advice);
  CHECK(mistakes_of("<!DOCTYPE html>\n<html>") ==
        readable + "a web page or XML (a download that failed?); its first line is '<!DOCTYPE html>'" +
            advice);
  CHECK(mistakes_of("{\"tmin\": [1, 2]}") ==
        readable + "JSON; ask the source for CSV; its first line is '{\"tmin\": [1, 2]}'" + advice);
  CHECK(mistakes_of(std::string(70, 'x')) ==
        readable + "text that is no table; its first line is '" + std::string(60, 'x') + "...'" + advice);
  CHECK(
      mistakes_of(std::string("PK\x03\x04\0", 5)) ==
      "w.csv: wanted is daily weather as text; this is a spreadsheet or a zip archive; save the sheet as CSV "
      "UTF-8, or unpack it");
  CHECK(mistakes_of("\x1F\x8B\x08") ==
        "w.csv: wanted is daily weather as text; this is a file packed with gzip; unpack it");
  CHECK(mistakes_of(std::string("d\0a\0t\0e\0", 8)) ==
        "w.csv: this is not a text file in UTF-8 (it holds NUL bytes); save it as CSV UTF-8");
  CHECK_THAT(mistakes_of("# only a comment\n"), contains(readable));
}

TEST_CASE("plain weather: mistakes in the header, all at once", "[scenarios][weather][errors]") {
  CHECK(mistakes_of("date,tmin [degC],tmax,rainn [mm],\n") ==
        "w.csv:1:1: there is no column 'rain'; write rain [mm] or rain [in]\n"
        "w.csv:1:18: tmax needs a unit: write tmax [degC] or tmax [degF]\n"
        "w.csv:1:23: unknown column 'rainn'; did you mean 'rain'?\n"
        "w.csv:1:34: this column has no name");
  CHECK(mistakes_of("tmin [degC],t min [C],tmax [psi],rain [mm],dew point [degC],humidity\n") ==
        "w.csv:1:1: there is no column 'date', nor 'year' with 'month' and 'day' or with 'day of year'; not "
        "understood: 'dew point'\n"
        "w.csv:1:13: the column tmin stands twice; first at column 1\n"
        "w.csv:1:29: tmax: 'psi' is a unit of pressure: wanted a temperature with its unit, such as 60 F or "
        "15 C; "
        "units that fit are F, C, K\n"
        "w.csv:1:61: humidity needs a unit: write humidity [%]");
  CHECK(mistakes_of("# latitude: 95\n#elevation: 40\n" + header + "2013-01-01,0,1,0\n") ==
        "w.csv:1:3: latitude 95 is impossible; possible are -90 to 90\n"
        "w.csv:2:15: 40: wanted a length with its unit, such as 150 mm or 6 in");
}

TEST_CASE("plain weather: mistakes in the rows, all at once", "[scenarios][weather][errors]") {
  CHECK(mistakes_of(header + "2013-01-01,5,1,0\n"
                             "2013-01-01,0,1,0\n"
                             "2013-01-04,0,1,0\n"
                             "2013-01-03,0,1,-0.5\n"
                             "2013-02-30,0,1,0\n"
                             "2013-01-05,0,1\n"
                             "2013-01-06,-9999,61,2000.5\n"
                             "2013-01-07,\"1,5\",2,T\n"
                             "7.1.2013,0,1,0\n") ==
        "w.csv:2:12: tmin 5.0 degC of 2013-01-01 is above tmax 1.0 degC\n"
        "w.csv:3:1: 2013-01-01 stands twice; first in line 2\n"
        "w.csv:5:1: 2013-01-03 comes after 2013-01-04; dates must be in order\n"
        "w.csv:5:16: rain -0.5 mm is impossible; possible are 0 to 2000 mm\n"
        "w.csv:6:1: there is no day '2013-02-30': February 2013 has 28 days\n"
        "w.csv:7:1: this row has 3 cells, the header has 4\n"
        "w.csv:8:12: tmin -9999 degC is impossible; possible are -90 to 60 degC\n"
        "w.csv:8:18: tmax 61 degC is impossible; possible are -90 to 60 degC; it would be "
        "16.1 degC as degF, 6.1 degC as tenths of degC\n"
        "w.csv:8:21: rain 2000.5 mm is impossible; possible are 0 to 2000 mm; it would be "
        "200.1 mm as tenths of mm\n"
        "w.csv:9:12: tmin '1,5' is not a number; leave the cell empty when nothing was measured\n"
        "w.csv:9:20: rain 'T' is not a number; write 0 for a trace\n"
        "w.csv:10:1: '7.1.2013' is not a date in the form yyyy-mm-dd");
  CHECK(mistakes_of("date,tmin [degC],tmax [F],rain [mm],humidity [%]\n2013-01-01,0,167,0,100.5\n") ==
        "w.csv:2:14: tmax 167 F is impossible; possible are -90 to 60 degC; it would be "
        "16.7 degC as tenths of degC\n"
        "w.csv:2:20: humidity 100.5 % is impossible; possible are 0 to 100 %");
  CHECK(mistakes_of(header + "2013-01-01,0,1,0\n9013-01-02,0,1,0\n") ==
        "w.csv:3:1: the year of 9013-01-02 is impossible; possible are 1700 to 2200");
  CHECK(mistakes_of(header + "2013-01-01,0,,0\n") == "w.csv: there is no day with tmin, tmax and rain");
  CHECK(mistakes_of(header) == "w.csv: there is no day with tmin, tmax and rain");
}

TEST_CASE("plain weather: twenty mistakes are shown and the rest counted", "[scenarios][weather][errors]") {
  std::string text = header;
  for (int i = 0; i < 25; ++i) text += "x,0,1,0\n";
  CHECK_THAT(mistakes_of(text),
             contains("w.csv:21:1: 'x' is not a date in the form yyyy-mm-dd\n... and 5 more"));
}

TEST_CASE("weather: short gaps are filled and listed", "[scenarios][weather][gaps]") {
  // tmax falls by 2 a day and tmin is measured above the line on the 3rd; rain of the gap is the mean of the
  // same four calendar days in 2014, (4 + 0 + 8 + 0) / 4 = 3
  std::string text = header +
                     "2012-12-31,0,,1\n"
                     "2013-01-01,0,10,1\n"
                     "2013-01-03,9,,\n"
                     "2013-01-06,0,0,1\n";
  for (auto d = day("2013-01-07"); d < day("2014-01-01"); d += days(1)) text += format_date(d) + ",1,2,0\n";
  text +=
      "2014-01-01,1,2,0\n2014-01-02,1,2,4\n2014-01-03,1,2,0\n2014-01-04,1,2,8\n2014-01-05,1,2,0\n2014-01-06,"
      "1,2,\n";
  const auto record = read_weather(text, "w.csv");
  const Weather& weather = record.weather;
  CHECK(record.trimmed_days == 2);
  CHECK(format_date(weather.start) == "2013-01-01");
  CHECK(weather.days.size() == 365 + 5);
  CHECK(at(weather, "2013-01-02").tmin_C == Approx(4.5).epsilon(rounding));
  CHECK(at(weather, "2013-01-02").tmax_C == Approx(8.0).epsilon(rounding));
  CHECK(at(weather, "2013-01-03").tmax_C == 9.0);  // 6 by the line, below the measured tmin
  CHECK(at(weather, "2013-01-04").tmin_C ==
        Approx(4.0).epsilon(rounding));  // 6 by the line, tmax is filled with 4
  CHECK(at(weather, "2013-01-05").tmax_C >= at(weather, "2013-01-05").tmin_C);
  for (const char* gap : {"2013-01-02", "2013-01-03", "2013-01-04", "2013-01-05"}) {
    CHECK(at(weather, gap).rain_mm == Approx(3.0).epsilon(rounding));
  }
  REQUIRE(record.filled.size() == 3);
  CHECK(record.filled[0].what == "tmin");
  CHECK(record.filled[1].what == "tmax, rain");
  CHECK(record.filled[1].days == 4);
  CHECK(format_date(record.filled[2].first) == "2013-01-04");
  CHECK(summarise(record).filled_days == 4);
}

TEST_CASE("weather: rain of a gap without another year is 0", "[scenarios][weather][gaps]") {
  const auto record = read_weather(header + "2013-01-01,0,1,5\n2013-01-03,0,1,5\n", "w.csv");
  CHECK(record.weather.days.at(1).rain_mm == 0.0);
}

TEST_CASE("weather: long gaps are refused with their dates", "[scenarios][weather][gaps][errors]") {
  const std::string text = header +
                           "2012-02-20,0,1,0\n"
                           "2012-02-29,0,1,0\n"
                           "2012-03-01,0,,0\n"
                           "2012-03-02,0,1,0\n";
  CHECK(mistakes_of(text) ==
        "w.csv:2:1: no tmin, tmax, rain from 2012-02-21 to 2012-02-28; a gap of 8 days is longer than the 7 "
        "allowed");
  WeatherOptions options;
  options.longest_gap_d = 0;
  CHECK(mistakes_of(text, options) ==
        "w.csv:2:1: no tmin, tmax, rain from 2012-02-21 to 2012-02-28; a gap of 8 days is longer than the 0 "
        "allowed\n"
        "w.csv:4:1: no tmax on 2012-03-01; a gap of 1 day is longer than the 0 allowed");
  options.longest_gap_d = 8;
  CHECK(read_weather(text, "w.csv", options).weather.days.size() == 12);
}

TEST_CASE("weather: suspicious days are kept and listed", "[scenarios][weather]") {
  std::string text = "# latitude: 45\ndate,tmin [degC],tmax [degC],rain [mm],radiation [MJ/m2/d]\n";
  text += "2013-06-01,0,35.5,0,20\n2013-06-02,10,20,251,20\n2013-06-03,7,7,0,20\n2013-06-04,8,9,0,0\n";
  for (int i = 5; i <= 15; ++i)
    text += "2013-06-" + std::string(i < 10 ? "0" : "") + std::to_string(i) + ",1,2,0,20\n";
  const auto list = read_weather(text, "w.csv").suspicious;
  REQUIRE(list.size() == 5);
  CHECK(to_string(list[0]) == "daily range 35.5 C");
  CHECK(list[0].line == 3);
  CHECK(to_string(list[1]) == "rain 251.0 mm");
  CHECK(to_string(list[2]) == "tmin and tmax are both 7.0 degC");
  CHECK(to_string(list[3]) == "radiation 0");
  CHECK(to_string(list[4]) == "the same tmin and tmax on 11 days in a row");
  CHECK(format_date(list[4].day) == "2013-06-05");
  CHECK(list[4].line == 7);
  // 35.5 C of range are 35.5 x 1.8 F; 251 mm / 25.4; 7 x 1.8 + 32
  CHECK(to_string(list[0], true) == "daily range 63.9 F");
  CHECK(to_string(list[1], true) == "rain 9.88 in");
  CHECK(to_string(list[2], true) == "tmin and tmax are both 44.6 degF");
  CHECK(to_string(list[4], true) == to_string(list[4]));
  SuspiciousDay cold;
  cold.why = SuspiciousDay::Why::out_of_season;
  cold.value = -30.0;
  cold.distance = -20.0;
  cold.field = 0;
  CHECK(to_string(cold) == "tmin -30.0 degC is 20.0 C below the mean of that fortnight");
  CHECK(to_string(cold, true) == "tmin -22.0 degF is 36.0 F below the mean of that fortnight");
}

TEST_CASE("weather: the New York series is whole", "[scenarios][weather][data]") {
  const std::string text = slurp(source_dir() / "notebooks-data" / "weather-newyork-2012-2015.csv");
  const auto record = read_weather(text, "weather-newyork-2012-2015.csv");
  const auto summary = summarise(record);
  CHECK(record.weather.latitude_deg == 40.78);
  CHECK(record.filled.empty());
  CHECK(record.suspicious.empty());
  CHECK(format_date(summary.first) == "2012-01-01");
  CHECK(format_date(summary.last) == "2015-12-31");
  CHECK(summary.days == 1461);
  CHECK(summary.whole_years == 4);
  // counted from the source file with Python's csv module
  CHECK(summary.mean_annual_rain_mm == Approx(1044.65).margin(0.005));
  CHECK(summary.hottest.value == 37.8);
  CHECK(summary.coldest.value == -16.0);
  CHECK(summary.wettest.value == 118.9);
  CHECK(summary.not_measured_columns == std::vector<std::string>{"radiation", "wind", "humidity",
                                                                 "snow depth", "soil temperature",
                                                                 "soil moisture"});
  CHECK(same(read_weather(write_plain_weather(record.weather), "again").weather, record.weather));
}

TEST_CASE("weather: Ames, Iowa, 1980-2020", "[scenarios][weather][data]") {
  NEEDS_SHARED("weather-ames-iowa");
  const auto record = read_weather(ames_plain_weather(), "ames.csv");
  const auto summary = summarise(record);
  CHECK(summary.days == 14976);
  CHECK(summary.whole_years == 41);
  CHECK(record.filled.empty());
  // the checks of the folder's provenance file, to the digits printed there
  CHECK(summary.mean_temperature_C == Approx(9.47).margin(0.005));
  CHECK(summary.mean_annual_rain_mm == Approx(842.0).margin(0.5));
  CHECK(summary.coldest.value == Approx(-33.6).margin(0.05));
  CHECK(summary.hottest.value == Approx(45.0).margin(0.05));
  CHECK(format_date(summary.hottest.day) == "1993-08-10");
  CHECK(summary.not_measured_columns.front() == "wind");
  const auto listed = [&](const char* date) {
    for (const auto& suspicious : record.suspicious) {
      if (suspicious.day == day(date)) return true;
    }
    return false;
  };
  for (const char* flagged : {"1993-08-10", "1991-05-21", "1992-01-25", "2010-01-11", "2015-07-31"}) {
    INFO(flagged);
    CHECK(listed(flagged));
  }
  CHECK(record.suspicious.size() < 41);  // less than one a year, or nobody reads the list
}
