#include "scenarios/weather/conditions_reading.hpp"

#include "scenarios/text/calendar.hpp"
#include "scenarios/text/mistakes.hpp"
#include "tests/catch.hpp"
#include "tests/mistakes_in.hpp"

using namespace stoverturn;

namespace {

std::string mistakes_of(const std::string& text) {
  return mistakes_in([&] { read_conditions_log(text, "tub.csv"); });
}

std::vector<LoggedDay> days_of(const std::string& text) { return read_conditions_log(text, "tub.csv").days; }

}  // namespace

TEST_CASE("conditions log: values hold until the next row, water is poured on its own day", "[conditions]") {
  const std::vector<LoggedDay> log = days_of(
      "# a tub under a roof\n"
      "day,temperature [degF],wetness [%],pore_filling [%],water [in]\n"
      "0,77,80,60,0.5\n"
      "3,68,,40,\n"
      "4,,,,1\n");
  REQUIRE(log.size() == 5);
  for (int day = 0; day < 3; ++day) {
    CHECK(log[static_cast<std::size_t>(day)].temperature_C == Approx(25.0).margin(1e-9));  // (77 - 32) 5/9
    CHECK(log[static_cast<std::size_t>(day)].wetness == Approx(0.8));
    CHECK(log[static_cast<std::size_t>(day)].pore_filling == Approx(0.6));
  }
  CHECK(log[3].temperature_C == Approx(20.0).margin(1e-9));  // (68 - 32) 5/9
  CHECK(log[3].wetness == Approx(0.8));
  CHECK(log[3].pore_filling == Approx(0.4));
  CHECK(log[4].temperature_C == log[3].temperature_C);
  CHECK(log[4].pore_filling == log[3].pore_filling);
  // an inch is 25.4 mm exactly (NIST Handbook 44, Appendix C)
  CHECK(log[0].water_mm == Approx(12.7));
  CHECK(log[1].water_mm == 0.0);
  CHECK(log[2].water_mm == 0.0);
  CHECK(log[3].water_mm == 0.0);
  CHECK(log[4].water_mm == Approx(25.4));
}

TEST_CASE("conditions log: dates count from the first row, over a leap day", "[conditions]") {
  const std::string dated = "date,water [mm]\n2024-02-27,5\n2024-03-01,10\n";
  const std::vector<LoggedDay> log = days_of(dated);
  CHECK(read_conditions_log(dated, "tub.csv").start == parse_date("2024-02-27"));
  REQUIRE(log.size() == 4);  // 27, 28, 29 February, 1 March
  CHECK(log[0].water_mm == 5.0);
  CHECK(log[1].water_mm == 0.0);
  CHECK(log[2].water_mm == 0.0);
  CHECK(log[3].water_mm == 10.0);
  // what no column tells stays at the conditions of a moist jar
  CHECK(log[3].temperature_C == 25.0);
  CHECK(log[3].wetness == 1.0);
  CHECK(log[3].pore_filling == 0.6);
}

TEST_CASE("conditions log: a first row after day 0 holds for the days before it, dry", "[conditions]") {
  const std::vector<LoggedDay> log = days_of("day,temperature [degC],water [mm]\n2,10,4\n");
  CHECK_FALSE(read_conditions_log("day,water [mm]\n2,4\n", "tub.csv").start.has_value());
  REQUIRE(log.size() == 3);
  CHECK(log[0].temperature_C == 10.0);
  CHECK(log[0].water_mm == 0.0);
  CHECK(log[1].water_mm == 0.0);
  CHECK(log[2].water_mm == 4.0);
}

TEST_CASE("conditions log: mistakes with their place", "[conditions]") {
  CHECK(mistakes_of("day,temperature [degC]\n") ==
        "tub.csv:1:1: the log has no rows; wanted a header and one row a day or more");
  CHECK(mistakes_of("") == "tub.csv:1:1: the log has no rows; wanted a header and one row a day or more");
  CHECK(mistakes_of("day,temprature [degC]\n0,20\n") ==
        "tub.csv:1:5: unknown column `temprature`; did you mean 'temperature'?");
  CHECK(mistakes_of("day,temperature\n0,20\n") ==
        "tub.csv:1:5: temperature needs a unit: write temperature [degC]");
  CHECK(mistakes_of("day,wetness [%]\n0,120\n") == "tub.csv:2:3: wetness: found 120 %, which cannot be");
  CHECK(mistakes_of("day,temperature [degC]\n0,99\n1,20\n") ==
        "tub.csv:2:3: temperature: found 99 degC, which cannot be");
  CHECK(mistakes_of("day,temperature [degC]\nMonday,20\n") ==
        "tub.csv:2:1: day: found 'Monday'; wanted whole days from the start\n"
        "tub.csv:2:1: this row has no date or day");
  CHECK(mistakes_of("day,temperature [degC]\n1.5,20\n") ==
        "tub.csv:2:1: day: found '1.5'; wanted whole days from the start\n"
        "tub.csv:2:1: this row has no date or day");
  CHECK(mistakes_of("day,water [mm]\n0,1\n0,2\n") ==
        "tub.csv:3:1: day 0 comes after day 0; wanted days in order, each once");
  CHECK(mistakes_of("date,water [mm]\n2024-05-02,1\n2024-05-01,2\n") ==
        "tub.csv:3:1: day -1 comes after day 0; wanted days in order, each once");
  CHECK(mistakes_of("temperature [degC]\n20\n") == "tub.csv:2:1: this row has no date or day");
  CHECK_THAT(mistakes_of("date,water [mm]\n2024-02-30,1\n"),
             contains("tub.csv:2:1: there is no day '2024-02-30': February 2024 has 29 days"));
  CHECK_THAT(mistakes_of("day,temperature [degC]\n0,warm\n"),
             contains("tub.csv:2:3: 'warm degC' does not start with a number: wanted a temperature"));
}
