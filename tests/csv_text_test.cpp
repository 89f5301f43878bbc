#include "scenarios/text/csv_text.hpp"

#include <string>

#include "scenarios/text/calendar.hpp"
#include "scenarios/text/mistakes.hpp"
#include "tests/catch.hpp"

using namespace stoverturn;
using std::chrono::days;

TEST_CASE("csv: quotes, line ends, blank and comment lines, positions by RFC 4180", "[scenarios][csv]") {
  const auto csv = read_csv(
      "\xEF\xBB\xBF# note, with a comma\r\na,\"b,\"\"c\"\"\"\r\n\r\n \xC3\xA9 , 2\n\"x\ny\",\r3,4", "f");
  REQUIRE(csv.comments.size() == 1);
  CHECK(csv.comments[0].text == "note, with a comma");
  REQUIRE(csv.rows.size() == 4);
  CHECK(csv.rows[0][1].text == "b,\"c\"");
  CHECK(csv.rows[0][1].line == 2);
  CHECK(csv.rows[0][1].column == 3);
  CHECK(csv.rows[1][0].text == "\xC3\xA9");
  CHECK(csv.rows[1][1].line == 4);
  CHECK(csv.rows[1][1].column == 6);  // the accented letter is two bytes and one character
  CHECK(csv.rows[2][0].text == "x\ny");
  CHECK(csv.rows[2][1].text.empty());
  CHECK(csv.rows[3][0].line == 7);  // a quoted cell over two lines, then a bare CR
  CHECK(csv.rows[3][1].text == "4");
}

TEST_CASE("csv: mistakes in quoting", "[scenarios][csv][errors]") {
  CHECK_THROWS_WITH(read_csv("a,b\n1,\"open\n2,3\n", "f"), "f:2:3: this quote is never closed");
  CHECK_THROWS_WITH(read_csv("5\" pipe,1\n", "f"),
                    "f:1:2: a quote inside an unquoted cell; quote the whole cell and double the quote");
  CHECK_THROWS_WITH(
      read_csv("\"a\" b,1\n", "f"),
      "f:1:5: text after a closing quote; a quote inside a quoted cell is doubled (\"\"), and cells are "
      "separated by ','");
  CHECK_THROWS_WITH(read_csv(std::string("a\0b", 3), "f"),
                    "f: this is not a text file in UTF-8 (it holds NUL bytes); save it as CSV UTF-8");
}

TEST_CASE("csv: a written cell reads back", "[scenarios][csv]") {
  for (const std::string text : {"plain", "a,b", "say \"so\"", " blank ", "two\nlines", "# no comment", ""}) {
    CHECK(read_csv(csv_cell(text) + ",x\n", "f").rows.at(0).at(0).text == text);
  }
}

TEST_CASE("csv: numbers are whole cells and finite", "[scenarios][csv]") {
  CHECK(*number("-1.5e3") == -1500.0);
  CHECK(*number("+2") == 2.0);
  for (const char* text : {"", "1,5", "1.5 mm", "nan", "inf", "1e999", "--1", "+-1", "x"})
    CHECK_FALSE(number(text));
}

TEST_CASE("calendar: ISO dates and leap days", "[scenarios][calendar]") {
  CHECK(parse_date("1970-01-01").time_since_epoch().count() == 0);
  CHECK(parse_date("2000-02-29") - parse_date("1999-02-28") == days(366));
  CHECK(format_date(parse_date("2012-12-31")) == "2012-12-31");
  CHECK(day_of_year(parse_date("2012-12-31")) == 366);
  CHECK(day_of_year(parse_date("2013-12-31")) == 365);
  CHECK(format_date(same_day_in(2013, parse_date("2012-02-29"))) == "2013-02-28");
  CHECK_THROWS_WITH(parse_date("1900-02-29"), "there is no day '1900-02-29': February 1900 has 28 days");
  CHECK_THROWS_WITH(parse_date("2013-13-01"), "there is no day '2013-13-01': a month is 01 to 12");
  for (const std::string text : {"01/02/2013", "2013-1-2", "20130102", "2013-01-02T00:00", ""}) {
    CHECK_THROWS_WITH(parse_date(text), "'" + text + "' is not a date in the form yyyy-mm-dd");
  }
}
