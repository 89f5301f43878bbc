#include "scenarios/files/csv_write.hpp"
#include "scenarios/text/csv_text.hpp"
#include "tests/catch.hpp"
#include "tests/invented_results.hpp"

using namespace stoverturn;
namespace fs = std::filesystem;

namespace {

/// Rows of a CSV file as text, without their positions.
std::vector<std::vector<std::string>> rows_of(const fs::path& path) {
  std::vector<std::vector<std::string>> rows;
  for (const CsvRow& row : read_csv(slurp(path), path.string()).rows) {
    rows.emplace_back();
    for (const CsvCell& cell : row) rows.back().push_back(cell.text);
  }
  return rows;
}

}  // namespace

using Row = std::vector<std::string>;

TEST_CASE("CSV: key numbers, one row each, quoted by RFC 4180", "[files]") {
  const Folder folder;
  Results results = invented();
  results.units = "si";
  write_key_numbers_csv(folder / "key.csv", results);
  CHECK_THAT(slurp(folder / "key.csv"),
             Matchers::StartsWith("treatment,checkpoint,variable,component,pieces,placement,harvest,"
                                  "element,substance,value,unit\n"
                                  "\"fall, chopped\",,half_life,,,,,,,0.3333333333,d\n"
                                  "\"spring \"\"no-till\"\"\",,half_life,,,,,,,,d\n"));

  const std::vector<Row> rows = rows_of(folder / "key.csv");
  // half_life 4, left 8, released 4 x 5 x 2, value 8, stage_day 4 x 3, worst_balance 1
  REQUIRE(rows.size() == 1 + 4 + 8 + 40 + 8 + 12 + 1);
  for (const Row& row : rows) CHECK(row.size() == 11);
  CHECK(rows[4][9] == "0");  // -0.0
  // The second checkpoint of the third treatment: position 1 * 4 + 2 of `left`, 1 / (3 + 6).
  CHECK(rows[1 + 4 + 6] == Row{"größer ⅓", "year 1", "left", "", "", "", "", "", "", "11.11111111", "%"});
  // The first treatment's N at the first checkpoint, 1 / (3 + 2) g/m2; 1 g/m2 = 10 kg/ha.
  CHECK(rows[1 + 4 + 8 + 2] ==
        Row{"fall, chopped", "planting 1", "released", "", "", "", "", "N", "", "2", "kg/ha"});
  CHECK(rows[1 + 4 + 8 + 40][10] == "€/ha");
  CHECK(rows[1 + 4 + 8 + 40 + 8 + 1][1] == "silking 1");  // a stage stands where the checkpoint does
  CHECK(rows.back() == Row{"", "", "worst_balance", "", "", "", "", "", "", "33.33333333", "%"});
}

TEST_CASE("CSV: series by month and by day", "[files]") {
  const Folder folder;
  Results results = invented();
  results.units = "si";
  write_series_csv(folder / "monthly.csv", results, false);
  const std::vector<Row> monthly = rows_of(folder / "monthly.csv");
  // 400 days from 15 October 2012 end on 18 November 2013: 13 firsts of a month, and both ends.
  const std::size_t dates = 15;
  REQUIRE(monthly.size() == 1 + dates * (4 * 3 * 3 + 1));
  CHECK(monthly[1] == Row{"fall, chopped", "2012-10-15", "mass_by_part", "stalk", "", "standing", "", "", "",
                          "3.333333333", "kg/ha"});
  CHECK(monthly[2][1] == "2012-11-01");
  CHECK(monthly[dates - 1][1] == "2013-11-01");
  CHECK(monthly[dates][1] == "2013-11-18");
  CHECK(monthly.back() == Row{"", "2013-11-18", "soil_temperature", "", "", "", "", "", "", "0.002487562189",
                              "degC"});  // 1 / (3 + 399)

  write_series_csv(folder / "daily.csv", results, true);
  const std::vector<Row> daily = rows_of(folder / "daily.csv");
  REQUIRE(daily.size() == 1 + 400 * (4 * 3 * 3 + 1));  // cohorts are in the HDF5 file alone
  CHECK(daily[1] == monthly[1]);
  CHECK(daily[2][1] == "2012-10-16");
}

TEST_CASE("CSV: units of the trade where the file asks for them", "[files]") {
  const Folder folder;
  Results results = invented();
  results.units = "us";
  results.series[1].substance = "K";
  write_series_csv(folder / "us.csv", results, false);
  const std::vector<Row> rows = rows_of(folder / "us.csv");
  // 1 lb = 453.59237 g, 1 acre = 4046.8564224 m2 (NIST Handbook 44, Appendix C);
  // K2O holds 2 x 39.0983 / (2 x 39.0983 + 15.999) of K (IUPAC atomic weights)
  const double expected = 1.0 / 3.0 * 4046.8564224 / 453.59237 * (2 * 39.0983 + 15.999) / (2 * 39.0983);
  CHECK(rows[1][8] == "K2O");
  CHECK(rows[1][10] == "lb/acre");
  CHECK(std::stod(rows[1][9]) == Approx(expected).epsilon(1e-4));  // the program's factor has four digits
  CHECK(rows.back()[10] == "degF");
  CHECK(std::stod(rows.back()[9]) == Approx(1.0 / 402.0 * 1.8 + 32.0).epsilon(1e-9));  // ten digits
}

TEST_CASE("CSV: a series over checkpoints has no column and leaves no file", "[files]") {
  const Folder folder;
  Results results = invented();
  results.series = {named("odd", Kind::time, {Dimension::checkpoint, Dimension::time})};
  results.series[0].values.resize(800);
  CHECK(error_of([&] { write_series_csv(folder / "a.csv", results, true); }) ==
        "result 'odd' runs over checkpoint, which this table has no column for");
  CHECK(files_in(folder.path) == 0);
}
