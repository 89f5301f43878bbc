/// Tables of daily weather whose header states no units: said once, or asked for once.
#include <cmath>
#include <string>
#include <vector>

#include "scenarios/text/calendar.hpp"
#include "scenarios/text/mistakes.hpp"
#include "scenarios/weather/weather_reading.hpp"
#include "scenarios/weather/weather_units.hpp"
#include "tests/catch.hpp"
#include "tests/mistakes_in.hpp"

using namespace stoverturn;

namespace {

constexpr double rounding = 1e-12;  // a few conversions in double precision
constexpr double written = 0.5e-6;  // values read are rounded to six decimals

WeatherOptions in(ColumnsIn columns_in) {
  WeatherOptions options;
  options.columns_in = columns_in;
  return options;
}

std::string mistakes_of(const std::string& text, const WeatherOptions& options = {}) {
  return mistakes_in([&] { read_weather(text, "w.csv", options); });
}

WeatherDay first_day(const std::string& text, ColumnsIn columns_in) {
  return read_weather(text, "w.csv", in(columns_in)).weather.days.at(0);
}

const std::string station_table =
    "\"STATION\",\"NAME\",\"LATITUDE\",\"LONGITUDE\",\"DATE\",\"PRCP\",\"PRCP_ATTRIBUTES\",\"TMAX\","
    "\"TMIN\"\n"
    "\"XX000INVENT\",\"INVENTED, XX US\",\"42\",\"-93\",\"2021-07-01\",";
const std::string same_day_us = station_table + "\"0.50\",\",,X\",\"86\",\"59\"\n";
const std::string same_day_metric = station_table + "\"12.7\",\",,X\",\"30.0\",\"15.0\"\n";
const std::string same_day_tenths = station_table + "\"127\",\",,X\",\"300\",\"150\"\n";

/// A year whose every day has these values in the plain units.
std::string year_of(double tmin, double tmax, double rain) {
  std::string text = "date,tmin [degC],tmax [degC],rain [mm]\n";
  for (auto day = parse_date("2013-01-01"); day < parse_date("2014-01-01"); day += std::chrono::days(1)) {
    text += format_date(day) + "," + std::to_string(tmin) + "," + std::to_string(tmax) + "," +
            std::to_string(rain) + "\n";
  }
  return text;
}

std::vector<std::string> doubts(const std::string& text) {
  return doubts_of(read_weather(text, "w.csv").weather);
}

}  // namespace

TEST_CASE("weather units: one word says those of a whole table", "[scenarios][weather][units]") {
  // 1 in = 25.4 mm exactly; 86 degF = 30 degC, 59 degF = 15 degC
  for (const auto& [text, columns_in] :
       {std::pair(same_day_us, ColumnsIn::us), std::pair(same_day_metric, ColumnsIn::metric),
        std::pair(same_day_tenths, ColumnsIn::tenths)}) {
    INFO(text);
    const WeatherDay day = first_day(text, columns_in);
    CHECK(day.rain_mm == Approx(12.7).epsilon(rounding));
    CHECK(day.tmax_C == Approx(30.0).epsilon(rounding));
    CHECK(day.tmin_C == Approx(15.0).epsilon(rounding));
  }
  const std::string others = "DATE,TMAX,TMIN,PRCP,SNWD,AWND,RH\n2021-01-01,1,1,1,1,1,50\n";
  const WeatherDay us = first_day(others, ColumnsIn::us), metric = first_day(others, ColumnsIn::metric);
  const WeatherDay tenths = first_day(others, ColumnsIn::tenths);
  CHECK(us.snow_depth_mm == Approx(25.4).epsilon(rounding));
  CHECK(metric.snow_depth_mm == 1.0);
  CHECK(tenths.snow_depth_mm == 1.0);
  // 0.748 of the wind at 10 m: Allen et al. 1998, FAO-56, Table 2.9; 1 mph = 0.44704 m/s exactly
  CHECK(us.wind_m_s == Approx(0.748 * 0.44704).margin(0.0005 * 0.44704));
  CHECK(metric.wind_m_s == Approx(0.748).margin(0.0005));
  CHECK(tenths.wind_m_s == Approx(metric.wind_m_s / 10.0).margin(written));
  for (const WeatherDay& day : {us, metric, tenths}) CHECK(day.humidity_percent == 50.0);
}

TEST_CASE("weather units: a unit in the header goes first", "[scenarios][weather][units]") {
  const WeatherDay day =
      first_day("date,tmin,tmax (C),rain_mm,elevation [ft]\n2021-07-01,59,30,12.7,100\n", ColumnsIn::us);
  CHECK(day.tmin_C == Approx(15.0).epsilon(rounding));
  CHECK(day.tmax_C == 30.0);
  CHECK(day.rain_mm == 12.7);
}

