#include <cmath>
#include <string>
#include <vector>

#include "scenarios/text/calendar.hpp"
#include "scenarios/text/mistakes.hpp"
#include "scenarios/weather/weather_columns.hpp"
#include "scenarios/weather/weather_plain.hpp"
#include "scenarios/weather/weather_reading.hpp"
#include "tests/catch.hpp"
#include "tests/mistakes_in.hpp"

using namespace stoverturn;

namespace {

constexpr double rounding = 1e-12;  // a few conversions in double precision

std::string mistakes_of(const std::string& text, const WeatherOptions& options = {}) {
  return mistakes_in([&] { read_weather(text, "w.csv", options); });
}

Weather weather_in(const std::string& text) { return read_weather(text, "w.csv").weather; }

WeatherOptions of_station(const std::string& station) {
  WeatherOptions options;
  options.station = station;
  return options;
}

std::string gap_of(const WeatherRecord& record, std::size_t i) { return to_string(record.filled.at(i)); }

}  // namespace

TEST_CASE("weather columns: names and units as people write them", "[scenarios][weather][columns]") {
  struct Case {
    std::string header;
    std::size_t field;
    double found, wanted;  // in the file, and in the unit of WeatherDay
  };
  // 1 in = 25.4 mm and 1 mile = 1609.344 m exactly; a day has 86,400 s
  const Case cases[] = {
      {"Tmax (F)", 1, 50.0, 10.0},
      {"TMAX [degC]", 1, 50.0, 50.0},
      {"maxt_c", 1, 20.0, 20.0},
      {"air temperature max (°C)", 1, 20.0, 20.0},
      {"Maximum Air Temperature [K]", 1, 293.15, 20.0},
      {"AirTempMax_F", 1, 68.0, 20.0},
      {"Daily Max Temp (deg F)", 1, 68.0, 20.0},
      {"T.max [C]", 1, 20.0, 20.0},
      {"mint_c", 0, -3.0, -3.0},
      {"Low Temp (°F)", 0, 32.0, 0.0},
      {"precip_in", 2, 0.5, 12.7},
      {"PRCP (mm)", 2, 3.0, 3.0},
      {"Total precipitation (mm/day)", 2, 3.0, 3.0},
      {"rain_mm", 2, 3.0, 3.0},
      {"Rainfall [inches]", 2, 1.0, 25.4},
      {"radn_MJm2", 3, 20.0, 20.0},
      {"Solar Radiation (MJ/m2)", 3, 20.0, 20.0},
      {"solar rad (MJ/m^2/day)", 3, 20.0, 20.0},
      {"srad [W/m2]", 3, 100.0, 8.64},
      {"Solar [kWh/m2]", 3, 5.0, 18.0},
      {"avg wind speed (mph)", 4, 10.0, 4.4704},
      {"wind_mps", 4, 3.0, 3.0},
      {"wind speed 10m [m/s]", 4, 3.2, 2.4},  // FAO-56 Example 14, to its two digits
      {"RH (%)", 5, 55.0, 55.0},
      {"mean_relative_humidity_pct", 5, 55.0, 55.0},
      {"SNWD [in]", 6, 2.0, 50.8},
      {"soil temp 4in (F)", 7, 50.0, 10.0},
      {"Soil VWC [%]", 8, 25.0, 0.25},
  };
  for (const Case& c : cases) {
    INFO(c.header);
    CHECK(names_weather_or_date(c.header));
    CsvRow header = {{"date", 1, 1}, {c.header, 1, 6}};
    if (c.field != 0) header.push_back({"tmin [degC]", 1, 40});
    if (c.field != 1) header.push_back({"tmax [degC]", 1, 52});
    if (c.field != 2) header.push_back({"rain [mm]", 1, 64});
    Mistakes mistakes;
    const auto columns = read_weather_header(header, "w.csv", {}, mistakes);
    REQUIRE_NOTHROW(mistakes.throw_if_any());
    CHECK(columns[1].meaning == c.field);
    const double value = columns[1].conversion.factor * c.found + columns[1].conversion.offset;
    const double published = c.header.find("10m") == std::string::npos ? rounding : 0.005;
    CHECK(value == Approx(c.wanted).epsilon(published).margin(rounding));
  }
}

