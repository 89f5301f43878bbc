#include "scenarios/weather/weather_years.hpp"

#include <string>

#include "scenarios/text/calendar.hpp"
#include "scenarios/text/mistakes.hpp"
#include "tests/catch.hpp"

using namespace stoverturn;
using std::chrono::days;

namespace {

std::chrono::sys_days day(const char* text) { return parse_date(text); }

const WeatherDay& at(const Weather& weather, const char* date) {
  return weather.days.at(static_cast<std::size_t>((day(date) - weather.start).count()));
}

/// Days from `first` on whose tmin counts 0, 1, 2 ...: no other column is needed to know a day again.
Weather counted(const char* first, const char* last) {
  Weather weather;
  weather.start = day(first);
  for (auto d = day(first); d <= day(last); d += days(1)) {
    WeatherDay entry;
    entry.tmin_C = static_cast<double>((d - weather.start).count());
    weather.days.push_back(entry);
  }
  return weather;
}

}  // namespace

TEST_CASE("years: inside the record days are taken as they are", "[scenarios][weather][years]") {
  const Weather record = counted("2012-03-15", "2012-04-15");
  bool looped = true;
  const Weather part = extended(record, day("2012-03-20"), day("2012-03-22"), looped);
  CHECK_FALSE(looped);
  CHECK(part.start == day("2012-03-20"));
  REQUIRE(part.days.size() == 3);
  CHECK(part.days[0].tmin_C == 5.0);
}

TEST_CASE("years: a longer run repeats the years in order and keeps the calendar",
          "[scenarios][weather][years]") {
  const char* first = GENERATE("2012-01-01", "2012-07-15", "2012-03-01", "2012-02-29");
  const Weather record = counted(first, "2015-09-30");
  CHECK(whole_years(record) == 3);
  bool looped = false;
  const Weather longer = extended(record, day("2000-01-01"), day("2040-12-31"), looped);
  CHECK(looped);
  REQUIRE(longer.days.size() == 14976);  // 41 years with 11 leap days
  // years counted from the record's first day, by comparing "mm-dd" as text
  const auto year_number = [&](std::chrono::sys_days d) {
    const bool before = format_date(d).substr(5) < format_date(record.start).substr(5);
    return year_of(d) - year_of(record.start) - (before ? 1 : 0);
  };
  for (std::size_t i = 0; i < longer.days.size(); ++i) {
    const auto d = longer.start + days(i);
    const auto source = record.start + days(static_cast<int>(longer.days[i].tmin_C));
    INFO(format_date(d) << " was taken from " << format_date(source));
    if (d >= record.start && d <= day("2015-09-30")) {
      REQUIRE(source == d);
    } else {
      REQUIRE(source == same_day_in(year_of(source), d));
      REQUIRE(year_number(source) == ((year_number(d) % 3) + 3) % 3);
    }
  }
}

TEST_CASE("years: the days after a record of two years", "[scenarios][weather][years]") {
  const Weather record = counted("2013-01-01", "2014-12-31");
  bool looped = false;
  const Weather longer = extended(record, day("2011-12-31"), day("2016-12-31"), looped);
  CHECK(at(longer, "2011-12-31").tmin_C == 364.0);         // 2011 stands where 2013 does: two years back
  CHECK(at(longer, "2012-01-01").tmin_C == 365.0);         // 2012 as 2014
  CHECK(at(longer, "2012-02-29").tmin_C == 365.0 + 58.0);  // 28 February 2014
  CHECK(at(longer, "2012-03-01").tmin_C == 365.0 + 59.0);
  CHECK(at(longer, "2015-01-01").tmin_C == 0.0);
  CHECK(at(longer, "2016-12-31").tmin_C == 729.0);
}

TEST_CASE("years: 365 days can be repeated, 364 cannot", "[scenarios][weather][years][errors]") {
  bool looped = false;
  const Weather enough = counted("2012-01-01", "2012-12-30");
  const Weather longer = extended(enough, day("2012-01-01"), day("2013-12-31"), looped);
  CHECK(at(longer, "2012-12-31").tmin_C == 364.0);
  CHECK(at(longer, "2013-12-31").tmin_C == 364.0);
  CHECK(at(longer, "2013-01-01").tmin_C == 0.0);
  CHECK_THROWS_WITH(
      extended(counted("2013-01-01", "2013-12-30"), day("2013-01-01"), day("2014-01-01"), looped),
      "weather: the record holds 364 days (2013-01-01 to 2013-12-30); weather is wanted for 2013-01-01 to "
      "2014-01-01, and only a record of at least 365 days can be repeated");
  CHECK_THROWS_AS(extended(Weather{}, day("2013-01-01"), day("2014-01-01"), looped), InputError);
}
