#include "scenarios/stand/stand_report.hpp"

#include <algorithm>

#include "fitting/power.hpp"
#include "scenarios/stand/stand_print.hpp"
#include "scenarios/stand/stand_tables.hpp"
#include "scenarios/units/quantity.hpp"
#include "tests/catch.hpp"
#include "tests/mistakes_in.hpp"
#include "tests/stand_reference.hpp"

using namespace stoverturn;

namespace {

constexpr const char* head = "treatment,strip,row,length [ft],row width [in],plants\n";

/// The made counts as a file; `shared` strips hold all treatments.
std::string made_file(bool shared) {
  std::string text = head;
  int n = 0;
  for (const MadeRow& row : made_rows()) {
    const std::string treatment(1, static_cast<char>('a' + row.treatment));
    const std::string strip = std::to_string(row.strip) + (shared ? "" : treatment);
    text += treatment + "," + strip + "," + std::to_string(n++) + "," + std::to_string(row.feet) + ",30," +
            std::to_string(static_cast<int>(row.plants)) + "\n";
  }
  return text;
}

StandReport report_of(const std::string& text, const StandSettings& settings = {}) {
  return stand_report(read_stand_data(text, "counts.csv"), settings);
}

StandSettings by(StandUnit unit) {
  StandSettings settings;
  settings.unit = unit;
  return settings;
}

bool has_note(const StandReport& report, const std::string& part) {
  return std::any_of(report.notes.begin(), report.notes.end(),
                     [&](const std::string& note) { return note.find(part) != std::string::npos; });
}

/// Rates and differences against R, whose 12 digits end where the deviance changes by 1e-12.
void check_against_R(const StandReport& report, const std::string& kind) {
  INFO(kind);
  REQUIRE(report.rates.size() == 3);
  for (const StandRate& rate : report.rates) {
    const std::vector<double> r = of_R(kind + " rate " + rate.treatment);
    CHECK(rate.rate == Approx(r[0]).epsilon(1e-7));
    CHECK(rate.between.lower == Approx(r[1]).epsilon(1e-7));
    CHECK(rate.between.upper == Approx(r[2]).epsilon(1e-7));
  }
  REQUIRE(report.differences.size() == 3);
  for (const StandDifference& d : report.differences) {
    const std::vector<double> r = of_R(kind + " difference " + d.treatment + " " + d.against);
    CHECK(d.difference == Approx(r[0]).epsilon(1e-6));
    CHECK(d.between.lower == Approx(r[1]).epsilon(1e-6));
    CHECK(d.between.upper == Approx(r[2]).epsilon(1e-6));
  }
  CHECK(report.models[0].dispersion == Approx(of_R(kind + " dispersion")[0]).epsilon(1e-7));
}

}  // namespace

TEST_CASE("stand: a thousandth of an acre", "[stand]") {
  // University of Wisconsin A3353: row that is a thousandth of an acre, to the inch
  const std::pair<double, double> rows[] = {
      {30, 17 * 12 + 5}, {15, 34 * 12 + 10}, {36, 14 * 12 + 6}, {38, 13 * 12 + 9}};
  for (const auto& [width_in, length_in] : rows) {
    CHECK(std::abs(thousandth_acre_row_mm(width_in * 25.4) / 25.4 - length_in) <= 0.5);
  }
  // by hand: 100 ft of 30-inch row is 250 square feet, 5.74 thousandths of the acre's 43560
  const StandReport report = report_of(std::string(head) + "a,1,1,100,30,180\n");
  CHECK(report.rates[0].area_m2 / thousandth_acre_m2 == Approx(250.0 / 43.56).epsilon(1e-12));
  CHECK(report.rates[0].rate * thousandth_acre_m2 == Approx(180.0 / 5.739).epsilon(1e-4));
  CHECK(report.rates[0].rate * hectare_m2 == Approx(180.0 * 10000.0 / (250.0 * 0.09290304)).epsilon(1e-12));
}

TEST_CASE("stand: published responses", "[stand]") {
  // Iowa State University Extension 2010
  CHECK(yield_share_of_stand(34000.0) == 1.0);
  CHECK(yield_share_of_stand(25000.0) == 0.95);
  CHECK(yield_share_of_stand(20000.0) == 0.89);
  CHECK(yield_share_of_stand(27500.0).value() == Approx(0.975));
  CHECK(!yield_share_of_stand(19999.0));
  // a Minnesota trial: every other plant one leaf stage behind leaves 94 %, two 83 %
  CHECK(1.0 - 0.5 * loss_of_late_plant(1.0) == Approx(0.94));
  CHECK(1.0 - 0.5 * loss_of_late_plant(2.0) == Approx(0.83));
  CHECK(loss_of_late_plant(4.0) == loss_of_late_plant(2.0));
  // Nafziger, Carter and Graham 1991, Crop Science 31, 811 (from memory): a quarter of the plants a week and
  // a half late, about two leaf stages (common practice, no source), cost 6 to 9 %
  CHECK(0.25 * loss_of_late_plant(2.0) > 0.06);
  CHECK(0.25 * loss_of_late_plant(2.0) < 0.09);
  // one ear a thousandth of an acre: 7 bu/acre (common practice, no source)
  CHECK(usual_bu_per_ear * 1000.0 == Approx(7.0));
}