TEST_CASE("weather columns: what means nothing here is listed, what is misspelt is a mistake",
          "[scenarios][weather][columns][errors]") {
  const auto record = read_weather(
      "date,plot,tmin_c,tmax_c,rain_mm,SNOW,wind direction [deg],soil temp 20cm [C],dew point [C],note\n"
      "2013-01-01,7,0,1,2,3,270,4,-1,x\n",
      "w.csv");
  CHECK(record.unread_columns ==
        std::vector<std::string>{"plot", "SNOW", "wind direction", "soil temp 20cm", "dew point"});
  CHECK(record.weather.days.at(0).rain_mm == 2.0);
  CHECK(std::isnan(record.weather.days.at(0).soil_temperature_C));
  CHECK(mistakes_of("date,tmin_c,tmax_c,rain_mm,humiditty [%],radaition [MJ/m2/d]\n") ==
        "w.csv:1:28: unknown column 'humiditty'; did you mean 'humidity'?\n"
        "w.csv:1:42: unknown column 'radaition'; did you mean 'radiation'?");
  CHECK(mistakes_of("date,tmin_c,tmax_c,water [mm],elevation\n") ==
        "w.csv:1:1: there is no column 'rain'; write rain [mm] or rain [in]; not understood: 'water'\n"
        "w.csv:1:31: elevation needs a unit: write elevation [m] or elevation [ft], or say it under "
        "[weather] or with "
        "--elevation");
}

TEST_CASE("weather dates: columns of year, month and day, or of year and day of year",
          "[scenarios][weather][dates]") {
  const Weather by_month = weather_in(
      "Year,Month,Day,tmin_c,tmax_c,rain_mm\n2012,2,28,0,1,0\n2012,2,29,2,3,0\n2012,03,01,4,5,0\n");
  CHECK(format_date(by_month.start) == "2012-02-28");
  REQUIRE(by_month.days.size() == 3);
  CHECK(by_month.days[2].tmin_C == 4.0);

  // day 366 of a leap year, and the first day of the year after it
  for (const char* header : {"year,doy", "YEAR,yday", "yr,day_of_year", "year,day"}) {
    INFO(header);
    const Weather by_day = weather_in(
        std::string(header) + ",tmin_c,tmax_c,rain_mm\n2012,365,0,1,0\n2012,366,2,3,0\n2013,1,4,5,0\n");
    CHECK(format_date(by_day.start) == "2012-12-30");
    REQUIRE(by_day.days.size() == 3);
    CHECK(by_day.days[1].tmin_C == 2.0);
  }
  // a date goes before the other columns, which then need not make sense
  CHECK(format_date(weather_in("date,year,day,tmin_c,tmax_c,rain_mm\n2012-07-01,2011,999,0,1,0\n").start) ==
        "2012-07-01");
  CHECK(mistakes_of("year,doy,tmin_c,tmax_c,rain_mm\n2013,365,0,1,0\n2013,366,0,1,0\n2014,0,0,1,0\n"
                    "2014,1.5,0,1,0\nx,1,0,1,0\n") ==
        "w.csv:3:1: there is no day 366 in 2013: that year has 365 days\n"
        "w.csv:4:1: there is no day 0 in 2014: that year has 365 days\n"
        "w.csv:5:1: day of year '1.5' is not a whole number\n"
        "w.csv:6:1: year 'x' is not a whole number");
  CHECK(mistakes_of("year,month,day,tmin_c,tmax_c,rain_mm\n2013,2,29,0,1,0\n2013,13,1,0,1,0\n"
                    "2013,3,2,0,1,0\n2013,3,2,0,1,0\n2013,3,1,0,1,0\n") ==
        "w.csv:2:1: there is no day '2013-02-29': February 2013 has 28 days\n"
        "w.csv:3:1: there is no day '2013-13-01': a month is 01 to 12\n"
        "w.csv:5:1: 2013-03-02 stands twice; first in line 4\n"
        "w.csv:6:1: 2013-03-01 comes after 2013-03-02; dates must be in order");
}

