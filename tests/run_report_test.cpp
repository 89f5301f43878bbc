/// Charts, words and page of single runs.
#include <algorithm>
#include <cmath>

#include "scenarios/files/checksum.hpp"
#include "scenarios/report/report_html.hpp"
#include "scenarios/report/run_charts.hpp"
#include "scenarios/report/run_report.hpp"
#include "scenarios/results/run_scenario.hpp"
#include "scenarios/weather/weather_reading.hpp"
#include "tests/catch.hpp"

using namespace stoverturn;

namespace {

constexpr const char* farm =
    "title = \"Lower <b>Forty</b> (invented)\"\nduration = \"1 years\"\n"
    "[weather]\nclimate = \"central Iowa\"\nseed = 3\n"
    "[harvest]\ndate = 2021-10-20\nresidue = \"9 t/ha\"\n"
    "[next_crop]\ncrop = \"corn\"\nplanting = \"05-05\"\n"
    "[treatment.closed]\n[treatment.opened]\nlabel = \"<script>alert('x')</script>\"\n"
    "component.stalk = { entry_spacing = \"50 mm\", opening = \"60 %\" }\n";

const Results& a_run() {
  static const Results results = [] {
    const Scenario scenario = read_scenario(farm, "farm.toml", {});
    Climates climates;
    climates.weather = planned_weather(scenario);
    return run_scenario(scenario, climates, {{"scenario", farm}});
  }();
  return results;
}

Results in_units(Results results, const std::string& units) {
  results.units = units;
  return results;
}

ReportInBoth report_of(const Results& results) {
  return {report_of_run(in_units(results, "si")), report_of_run(in_units(results, "us"))};
}

const Chart& chart_of(const Report& report, std::string_view name) {
  for (const ReportSection& section : report.sections) {
    for (const Chart& chart : section.charts) {
      if (chart.name == name) return chart;
    }
  }
  throw std::out_of_range(std::string(name));
}

std::string page_of(const Results& results) {
  return report_html({report_of(results)}, {"scripts();", "body{}", "{}", "licence",
                                            sha256_base64("scripts();"), sha256_base64("body{}")});
}

}  // namespace

TEST_CASE("report of a run: chart columns are the series, day by day", "[report]") {
  const Results& r = a_run();
  const RunCharted run{&r, ""};
  const Chart chart = mass_left_chart(std::span(&run, 1));
  const Variable& left = r.find("mass_left");
  const auto& dates = chart.field("date").numbers;
  REQUIRE(chart.rows() >= 700);  // 365 days twice
  for (std::size_t i = 0; i < chart.rows(); ++i) {
    const auto t = static_cast<std::size_t>(
        std::find(r.treatments.begin(), r.treatments.end(), chart.field("what").texts[i]) -
        r.treatments.begin());
    const auto day =
        static_cast<std::size_t>(dates[i]) - static_cast<std::size_t>(r.start.time_since_epoch().count());
    CHECK(chart.field("value").numbers[i] == left.values.at(t * r.extent(Dimension::time) + day));
  }
}

TEST_CASE("report of a run: both systems of units show one number", "[report]") {
  const ReportInBoth both = report_of(a_run());
  const ChartField &si = chart_of(both.si, "nitrogen-back").field("value"),
                   &us = chart_of(both.us, "nitrogen-back").field("value");
  CHECK(si.shown.unit == "kg/ha");
  CHECK(us.shown.unit == "lb/acre");
  // 0.45359237 kg (international pound, exact) on 4046.8564224 m2 (international acre, exact)
  CHECK(si.shown(1.0) / us.shown(1.0) == Approx(0.45359237 / 0.40468564224).epsilon(1e-12));
  CHECK(si.numbers == us.numbers);
  const ChartField& warm = chart_of(both.us, "residue-temperature").field("value");
  CHECK(warm.shown(100.0) == Approx(212.0));  // water boils
  const ChartField& potash = chart_of(both.us, "potassium-back").field("value");
  CHECK(potash.title.find("K2O") != std::string::npos);
}

