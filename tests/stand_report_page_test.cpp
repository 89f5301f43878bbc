/// The page of stand counts.
#include "scenarios/report/report_of_stand.hpp"
#include "scenarios/report/stand_words.hpp"

#include <nlohmann/json.hpp>

#include "tests/alike_reports.hpp"
#include "tests/stand_file.hpp"

using namespace stoverturn;

namespace {

const std::string prices = "# price: 4.00 $/bu\n# bushels per ear: 0.006\n# full yield: 200 bu/acre\n";

double nan_free_sum(const std::vector<double>& values) {
  double sum = 0.0;
  for (const double v : values) sum += std::isfinite(v) ? v : 0.0;
  return sum;
}

}  // namespace

TEST_CASE("stand page: both systems are alike, columns are those of the tables", "[stand][report]") {
  const TidyFile file = stand_file(stand_pairs(3, prices));
  const Report si = report_of_stand(file, "si"), us = report_of_stand(file, "us");
  check_alike(si, us);
  CHECK(us.program == "stoverturn of a test");
  CHECK(us.texts.front().name == "counts");

  const Chart &plants_us = chart_in(us, "plants"), &plants_si = chart_in(si, "plants");
  const ChartField &value_us = plants_us.field("value"), &value_si = plants_si.field("value");
  // the means stand behind the strips of both treatments; 1 ulp of conversion each way
  const std::vector<double> per_acre = numbers_in(file, "rates", "per_acre"),
                            strips = numbers_in(file, "plots", "per_acre");
  REQUIRE(plants_us.rows() == 8 + 2);
  for (std::size_t i = 0; i < 8; ++i)
    CHECK(value_us.shown(value_us.numbers[i]) == Approx(strips[i]).epsilon(1e-12));
  for (std::size_t i = 0; i < 2; ++i) {
    CHECK(value_us.shown(value_us.numbers[8 + i]) == Approx(per_acre[i]).epsilon(1e-12));
    // the international acre is 0.40468564224 ha (NIST Special Publication 811, appendix B)
    CHECK(value_us.shown(value_us.numbers[8 + i]) ==
          Approx(0.40468564224 * value_si.shown(value_si.numbers[8 + i])).epsilon(1e-12));
  }
  const ChartField& difference = chart_in(us, "differences").field("difference");
  const std::vector<double> wanted = numbers_in(file, "differences", "per_acre");
  REQUIRE(difference.numbers.size() == wanted.size());
  for (std::size_t i = 0; i < wanted.size(); ++i)
    CHECK(difference.shown(difference.numbers[i]) == Approx(wanted[i]).epsilon(1e-12));

  // money an acre and a hectare; bu/acre of 56 lb in t/ha: x 0.0627677 (Iowa State University Extension,
  // C6-80)
  const ChartField &money_us = chart_in(us, "worth").field("worth"),
                   &money_si = chart_in(si, "worth").field("worth");
  CHECK(money_us.shown.unit == "$/acre");
  CHECK(nan_free_sum(money_us.numbers) == Approx(nan_free_sum(money_si.numbers)));
  CHECK(money_us.shown(money_us.numbers[1]) ==
        Approx(numbers_in(file, "effects", "value_acre")[1]).epsilon(1e-12));
  const ReportTable& worth_us = section_in(us, "worth").tables.front();
  CHECK(worth_us.heads[3] == "bu/acre");
  CHECK(section_in(si, "worth").tables.front().heads[3] == "t/ha");
  CHECK(std::stod(section_in(si, "worth").tables.front().rows[1][3]) ==
        Approx(std::stod(worth_us.rows[1][3]) * 0.0627677).margin(0.0051));  // two digits shown
}