TEST_CASE("stand: intervals of R's quasi-Poisson glm", "[stand]") {
  check_against_R(report_of(made_file(true), by(StandUnit::rows)), "rows");
  check_against_R(report_of(made_file(true)), "plots");
  const StandReport own = report_of(made_file(false));
  check_against_R(own, "own strips");
  CHECK(!own.models[0].strip_effect);
}

TEST_CASE("stand: a row counted as two halves is the same row", "[stand]") {
  // means and areas halve, and so does each term of Pearson's statistic; twice as many terms
  const auto file = [](bool halves) {
    std::string text = head;
    const int plants[] = {30, 34, 28, 36, 26, 32, 30, 30};
    for (int i = 0; i < 8; ++i) {
      const std::string begin =
          std::string(i % 2 ? "b" : "a") + "," + std::to_string(i / 4) + "," + std::to_string(i);
      for (int half = 0; half < (halves ? 2 : 1); ++half) {
        text += begin + (half ? "'" : "") + (halves ? ",10,30," : ",20,30,") +
                std::to_string(halves ? plants[i] / 2 : plants[i]) + "\n";
      }
    }
    return text;
  };
  const StandReport whole = report_of(file(false), by(StandUnit::rows)),
                    half = report_of(file(true), by(StandUnit::rows));
  CHECK(half.differences[0].difference == Approx(whole.differences[0].difference).epsilon(1e-10));
  CHECK(half.models[0].freedom == whole.models[0].freedom + 8);
  CHECK(half.models[0].dispersion * half.models[0].freedom ==
        Approx(whole.models[0].dispersion * whole.models[0].freedom).epsilon(1e-8));
  // plots do not even see it
  const StandReport plots = report_of(file(false), by(StandUnit::plots)),
                    half_plots = report_of(file(true), by(StandUnit::plots));
  CHECK(half_plots.differences[0].between.lower == Approx(plots.differences[0].between.lower).epsilon(1e-10));
  CHECK(half_plots.models[0].freedom == plots.models[0].freedom);
}

TEST_CASE("stand: what cannot be told is said", "[stand]") {
  SECTION("one strip, one count each") {
    const StandReport report = report_of(std::string(head) + "a,1,1,20,30,36\nb,1,2,20,30,25\n");
    CHECK(has_note(report, "There is one strip only."));
    CHECK(has_note(report, "take the counts as random (Poisson)"));
    CHECK(report.models[0].dispersion == 1.0);
    // Poisson: variance of the log ratio is 1/36 + 1/25; 1.644854 is the normal 95 % quantile
    CHECK(report.differences[0].ratio_between.upper ==
          Approx(25.0 / 36.0 * std::exp(1.644854 * std::sqrt(1.0 / 36.0 + 1.0 / 25.0))).epsilon(1e-6));
  }
  SECTION("treatments in one strip each") {
    const StandReport report =
        report_of(std::string(head) + "a,1,1,20,30,36\na,1,2,20,30,33\nb,2,1,20,30,30\nb,2,2,20,30,31\n");
    CHECK(has_note(report, "In one strip only: 'a', 'b'."));
    CHECK(has_note(report, "plants: compared by rows (4 of them)"));
    CHECK(report.models[0].freedom == 2);
  }
  SECTION("no plant at all") {
    const StandReport report =
        report_of(std::string(head) + "a,1,1,20,30,36\na,2,1,20,30,33\nb,1,2,20,30,0\nb,2,2,20,30,0\n");
    CHECK(has_note(report, "plants of 'b': none found."));
    const StandRate& none = report.rates[1];
    CHECK(none.rate == 0.0);
    CHECK(none.between.upper * none.area_m2 ==
          Approx(2.995732).epsilon(1e-6));  // -ln 0.05: the rule of three
    CHECK(std::isnan(report.differences[0].between.lower));
    CHECK(report.differences[0].difference == Approx(-report.rates[0].rate));
    CHECK(print_stand(report).find("nan") == std::string::npos);
  }
  SECTION("a strip that was empty takes no part") {
    const std::string two =
        "a,1,1,20,30,36\nb,1,2,20,30,30\na,2,1,20,30,33\nb,2,2,20,30,29\na,3,1,20,30,31\nb,3,2,20,30,27\n";
    const StandReport with = report_of(head + two + "a,4,1,20,30,0\nb,4,2,20,30,0\n"),
                      without = report_of(head + two);
    CHECK(with.differences[0].ratio_between.lower ==
          Approx(without.differences[0].ratio_between.lower).epsilon(1e-10));
  }
}