TEST_CASE("weather dates: other ways to write one", "[scenarios][weather][dates]") {
  const auto start_of = [](const std::string& first, const std::string& second) {
    const Weather weather =
        weather_in("date,tmin_c,tmax_c,rain_mm\n" + first + ",0,1,0\n" + second + ",0,1,0\n");
    REQUIRE(weather.days.size() == 2);
    return format_date(weather.start);
  };
  CHECK(start_of("20120228", "20120229") == "2012-02-28");
  CHECK(start_of("2012/02/28", "2012/02/29") == "2012-02-28");
  CHECK(start_of("2012-02-28T00:00", "2012-02-29 00:00:00") == "2012-02-28");
  CHECK(start_of("2/28/2012", "2/29/2012") == "2012-02-28");         // month first
  CHECK(start_of("28/02/2012", "29/02/2012 0:00") == "2012-02-28");  // day first
  CHECK(start_of("12/31/2012", "1/1/2013") == "2012-12-31");         // told by another row
  CHECK(mistakes_of("date,tmin_c,tmax_c,rain_mm\n1/2/2012,0,1,0\n") ==
        "w.csv:2:1: '1/2/2012' does not tell day from month; write yyyy-mm-dd");
  CHECK(mistakes_of("date,tmin_c,tmax_c,rain_mm\n1/31/2012,0,1,0\n31/1/2012,0,1,0\n") ==
        "w.csv:2:1: '1/31/2012' does not tell day from month; write yyyy-mm-dd\n"
        "w.csv:3:1: '31/1/2012' does not tell day from month; write yyyy-mm-dd");
  CHECK(mistakes_of("date,tmin_c,tmax_c,rain_mm\n20120231,0,1,0\n") ==
        "w.csv:2:1: there is no day '20120231': February 2012 has 29 days");
}

TEST_CASE("weather tables: semicolons with decimal commas, and tabs", "[scenarios][weather]") {
  const Weather semicolons = weather_in(
      "# latitude: 33.9 S\ndate;tmin [degC];tmax [degC];rain [mm]\n2012-01-01;1,5;20.25;-0,0\n"
      "2012-01-02;-0,5;2;1e1\n");
  CHECK(semicolons.latitude_deg == -33.9);
  CHECK(semicolons.days.at(0).tmin_C == 1.5);
  CHECK(semicolons.days.at(0).tmax_C == 20.25);
  CHECK(semicolons.days.at(1).rain_mm == 10.0);
  const Weather tabs = weather_in(
      "date\ttmin [degC]\ttmax [degC]\train [mm]\n2012-01-01\t1.5\t2\tNaN\n"
      "2012-01-02\t1\t2\t0\n");
  CHECK(format_date(tabs.start) == "2012-01-02");
  CHECK(mistakes_of("date;tmin [degC];tmax [degC];rain [mm]\n2012-01-01;1,5,5;2;0\n") ==
        "w.csv:2:12: tmin '1,5,5' is not a number; leave the cell empty when nothing was measured");
}