TEST_CASE("stand page: words are written from the numbers", "[stand][report]") {
  const auto says = [](const std::string& text) {
    return report_of_stand(stand_file(text), "us").says.front();
  };
  const std::string more = says(stand_pairs(3)), none = says(stand_pairs(0));
  // three or four more in each thousandth of an acre
  CHECK_THAT(more,
             contains("B had 3,500 more plants per acre than a (3.5 in a thousandth of an acre). That is "
                      "beyond chance"));
  CHECK_THAT(none, contains("do not show a difference: anything from"));
  CHECK_THAT(says(stand_pairs(-5)), contains("B had 4,500 fewer plants per acre"));

  // a difference of two is worth: 2,000 ears x 0.006 bu x 4 $; by hand 48 $ an acre
  const Report us = report_of_stand(stand_file(stand_pairs(3, prices)), "us");
  const ReportTable& two = section_in(us, "two").tables.front();
  CHECK(two.rows.front()[2] == "12.0");
  CHECK(two.rows.front()[3] == "48.00");
  // few strips that scatter far less than random counts: the doubt stands beside the verdict
  CHECK_THAT(all_words(section_in(us, "two")), contains("may be chance"));
  CHECK_THAT(more, contains("only if strips really scatter as little as these did"));
  StandModel even;
  even.freedom = 3;
  even.dispersion = 0.25;
  CHECK(wider_as_random(&even) == 2.0);  // 1 / sqrt(0.25)
  even.freedom = 30;
  CHECK(wider_as_random(&even) == 1.0);
  CHECK_THAT(us.says.back(), contains("B over a is worth 84 $/acre"));  // 3,500 x 0.006 x 4
  // told from the side that gains
  CHECK_THAT(report_of_stand(stand_file(stand_pairs(-5, prices)), "us").says.back(),
             contains("A over b is worth 108 $/acre"));
  // without a price in grain, without anything not at all
  CHECK_THAT(report_of_stand(stand_file(stand_pairs(3)), "us").says.back(),
             contains("bu/acre") && contains("the trade's rule, not yours"));
}

TEST_CASE("stand page: counts without a spread, of one treatment, and files without tables",
          "[stand][report]") {
  // one strip, one row each: nothing tells chance; the notes say so
  const TidyFile bare = stand_file(stand_head + "a,1,1,17.424,30,30,\nb,1,1,17.424,30,33,\n");
  check_alike(report_of_stand(bare, "si"), report_of_stand(bare, "us"));
  CHECK_THAT(all_words(section_in(report_of_stand(bare, "us"), "sure")), contains("may be much too narrow"));
  CHECK_THAT(all_words(section_in(report_of_stand(bare, "us"), "limits")), contains("one strip only"));

  const TidyFile one =
      stand_file("strip,length [ft],row width [in],plants\n1,17.424,30,30\n2,17.424,30,32\n");
  const Report alone = report_of_stand(one, "us");
  check_alike(report_of_stand(one, "si"), alone);
  CHECK_THAT(alone.says.front(), contains("All: 31,000 plants per acre"));

  const TidyFile nothing_late = stand_file(
      "treatment,strip,length [ft],row width [in],plants,late "
      "plants\na,1,17.424,30,30,0\nb,1,17.424,30,32,0\n"
      "a,2,17.424,30,29,0\nb,2,17.424,30,31,0\n");
  check_alike(report_of_stand(nothing_late, "si"), report_of_stand(nothing_late, "us"));
  CHECK_THAT(all_words(section_in(report_of_stand(nothing_late, "us"), "differences")),
             contains("cannot be told from these counts"));

  const TidyFile empty{"nothing", std::string(stand_file_kind), {}, {}, {}, {}};
  check_alike(report_of_stand(empty, "si"), report_of_stand(empty, "us"));
  for (std::size_t without = 0; without < bare.tables.size(); ++without) {
    TidyFile lacks = stand_file(stand_pairs(3, prices));
    INFO(lacks.tables[without].name);
    lacks.tables.erase(lacks.tables.begin() + static_cast<std::ptrdiff_t>(without));
    check_alike(report_of_stand(lacks, "si"), report_of_stand(lacks, "us"));
  }
}

TEST_CASE("stand page: three treatments are told in small charts, a pair each", "[stand][report]") {
  std::string text = stand_head;
  for (int strip = 1; strip <= 3; ++strip) {
    for (int t = 0; t < 3; ++t) {
      text += std::string(1, static_cast<char>('a' + t)) + "," + std::to_string(strip) + ",1,17.424,30," +
              std::to_string(28 + 2 * t + strip) + "," + std::to_string(27 + 2 * t + strip % 2) + "\n";
    }
  }
  const Report us = report_of_stand(stand_file(text), "us");
  check_alike(report_of_stand(stand_file(text), "si"), us);
  CHECK(chart_in(us, "differences").facet == "pair");
  CHECK(chart_in(us, "differences").rows() == 6);
  CHECK_THAT(us.says.front(), contains("C had 4,000 more plants per acre than a"));  // the largest
}