TEST_CASE("stand: worth of ears, stand and late plants, by hand", "[stand]") {
  const std::string text =
      "# price: 4.00 $/bu\n# full yield: 200 bu/acre\n"
      "treatment,strip,length [ft],row width [in],plants,late plants,late by [leaves],ears\n"
      "a,1,17.424,30,25,5,1,24\nb,1,17.424,30,30,0,,30\na,2,17.424,30,25,5,2,24\nb,2,17.424,30,30,3,1,30\n";
  const StandReport report = report_of(text);
  const auto effect = [&](StandEffectBy wanted) {
    return *std::find_if(report.effects.begin(), report.effects.end(),
                         [&](const StandEffect& e) { return e.by == wanted; });
  };
  // 17.424 ft is a thousandth of an acre: 6 ears more at 7 bu; 30,000 for 25,000 plants is 5 % of 200 bu
  CHECK(effect(StandEffectBy::ears).yield_bu_acre == Approx(42.0).epsilon(1e-9));
  CHECK(effect(StandEffectBy::ears).value_acre == Approx(168.0).epsilon(1e-9));
  CHECK(effect(StandEffectBy::stand).yield_bu_acre == Approx(10.0).epsilon(1e-9));
  // a: (5 x 12 % + 5 x 34 %) of 50 plants, 4.6 %; b: 3 x 12 % of 60, 0.6 %
  CHECK(report.late_loss[0] == Approx(0.046));
  CHECK(effect(StandEffectBy::late).share == Approx(0.04));
  CHECK(effect(StandEffectBy::late).value_acre == Approx(32.0));
  CHECK(has_note(report, "PLACEHOLDER: 0.007 bu an ear"));
  StandSettings settings;
  settings.prices.bu_per_ear = 0.005;
  const StandReport own = report_of(text, settings);
  CHECK(!has_note(own, "PLACEHOLDER"));
  CHECK(own.effects[1].yield_bu_acre == Approx(30.0).epsilon(1e-9));
}

TEST_CASE("stand: what is counted enough shows", "[stand]") {
  // With as many plots as are said to be needed the power is 80 %; with one less it is not.
  const StandReport report = report_of(made_file(true));
  const StandDifference& d = report.differences[0];
  const StandModel& m = report.models[0];
  const double variance =
      m.dispersion * (1.0 / report.rates[0].rate + 1.0 / report.rates[1].rate) / 2.0 / m.unit_area_m2;
  CHECK(power_of_units(std::log(d.ratio), variance, true, 0.9, d.units_needed) >= 0.8);
  CHECK((d.units_needed == 2 ||
         power_of_units(std::log(d.ratio), variance, true, 0.9, d.units_needed - 1) < 0.8));
  CHECK(d.length_needed_mm == Approx(d.units_needed * m.unit_length_mm));
}