TEST_CASE("weather tables: several stations in one file", "[scenarios][weather][stations][errors]") {
  const std::string header = "Site,date,tmin_c,tmax_c,rain_mm,latitude,elevation [m]\n";
  const std::string text = header +
                           "north,2013-01-01,0,1,0,45.5,300\nsouth,2013-01-01,10,11,0,-33.25,20\n"
                           "north,2013-01-02,2,3,0,45.5,300\nsouth,2013-01-02,12,13,0,-33.25,20\n";
  CHECK(mistakes_of(text) ==
        "w.csv: the file holds 2 stations (north, south); choose one with --station, or with `station` under "
        "[weather]");
  const Weather south = read_weather(text, "w.csv", of_station("south")).weather;
  CHECK(south.days.at(1).tmin_C == 12.0);
  CHECK(south.latitude_deg == -33.25);
  CHECK(south.elevation_m == Approx(20.0).epsilon(rounding));
  CHECK(read_weather(text, "w.csv", of_station("north")).weather.days.at(1).tmax_C == 3.0);
  CHECK(mistakes_of(text, of_station("sout")) ==
        "w.csv: the file holds no station 'sout'; did you mean 'south'?");
  // one station needs no choice; another station's rows are not looked at
  CHECK(read_weather(header + "north,2013-01-01,0,1,0,45.5,300\n", "w.csv").weather.days.size() == 1);
  CHECK(read_weather(text + "south,what?,x,y,z,,\n", "w.csv", of_station("north")).weather.days.size() == 2);
  CHECK(mistakes_of("date,tmin_c,tmax_c,rain_mm\n2013-01-01,0,1,0\n", of_station("north")) ==
        "w.csv: the file names no stations, so 'north' cannot be chosen; leave it out");
  CHECK(mistakes_of(header + "north,2013-01-01,0,1,0,95,10000\n") ==
        "w.csv:2:24: latitude 95 is impossible; possible are -90 to 90\n"
        "w.csv:2:27: elevation 10000 is impossible; possible are -500 to 9000");
  std::string many = "station,date,tmin_c,tmax_c,rain_mm\n";
  for (int i = 10; i < 25; ++i) many += "s" + std::to_string(i) + ",2013-01-01,0,1,0\n";
  CHECK(
      mistakes_of(many) ==
      "w.csv: the file holds 15 stations (s10, s11, s12, s13, s14, s15, s16, s17, s18, s19, s20, s21, ...); "
      "choose one with --station, or with `station` under [weather]");
}

TEST_CASE("weather tables: what was filled is written and known again", "[scenarios][weather][gaps]") {
  const auto record = read_weather(
      "date,tmin_c,tmax_c,rain_mm\n2013-01-01,0,3,5\n2013-01-03,,6,5\n2013-01-04,3,6,5\n", "w.csv");
  REQUIRE(record.filled.size() == 2);
  const std::string text = write_plain_weather(record.weather, record.filled);
  CHECK(text.substr(0, text.find("date,")) ==
        "# elevation: 0 m\n# filled: 2013-01-02 tmax, rain\n# filled: 2013-01-02 to 2013-01-03 tmin\n");
  const auto again = read_weather(text, "again.csv");
  REQUIRE(again.filled.size() == 2);
  for (std::size_t i = 0; i < 2; ++i) CHECK(gap_of(again, i) == gap_of(record, i));
  CHECK(summarise(again).filled_days == summarise(record).filled_days);
  CHECK(write_plain_weather(again.weather, again.filled) == text);
  CHECK(weather_notes(again, "w.csv") ==
        std::vector<std::string>{"w.csv: days filled: 3 (in 2 gap(s)); `stoverturn weather` lists them."});
  // words that only begin like it are a comment
  CHECK(
      read_weather("# filled: by hand\n# filled: 2013-01-05\ndate,tmin_c,tmax_c,rain_mm\n2013-01-01,0,3,5\n",
                   "w.csv")
          .filled.empty());
}

TEST_CASE("weather tables: records that start in the middle of a year, in leap years",
          "[scenarios][weather][years]") {
  std::string text = "# latitude: 33.25 S\ndate,tmin_c,tmax_c,rain_mm\n";
  for (auto day = parse_date("2011-07-01"); day < parse_date("2013-07-01"); day += std::chrono::days(1)) {
    text += format_date(day) + ",0,1," + (format_date(day).ends_with("02-29") ? "366" : "0") + "\n";
  }
  const auto summary = summarise(read_weather(text, "w.csv"));
  CHECK(summary.days == 366 + 365);
  CHECK(summary.whole_years == 2);
  CHECK(format_date(summary.wettest.day) == "2012-02-29");
  CHECK(summary.mean_annual_rain_mm == Approx(183.0).epsilon(rounding));
}