TEST_CASE("weather units: absent ones are asked for once", "[scenarios][weather][units][errors]") {
  const std::string advice =
      "; look at the numbers, then say it once: columns_in under [weather], or --columns-in, is \"us\" "
      "(degF, "
      "in), \"metric\" (degC, mm) or \"tenths\" (tenths of degC and of mm); or write units into the header, "
      "as "
      "in tmax [degF]";
  CHECK(mistakes_of("DATE,PRCP,TMAX,TMIN\n2021-07-01,0.5,86,59\n") ==
        "w.csv:1:6: no unit is stated for PRCP, TMAX, TMIN" + advice);
  CHECK(mistakes_of(same_day_tenths) ==
        "w.csv:1:48: no unit is stated for PRCP, TMAX, TMIN" + advice +
            "; tables with columns such as PRCP_ATTRIBUTES often are in tenths (from memory)");
  CHECK(mistakes_of("date,elevation,prcp,tmax [F],tmin [F]\n") ==
        "w.csv:1:6: no unit is stated for elevation, prcp" + advice);
  // one alone among others is a slip
  CHECK(mistakes_of("date,tmin [degC],tmax,rain [mm]\n") ==
        "w.csv:1:18: tmax needs a unit: write tmax [degC] or tmax [degF]");
  // what no choice tells
  CHECK(
      mistakes_of("date,tmin,tmax,rain,radiation,soil moisture,elevation\n", in(ColumnsIn::us)) ==
      "w.csv:1:21: radiation needs a unit: write radiation [MJ/m2/d]\n"
      "w.csv:1:31: soil moisture needs a unit: write soil moisture [m3/m3] or soil moisture [%]\n"
      "w.csv:1:45: elevation needs a unit: write elevation [m] or elevation [ft], or say it under [weather] "
      "or with --elevation");
}

TEST_CASE("weather units: elevation", "[scenarios][weather][units]") {
  const std::string text = "date,tmin,tmax,rain,elevation\n2021-07-01,1,2,3,310\n";
  CHECK(read_weather(text, "w.csv", in(ColumnsIn::tenths)).weather.elevation_m == 310.0);
  CHECK(read_weather(text, "w.csv", in(ColumnsIn::metric)).weather.elevation_m == 310.0);
  WeatherOptions us = in(ColumnsIn::us);
  us.elevation_m = 250.0;
  CHECK(read_weather(text, "w.csv", us).weather.elevation_m == 250.0);
}

TEST_CASE("weather units: formats with units of their own need none", "[scenarios][weather][units][errors]") {
  CHECK(mistakes_of("XX000INVENT,20210701,TMAX,300,,,X,\nXX000INVENT,20210701,TMIN,150,,,X,\n"
                    "XX000INVENT,20210701,PRCP,0,,,X,\n",
                    in(ColumnsIn::us)) ==
        "w.csv: GHCN-Daily, by station has units of its own; leave columns_in out");
}

TEST_CASE("weather units: impossible numbers tell in which units they are possible",
          "[scenarios][weather][units][errors]") {
  CHECK(mistakes_of(same_day_us, in(ColumnsIn::metric)) ==
        "w.csv:2:70: tmax 86 degC is impossible; possible are -90 to 60 degC; it would be "
        "30.0 degC with columns_in = \"us\", 8.6 degC with columns_in = \"tenths\"");
  CHECK(possible_units(2540.0, 2, false) == "; it would be 254.0 mm as tenths of mm");
  CHECK(possible_units(-9999.0, 0, false).empty());
  CHECK(possible_units(-1.0, 2, true).empty());
}

TEST_CASE("weather units: a record that is not a cornfield's is doubted", "[scenarios][weather][units]") {
  CHECK(doubts(year_of(5.0, 17.0, 2.0)).empty());
  CHECK(doubts(year_of(-5.0, 10.0, 2.0)) ==
        std::vector<std::string>{
            "the warmest month, 2013-01, has a mean of 2.5 degC, too cold for corn; are the "
            "units of tmin and tmax the right ones?"});
  CHECK(
      doubts(year_of(40.0, 55.0, 2.0)) ==
      std::vector<std::string>{"the warmest month, 2013-01, has a mean of 47.5 degC, hotter than any known; "
                               "are the units of tmin and tmax the right ones?"});
  CHECK(
      doubts(year_of(5.0, 17.0, 0.09)) ==
      std::vector<std::string>{"33 mm of rain a year is a desert's; are the units of rain the right ones?"});
  CHECK(doubts(year_of(5.0, 17.0, 20.0)) ==
        std::vector<std::string>{
            "7300 mm of rain a year is more than fields get; are the units of rain the right ones?"});
  // 2.5 degC, and 32.85 mm / 25.4
  const auto us = doubts_of(read_weather(year_of(-5.0, 10.0, 0.09), "w.csv").weather, true);
  REQUIRE(us.size() == 2);
  CHECK(us[0] ==
        "the warmest month, 2013-01, has a mean of 36.5 degF, too cold for corn; are the units of tmin and "
        "tmax "
        "the right ones?");
  CHECK(us[1] == "1.3 in of rain a year is a desert's; are the units of rain the right ones?");
  // of less than a year nothing is said: a winter is cold
  CHECK(doubts("date,tmin [degC],tmax [degC],rain [mm]\n2013-01-01,-9,-1,0\n").empty());
  const auto notes = weather_notes(read_weather(year_of(5.0, 17.0, 0.09), "w.csv"), "w.csv");
  CHECK(notes ==
        std::vector<std::string>{"w.csv: 33 mm of rain a year is a desert's; are the units of rain the "
                                 "right ones?"});
}