TEST_CASE("stand: mistakes say where, what was found and what was wanted", "[stand]") {
  const std::string h = head, all = "treatment,strip,length [ft],row width [in],plants,late plants\n";
  const std::pair<std::string, std::string> cases[] = {
      {"", "counts.csv:1:1: there are no counts; wanted a header and one row a length counted"},
      {"treatment,length [ft],row width [in],plannts\na,20,30,3\n",
       "counts.csv:1:38: unknown column 'plannts'; did you mean 'plants'?"},
      {"treatment,length,row width [in],plants\na,20,30,3\n",
       "counts.csv:1:11: length needs a unit: write length [ft]"},
      {"treatment,length [lb],row width [in],plants\na,20,30,3\n",
       "counts.csv:1:19: length: 'lb' is a unit of mass"},
      {"treatment,row width [in],plants\na,30,3\n",
       "counts.csv:1:1: there is no column for the length counted; write length [ft]"},
      {"treatment,length [ft],plants\na,30,3\n",
       "counts.csv:1:1: there is no column for the width between rows; write row width [in]"},
      {"treatment,length [ft],row width [in]\na,20,30\n",
       "counts.csv:1:1: nothing is counted; write a column plants or ears"},
      {"treatment,length [ft],row width [in],late plants\na,20,30,1\n",
       "counts.csv:1:1: late plants need the column plants beside them"},
      {"treatment,length [ft],row width [in],plants,plants\na,20,30,1,1\n",
       "counts.csv:1:45: 'plants' stands a second time"},
      {"treatment,length [ft],row width [in],plants,late by [days]\na,20,30,1,1\n",
       "counts.csv:1:45: late by: found the unit 'days'; wanted leaf stages: write late by [leaves]"},
      {h + "a,1,1,20,30\n", "counts.csv:2:1: this row has 5 cells, the header has 6"},
      {h + "a,1,1,20,30,3.5\n",
       "counts.csv:2:13: plants: found '3.5'; wanted a whole number, 0 or more, or an empty cell where "
       "nothing was "
       "counted"},
      {h + "a,1,1,x,30,3\n", "counts.csv:2:7: length 'x' is not a number"},
      {h + "a,1,1,20,300,3\n",
       "counts.csv:2:10: row width 300 in cannot be; possible are 3.937 to 118.11 in"},
      {h + "a,1,1,20,30,3\na,1,1,20,30,4\n",
       "counts.csv:3:1: the same row stands in line 2 (treatment, strip and row are all equal)"},
      {h + ",1,1,20,30,3\n", "counts.csv:2:1: the treatment is missing"},
      {all + "a,1,20,30,3,4\n", "counts.csv:2:13: 4 late plants of 3 plants cannot be"},
      {all + "a,1,20,30,,4\n", "counts.csv:2:12: late plants are counted here and plants are not"},
      {"# prise: 4 $/bu\n" + h + "a,1,1,20,30,3\n",
       "counts.csv:1:3: unknown value 'prise'; did you mean 'price'?"},
      {"# price: 4\n" + h + "a,1,1,20,30,3\n",
       "counts.csv:1:3: price: found '4'; wanted a price such as 4.30 $/bu"},
      {"# bushels per ear: 7\n" + h + "a,1,1,20,30,3\n",
       "counts.csv:1:3: bushels per ear: found '7'; wanted 0 to 0.05 bushels, such as 0.006"},
      {h + "a,1,1,20,30,\n", "counts.csv: no row has a count yet; fill in plants or ears"},
  };
  for (const auto& [text, wanted] : cases) {
    INFO(text);
    CHECK_THAT(mistakes_in([&] { report_of(text); }), Matchers::StartsWith(wanted));
  }
  StandSettings settings;
  settings.against = "openned";
  CHECK(mistakes_in([&] { report_of(h + "opened,1,1,20,30,3\n", settings); }) ==
        "command line: --against: counts.csv has no treatment 'openned'; did you mean 'opened'?");
}

TEST_CASE("stand: prices by the bushel, tonne or pound", "[stand]") {
  std::string currency;
  CHECK(price_per_bushel("4.30 $/bu", &currency) == Approx(4.30));
  CHECK(currency == "$");
  CHECK(price_per_bushel("$4.30/bu") == Approx(4.30));
  // a tonne is 39.368 bushels of 56 lb (by hand)
  CHECK(price_per_bushel("200 EUR/t", &currency) == Approx(200.0 / 39.36826).epsilon(1e-6));
  CHECK(currency == "EUR");
  CHECK(price_per_bushel("430 cents/bu", &currency) == Approx(4.30));
  CHECK_THROWS_AS(price_per_bushel("4.30"), QuantityError);
}

TEST_CASE("stand: a sheet is told from other tables by its columns", "[stand]") {
  CHECK(is_stand_data(new_stand_text({})));
  CHECK(is_stand_data(std::string(head)));
  CHECK_FALSE(is_stand_data("treatment,replicate,date,initial mass [g],mass [g]\n"));
  CHECK_FALSE(is_stand_data("date,tmin [C],tmax [C]\n"));
  CHECK_FALSE(is_stand_data(""));
}

TEST_CASE("stand: the sheet to fill in reads back, the tables hold what is printed", "[stand]") {
  const StandData sheet = read_stand_data(new_stand_text({}), "sheet.csv");
  CHECK(sheet.rows.size() == 16);
  CHECK(sheet.treatments == std::vector<std::string>{"left long", "opened"});
  const std::vector<TidyTable> tables = stand_tables(report_of(made_file(true)));
  CHECK(tables[0].rows() == 3);
  CHECK_THAT(tidy_csv(tables[1]), Matchers::StartsWith("treatment,against,counted,per_acre,lower_per_acre,"));
  for (const TidyTable& table : tables) {
    for (const TidyColumn& c : table.columns) {
      CHECK((c.is_text ? c.texts.size() : c.numbers.size()) == table.rows());
    }
  }
}