TEST_CASE("report of a run: words come from the numbers", "[report]") {
  Results r = a_run();
  const std::string before = report_of_run(r).says.at(0);
  for (Variable& v : r.key_numbers) {
    if (v.name == "days_to_half") v.values = {77.0, 88.0};
  }
  const std::string after = report_of_run(r).says.at(0);
  CHECK(before != after);
  CHECK(after.find("after 88 days") < after.find("after 77 days"));  // the slowest first
  CHECK(after.find("after 77 days") != std::string::npos);
  for (Variable& v : r.key_numbers) {
    if (v.name == "tie_up_deepest") v.values = {0.0, 0.0};
  }
  CHECK(report_of_run(r).says.at(1).find("ties up no nitrogen") != std::string::npos);
}

TEST_CASE("report of a run: thirty treatments, one treatment, no crop, no draws", "[report]") {
  Results r = a_run();
  const RunCharted two[] = {{&r, "a"}, {&r, "b"}};
  CHECK(mass_left_chart(two).facet.empty());
  const std::vector<RunCharted> many(15, RunCharted{&r, "n"});
  CHECK(mass_left_chart(many).facet == "what");
  r.stages.clear();
  const Report report = report_of_run(r);
  CHECK(std::isnan(first_season_end(r)));
  CHECK(report.handout.table.heads.size() > 1);
  CHECK(key_dates(r, 1e9).size() == 1);
}

TEST_CASE("report page: what comes from files is shown, not run", "[report]") {
  const std::string page = page_of(a_run());
  CHECK(page.find("<script>alert") == std::string::npos);
  CHECK(page.find("<b>Forty") == std::string::npos);
  CHECK(page.find("&lt;script&gt;alert(&#39;x&#39;)") != std::string::npos);
  CHECK(page.find("\\u003cscript>alert") != std::string::npos);  // in the charts' JSON
  // the policy lets run what has this hash and nothing else: sha256("scripts();") by openssl dgst -sha256
  // -binary | base64
  CHECK(page.find("script-src 'sha256-" + sha256_base64("scripts();") + "'") != std::string::npos);
  CHECK(page.find("default-src 'none'") != std::string::npos);
  CHECK(page.find("http") ==
        page.find("http-equiv"));  // the first and only thing that begins so is no address
}

TEST_CASE("base64 of SHA-256 is that of RFC 4648", "[report]") {
  // of the empty text: FIPS 180-4's e3b0c442...b855, in base64 as browsers' documentation of integrity has it
  CHECK(sha256_base64("") == "47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU=");
}

TEST_CASE("report page: equal results give equal pages", "[report]") {
  CHECK(page_of(a_run()) == page_of(a_run()));
}

TEST_CASE("charts: the two systems of units must be alike", "[report]") {
  const ReportInBoth both = report_of(a_run());
  Chart si = chart_of(both.si, "mass-left"), us = chart_of(both.us, "mass-left");
  CHECK_NOTHROW(chart_json(si, us));
  us.fields.pop_back();
  CHECK_THROWS_AS(chart_json(si, us), std::invalid_argument);
}

TEST_CASE("runs side by side: both are in the chart, differences in the table", "[report]") {
  const Results a = a_run();
  Results b = a_run();
  for (Variable& v : b.key_numbers) {
    if (v.name == "mass_left_at") v.values.assign(v.values.size(), 0.5);
  }
  const Report report = report_of_comparison({{"dry", &a}, {"wet", &b}});
  const Chart& chart = chart_of(report, "compare-mass-left");
  CHECK(chart.field("what").texts.front().starts_with("dry: "));
  CHECK(chart.field("what").texts.back().starts_with("wet: "));
  const ReportTable& table = report.sections.back().tables.at(0);
  const auto row = std::find_if(table.rows.begin(), table.rows.end(),
                                [](const auto& cells) { return cells[1] == "mass_left, year 1"; });
  REQUIRE(row != table.rows.end());
  CHECK((*row)[4] == "50.0");
  CHECK(report.says.at(0).find("50 % in wet") != std::string::npos);
}