TEST_CASE("weather tables: the Ames file as it stands", "[scenarios][weather][data]") {
  NEEDS_SHARED("weather-ames-iowa");
  const auto record = read_weather(slurp(shared_data("weather-ames-iowa") / "mrs_wea.csv"), "mrs_wea.csv");
  const auto summary = summarise(record);
  CHECK(summary.days == 14976);
  CHECK(record.unread_columns.empty());
  // the checks of the folder's provenance file, to the digits printed there
  CHECK(summary.mean_temperature_C == Approx(9.47).margin(0.005));
  CHECK(summary.mean_annual_rain_mm == Approx(842.0).margin(0.5));
  CHECK(record.weather.days[0].radiation_MJ_m2 == 2.703);  // the file's first row
  CHECK(record.weather.days[0].tmin_C == -3.9);
}

TEST_CASE("weather tables: the Milwaukee file with its units written into the header",
          "[scenarios][weather][data]") {
  NEEDS_SHARED("weather-milwaukee-ghcnd");
  std::string text = slurp(shared_data("weather-milwaukee-ghcnd") / "GHCN_USW00014839_2000-2025.csv");
  CHECK_THAT(mistakes_of(text),
             contains("w.csv:1:33: no unit is stated for PRCP, SNWD, TMAX, TMIN; look at"));
  WeatherOptions us;
  us.columns_in = ColumnsIn::us;
  const Weather chosen = read_weather(text, "milwaukee.csv", us).weather;
  text = "year,month,day,date,day_of_year,PRCP (in),SNOW (in),SNWD (in),TMAX (F),TMIN (F)" +
         text.substr(text.find('\n'));
  const auto record = read_weather(text, "milwaukee.csv");
  CHECK(record.weather.days.size() == 9497);
  CHECK(write_plain_weather(chosen) == write_plain_weather(record.weather));
  CHECK(record.unread_columns == std::vector<std::string>{"SNOW"});
  // row 3 of the file: 0.38976399 in, 0.40157502 in on the ground, 35.96 and 30.02 degF
  CHECK(record.weather.days[2].rain_mm == Approx(9.9).epsilon(1e-6));
  CHECK(record.weather.days[2].snow_depth_mm == Approx(10.2).epsilon(1e-6));
  CHECK(record.weather.days[2].tmax_C == Approx(2.2).epsilon(1e-6));
  CHECK(record.weather.days[2].tmin_C == Approx(-1.1).epsilon(1e-6));
}

TEST_CASE("weather tables: New York out of a file of two places", "[scenarios][weather][data]") {
  NEEDS_SHARED("weather-seattle-newyork");
  std::string text = slurp(shared_data("weather-seattle-newyork") / "weather.csv");
  text = "location,date,precipitation (mm),temp_max (C),temp_min (C),wind (m/s),weather" +
         text.substr(text.find('\n'));
  CHECK(mistakes_of(text) ==
        "w.csv: the file holds 2 stations (New York, Seattle); choose one with --station, or with `station` "
        "under [weather]");
  const Weather read = read_weather(text, "w.csv", of_station("New York")).weather;
  const Weather shipped =
      weather_in(slurp(source_dir() / "notebooks-data" / "weather-newyork-2012-2015.csv"));
  REQUIRE(read.days.size() == shipped.days.size());
  for (std::size_t i = 0; i < read.days.size(); ++i) {
    REQUIRE(read.days[i].tmin_C == shipped.days[i].tmin_C);
    REQUIRE(read.days[i].tmax_C == shipped.days[i].tmax_C);
    REQUIRE(read.days[i].rain_mm == shipped.days[i].rain_mm);
  }
}
