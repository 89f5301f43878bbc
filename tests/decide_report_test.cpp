/// Reports of ensembles, timing and planting: charts hold the numbers of the results, words follow them, both
/// systems of units say the same.
#include <algorithm>
#include <cmath>
#include <map>

#include "scenarios/charts/site_map.hpp"
#include "scenarios/decide/planting.hpp"
#include "scenarios/decide/timing.hpp"
#include "scenarios/ensemble/ensemble_results.hpp"
#include "scenarios/report/ensemble_report.hpp"
#include "scenarios/report/planting_report.hpp"
#include "scenarios/report/report_kind.hpp"
#include "scenarios/report/spread.hpp"
#include "scenarios/report/timing_report.hpp"
#include "tests/catch.hpp"

using namespace stoverturn;

namespace {

/// International pound (0.45359237 kg) and acre (4046.8564224 m2), both exact since 1959 (NIST SP 811, B.8):
/// kg/ha in a lb/acre.
constexpr double kg_ha_in_lb_acre = 0.45359237 / 0.40468564224;

using MakeReport = Report (*)(const Results&);

struct Both {
  Report si, us;
};
Both both(Results r, MakeReport make) {
  r.units = "si";
  Report si = make(r);
  r.units = "us";
  return {std::move(si), make(r)};
}

const Chart* chart_of(const Report& report, std::string_view name) {
  for (const ReportSection& section : report.sections) {
    for (const Chart& chart : section.charts) {
      if (chart.name == name) return &chart;
    }
  }
  return nullptr;
}
const Chart& wanted_chart(const Report& report, std::string_view name) {
  const Chart* chart = chart_of(report, name);
  if (!chart) throw std::out_of_range("no chart " + std::string(name));
  return *chart;
}

std::string all_words(const Report& report) {
  std::string text;
  const auto add = [&](const std::vector<std::string>& words) {
    for (const std::string& w : words) text += w + "\n";
  };
  add(report.about);
  add(report.says);
  add(report.cautions);
  for (const ReportSection& section : report.sections) {
    add(section.words);
    for (const Chart& chart : section.charts) text += chart.says + "\n";
  }
  add(report.handout.words);
  return text;
}

void check_table(const ReportTable& a, const ReportTable& b) {
  CHECK(a.heads.size() == b.heads.size());
  CHECK(a.rows.size() == b.rows.size());
  for (const ReportTable* table : {&a, &b}) {
    for (const auto& row : table->rows) CHECK(row.size() == table->heads.size());
  }
}

/// Sections, charts, fields and tables are alike, masses on an area equal after conversion, and each axis has
/// its words.
void check_alike(const Both& r) {
  REQUIRE(r.si.sections.size() == r.us.sections.size());
  CHECK(r.si.says.size() == r.us.says.size());
  CHECK(r.si.about.size() == r.us.about.size());
  CHECK(r.si.handout.charts == r.us.handout.charts);
  CHECK(r.si.handout.charts.size() <= 3);
  check_table(r.si.handout.table, r.us.handout.table);
  std::map<std::string, int> names;
  for (std::size_t s = 0; s < r.si.sections.size(); ++s) {
    const ReportSection &si = r.si.sections[s], &us = r.us.sections[s];
    CHECK(si.name == us.name);
    CHECK(si.words.size() == us.words.size());
    REQUIRE(si.charts.size() == us.charts.size());
    REQUIRE(si.tables.size() == us.tables.size());
    for (std::size_t t = 0; t < si.tables.size(); ++t) check_table(si.tables[t], us.tables[t]);
    for (std::size_t c = 0; c < si.charts.size(); ++c) {
      INFO(si.charts[c].name);
      CHECK(++names[si.charts[c].name] == 1);
      CHECK_NOTHROW(chart_json(si.charts[c], us.charts[c]));
      CHECK(!si.charts[c].title.empty());
      CHECK(!si.charts[c].says.empty());
      for (std::size_t f = 0; f < si.charts[c].fields.size(); ++f) {
        const ChartField &a = si.charts[c].fields[f], &b = us.charts[c].fields[f];
        CHECK(std::max(a.numbers.size(), a.texts.size()) == si.charts[c].rows());
        CHECK(a.texts == b.texts);
        REQUIRE(a.numbers.size() == b.numbers.size());
        CHECK(!a.title.empty());
        if (a.shown.unit != "kg/ha" || (!a.shown.substance.empty() && a.shown.substance != b.shown.substance))
          continue;
        CHECK(b.shown.unit == "lb/acre");
        for (std::size_t i = 0; i < a.numbers.size(); ++i) {
          if (std::isnan(a.numbers[i])) continue;
          // rounding of products
          CHECK(a.shown(a.numbers[i]) ==
                Approx(b.shown(b.numbers[i]) * kg_ha_in_lb_acre).epsilon(1e-12).margin(1e-300));
        }
      }
    }
  }
  for (const std::string& name : r.si.handout.charts) CHECK(chart_of(r.si, name) != nullptr);
}

/// "middle" and its companions against a variable {site, treatment, quantile, ...} with quantiles of five.
void check_columns(const Chart& chart, std::size_t row, const Results& r, const std::string& number,
                   std::size_t site, std::size_t treatment, std::size_t inner) {
  const Variable& v = r.find(number);
  const std::size_t size = v.dimensions.size() > 3 ? r.extent(v.dimensions[3]) : 1;
  const char* names[] = {"lowest", "low", "middle", "high", "highest"};
  REQUIRE(r.quantiles.size() == 5);
  for (std::size_t q = 0; q < 5; ++q) {
    INFO(chart.name << " " << names[q]);
    const double value = v.values.at(((site * r.treatments.size() + treatment) * 5 + q) * size + inner);
    const double told = chart.field(names[q]).numbers.at(row);
    CHECK((told == value || (std::isnan(told) && std::isnan(value))));
  }
}

// ---- small real runs ----

const std::string farm =
    "title = \"Invented farm\"\n"
    "[weather]\nclimate = \"central Iowa\"\n"
    "[harvest]\ndate = 2024-10-20\ngrain_yield = \"205 bu/acre\"\n"
    "[next_crop]\nplanting = \"05-05\"\nnitrogen = \"160 lb/acre\"\n"
    "[prices]\nnitrogen = \"0.60 $/lb\"\nphosphate = \"0.65 $/lb\"\npotash = \"0.45 $/lb\"\nsulfur = \"0.5 "
    "$/lb\"\n"
    "[costs]\nspreading = \"8 $/acre\"\n"
    "[ensemble]\nweather_years = 3\n"
    "[treatment.left]\n[treatment.cut]\ncomponent.stalk.cut_length = \"6 in\"\n";

Results timing_of(const std::string& section) {
  const std::string text = farm + "[timing]\nduration = \"400 d\"\n" + section;
  std::vector<ChosenTiming> chosen;
  const std::string with = with_choices(text, read_scenario(text, "farm.toml", {}), chosen);
  Scenario scenario = read_scenario(with, "farm.toml", {"duration=400 d"});
  ask_for_timing(scenario);
  const LoadSite load = [&](std::size_t) { return SiteScenario{scenario, {}}; };
  Ensemble ensemble({{"here", not_measured, not_measured, {}, {}}}, load, one_after_the_other);
  Results r = run_in_memory(ensemble, {{"choices", choices_csv(scenario, chosen)}});
  add_timing_numbers(ensemble, chosen, r);
  add_soil_on_the_day(ensemble, {}, chosen, r);
  return r;
}
const Results& timing() {
  static const Results r =
      timing_of("dates = [\"10 d\", \"04-10\"]\nrates = [\"60 lb N/acre\"]\nproducts = [\"urea\"]\n");
  return r;
}

const Results& planting() {
  static const Results r = [] {
    const auto run = [](const std::string& text, const std::string& duration, void (*ask)(Scenario&)) {
      Scenario scenario = read_scenario(text, "farm.toml", {"duration=" + duration});
      ask(scenario);
      return scenario;
    };
    const Scenario day = run(farm, "1 year", ask_for_planting_day),
                   years = run(with_same_harvests(farm), "4 years", ask_for_build_up);
    const auto ensemble = [](const Scenario& s) {
      return Ensemble(
          {{"here", not_measured, not_measured, {}, {}}},
          [s](std::size_t) {
            return SiteScenario{s, {}};
          },
          one_after_the_other, planting_series());
    };
    Ensemble of_day = ensemble(day), of_years = ensemble(years);
    Results results = run_in_memory(of_day, {});
    const Results stocks = run_in_memory(of_years, {});
    add_planting_numbers(day, seedbeds(of_day, {}, one_after_the_other), stocks, results);
    results.notes = planting_notes(day, &years);
    return results;
  }();
  return r;
}

// ---- invented ensembles ----

/// Two sites, two treatments, four weathers; every value differs.
Results four_weathers() {
  using enum Dimension;
  Results r;
  r.title = "Invented fields";
  r.treatments = {"long", "<script>"};
  r.sites = {{"North", 42.0, -93.0}, {"South", 40.0, -95.0}};
  r.checkpoints = {"planting 1", "year 1"};
  r.stages = {"emergence 1", "V6 1"};
  r.quantiles = {0.05, 0.25, 0.5, 0.75, 0.95};
  r.weather_years = {"1998", "1999", "2000", "2001"};
  r.draws = 1;
  r.start = std::chrono::sys_days(std::chrono::year(2026) / 10 / 20);
  r.days = 3;
  r.every_d = 30;
  const auto add = [&](std::vector<Variable>& list, const std::string& name, Kind kind,
                       const std::string& substance, std::vector<Dimension> inner, double scale) {
    for (const bool single : {false, true}) {
      Variable v;
      v.name = single ? name + "_of_run" : name;
      v.kind = kind;
      v.substance = substance;
      v.dimensions = {site, treatment};
      if (single)
        v.dimensions.insert(v.dimensions.end(), {weather_year, draw});
      else
        v.dimensions.push_back(quantile);
      v.dimensions.insert(v.dimensions.end(), inner.begin(), inner.end());
      std::size_t size = 1;
      for (const Dimension d : v.dimensions) size *= r.extent(d);
      for (std::size_t i = 0; i < size; ++i)
        v.values.push_back(scale * (0.4 + 0.5 * static_cast<double>(i) / static_cast<double>(size)));
      list.push_back(std::move(v));
    }
  };
  add(r.key_numbers, "mass_left_at", Kind::fraction, "", {checkpoint}, 1.0);
  add(r.key_numbers, "nitrogen_released_at", Kind::mass_per_area, "N", {checkpoint}, -3.0);
  add(r.key_numbers, "potassium_released_at", Kind::mass_per_area, "K", {checkpoint}, 4.0);
  add(r.key_numbers, "tie_up_deepest", Kind::mass_per_area, "N", {}, -4.0);
  add(r.key_numbers, "stage_nitrogen_released", Kind::mass_per_area, "N", {stage}, -1.0);
  add(r.series, "mass_left", Kind::fraction, "", {time}, 1.0);
  r.notes = {"Nitrate: ask first.", "The range is of weather alone."};
  return r;
}

void drop(Results& r, std::string_view name) {
  for (std::vector<Variable>* list : {&r.key_numbers, &r.series})
    list->erase(std::remove_if(list->begin(), list->end(), [&](const Variable& v) { return v.name == name; }),
                list->end());
}
void drop_runs(Results& r) {
  for (std::vector<Variable>* list : {&r.key_numbers, &r.series})
    list->erase(std::remove_if(list->begin(), list->end(),
                               [](const Variable& v) { return v.name.ends_with("_of_run"); }),
                list->end());
  r.weather_years.clear();
  r.draws = 0;
}
/// Keeps one quantile of all, the middle one.
void keep_middle(Results& r) {
  const std::size_t count = r.quantiles.size(), middle = count / 2;
  for (std::vector<Variable>* list : {&r.key_numbers, &r.series}) {
    for (Variable& v : *list) {
      if (v.dimensions.size() < 3 || v.dimensions[2] != Dimension::quantile) continue;
      const std::size_t size = v.dimensions.size() > 3 ? r.extent(v.dimensions[3]) : 1;
      std::vector<double> kept;
      for (std::size_t i = 0; i < v.values.size(); ++i) {
        if (i / size % count == middle) kept.push_back(v.values[i]);
      }
      v.values = std::move(kept);
    }
  }
  r.quantiles = {0.5};
}

}  // namespace

TEST_CASE("reports: results tell what made them", "[report]") {
  CHECK(kind_of_results(timing()) == ResultsKind::timing);
  CHECK(kind_of_results(planting()) == ResultsKind::planting);
  CHECK(kind_of_results(four_weathers()) == ResultsKind::ensemble);
  CHECK(kind_of_results(Results{}) == ResultsKind::run);
}

TEST_CASE("reports: both systems of units say the same", "[report]") {
  check_alike(both(timing(), report_of_timing));
  check_alike(both(planting(), report_of_planting));
  check_alike(both(four_weathers(), report_of_ensemble));
}

TEST_CASE("spread: the told range leaves out the very last runs where more is kept", "[report]") {
  Results r;
  r.treatments = {"one"};
  r.sites = {{"here", 0.0, 0.0}};
  const auto told = [&](std::vector<double> quantiles) {
    r.quantiles = std::move(quantiles);
    return RunSpread(r).range_of();
  };
  CHECK(told({0.0, 0.1, 0.5, 0.9, 1.0}) == "8 of 10 runs");
  CHECK(told({0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95}) == "9 of 10 runs");
  CHECK(told({0.0, 0.5, 1.0}) == "all runs");
  CHECK(told({0.025, 0.5, 0.975}) == "95 % of the runs");
  CHECK(told({0.5}).empty());
  // type 7 of Hyndman and Fan 1996 of 1 to 5: quartiles 2 and 4
  r.quantiles = {0.0, 0.25, 0.5, 0.75, 1.0};
  const RunInterval i = RunSpread(r).of_values({5.0, 3.0, 1.0, 4.0, 2.0});
  CHECK(i.lowest == 1.0);
  CHECK(i.low == 2.0);
  CHECK(i.middle == 3.0);
  CHECK(i.high == 4.0);
  CHECK(i.highest == 5.0);
  CHECK(RunSpread(r).range(i, {"d", "", 1.0, 0.0}, 0) == "2 to 4");
  CHECK(RunSpread(r).of_values({1.0, 2.0, NAN}).low == 1.5);
  CHECK(std::isnan(RunSpread(r).of_values({1.0, 2.0, NAN}).highest));
}

TEST_CASE("spread: days of the run become dates", "[report]") {
  Results r;
  CHECK(dates_words(r, {1.0, 2.0}).empty());
  r.start = std::chrono::sys_days(std::chrono::year(2026) / 10 / 20);
  CHECK(dates_words(r, {229.0, 240.0}) == "6 to 17 June");  // 2027-06-06: counted on a calendar
  CHECK(dates_words(r, {220.0, 229.4}) == "28 May to 6 June");
  CHECK(dates_words(r, {229.0, 229.0}) == "6 June");
  CHECK(dates_words(r, {229.0, NAN}) == "from 6 June");
  CHECK(dates_words(r, {NAN, NAN}).empty());
}

TEST_CASE("timing report: columns are the numbers of the results", "[report]") {
  const Results& r = timing();
  const Report report = report_of_timing(r);
  REQUIRE(r.treatments.size() == 6);
  const Chart& gone = wanted_chart(report, "stalks-gone");
  REQUIRE(gone.rows() == 4);
  for (std::size_t row = 0; row < 4; ++row)
    check_columns(gone, row, r, "mass_left_at_difference", 0, 2 + row, 1);  // after "day 60" comes planting
  CHECK(r.checkpoints[1] == "planting 1");
  check_columns(wanted_chart(report, "nitrogen-at-v6"), 1, r, "stage_mineral_nitrogen_difference", 0, 3, 1);
  check_columns(wanted_chart(report, "leached"), 2, r, "share_leached", 0, 4, 0);
  check_columns(wanted_chart(report, "to-air"), 2, r, "share_to_air", 0, 4, 0);
  check_columns(wanted_chart(report, "gain"), 3, r, "net_gain", 0, 5, 0);
  CHECK(wanted_chart(report, "pays").field("middle").numbers[1] == r.find("share_that_pays").values[3]);
  CHECK(wanted_chart(report, "warm-soil").field("middle").numbers[0] ==
        r.find("share_of_weathers_warm").values[2]);
  CHECK(gone.field("middle").shown(-0.01) == Approx(1.0));  // less is left: more is gone
  CHECK(wanted_chart(report, "gain").field("date").texts[0] == "10 d after harvest");
  CHECK(wanted_chart(report, "gain").field("spread").texts[0] == "60 lb N/acre urea");

  // tie-up at V6 of each run is what was tied up at planting and since
  const Chart& tied = wanted_chart(report, "tie-up-at-v6");
  REQUIRE(tied.rows() == 6);  // and two without
  const auto& at = r.find("nitrogen_released_at_of_run").values;
  const auto& since = r.find("stage_nitrogen_released_of_run").values;
  double lowest = INFINITY;
  for (std::size_t run = 0; run < 3; ++run)
    lowest = std::min(
        lowest, -at[(2 * 3 + run) * r.checkpoints.size() + 1] - since[(2 * 3 + run) * r.stages.size() + 1]);
  CHECK(tied.field("lowest").numbers[0] == lowest);
  CHECK(tied.field("spread").texts[5] == "nothing spread");
}

TEST_CASE("timing report: verdict first, choices by gain, cautions to be seen", "[report]") {
  const Results& r = timing();
  const Report report = report_of_timing(r);
  REQUIRE(!report.sections.empty());
  const ReportSection& first = report.sections.front();
  CHECK(first.name == "verdict");
  CHECK(!first.folded);
  CHECK_THAT(first.words[0], contains("At these prices spreading nothing is best on 'left'. Of the choices, "
                                      "60 lb N/acre urea, on 04-10."));
  CHECK_THAT(first.words[0], contains("it pays in "));
  CHECK_THAT(first.words[0], contains(" of 3 years"));
  REQUIRE(first.tables.size() == 2);
  CHECK(first.tables[0].rows.size() == 3);
  CHECK(first.tables[0].rows[0][0] == "nothing spread");  // whose gain of 0 is more than what both lose
  CHECK(first.tables[0].rows[1][0] == "60 lb N/acre urea, on 04-10");
  CHECK(report.says.size() == 3);
  CHECK_THAT(report.says[2], contains("of 3 years"));
  std::string cautions;
  for (const std::string& c : report.cautions) cautions += c + "\n";
  for (const char* part : {"State and local rules", "frozen", "ammonia injures eyes", "wells", "licensed",
                           "Nitrate:", "below 50 degF"})
    CHECK_THAT(cautions, contains(part));
  CHECK(report.handout.charts.size() == 1);
  CHECK(report.handout.table.rows.size() == 6);  // two dates and nothing, on two treatments
}

TEST_CASE("timing report: words follow the numbers", "[report]") {
  Results r = timing();
  const Report before = report_of_timing(r);
  for (Variable& v : r.key_numbers) {
    if (v.name == "net_gain") std::fill(v.values.begin(), v.values.end(), 0.005);  // 50 a hectare
    if (v.name == "share_that_pays") std::fill(v.values.begin(), v.values.end(), 1.0);
  }
  const Report after = report_of_timing(r);
  CHECK(after.says[2] != before.says[2]);
  CHECK_THAT(after.says[2],
             contains("brought 50 $/ha after its cost (8 of 10 runs), and paid in 3 of 3 years"));
  CHECK(after.says[0] == before.says[0]);
}

TEST_CASE("timing report: choices, stages or runs that are missing do not stop it", "[report]") {
  Results r = timing();
  r.texts.clear();
  const Report report = report_of_timing(r);
  CHECK_THAT(all_words(report), contains("does not keep all that the choices are told by"));
  CHECK_THAT(all_words(report), contains("frozen"));
  CHECK(report.handout.table.rows.empty());
  Results spoilt = timing();
  spoilt.texts = {{"choices", "treatment,base,product,rate,date,placement\nno,such,a,b,c,d\nshort\n"}};
  CHECK(report_of_timing(spoilt).sections.size() == report.sections.size());
  for (const Variable& v : timing().key_numbers) {  // any one of them
    Results without = timing();
    drop(without, v.name);
    CHECK_NOTHROW(report_of_timing(without));
  }
  Results middle = timing();
  keep_middle(middle);
  CHECK_NOTHROW(report_of_timing(middle));
  Results unstaged = timing();
  unstaged.stages.clear();
  CHECK_NOTHROW(report_of_timing(unstaged));
  const Results one = timing_of(
      "dates = [\"04-10\"]\nrates = [\"30 lb N/acre\"]\nproducts = [\"UAN 28\"]\ntreatments = [\"cut\"]\n");
  const Both of_one = both(one, report_of_timing);
  check_alike(of_one);
  CHECK(wanted_chart(of_one.si, "gain").rows() == 1);
  CHECK(wanted_chart(of_one.si, "gain").facet.empty());
  CHECK(chart_of(of_one.si, "warm-soil") == nullptr);  // of fall dates only
}

TEST_CASE("planting report: columns are the numbers of the results", "[report]") {
  const Results& r = planting();
  const Report report = report_of_planting(r);
  for (std::size_t t = 0; t < 2; ++t) {
    check_columns(wanted_chart(report, "cover"), t, r, "soil_cover_at", 0, t, 0);
    check_columns(wanted_chart(report, "seed-temperature"), t, r, "seed_temperature_difference", 0, t, 0);
    check_columns(wanted_chart(report, "warm-soil-later"), t, r, "soil_lag", 0, t, 0);
    check_columns(wanted_chart(report, "build-up"), t * r.harvests.size() + 2, r, "residue_before_planting",
                  0, t, 2);
  }
  // by stage: planting, emergence, V6; each run's own sum is what planting itself keeps
  const Chart& tied = wanted_chart(report, "tie-up");
  CHECK(tied.field("stage").texts[2] == "V6");
  const Variable& kept = r.find("nitrogen_tied_at_stage");
  for (std::size_t q = 0; q < 5; ++q) {
    const char* names[] = {"lowest", "low", "middle", "high", "highest"};
    CHECK(tied.field(names[q]).numbers[2] == Approx(kept.values[q]).epsilon(1e-12));  // order of two sums
    CHECK(tied.field(names[q]).numbers[0] == r.find("nitrogen_tied_at_planting").values[q]);
  }
  // classes of length add up to all that lies flat
  const Chart& pieces = wanted_chart(report, "pieces");
  double sum = 0.0;
  for (std::size_t i = 0; i < pieces.rows(); ++i)
    if (pieces.field("treatment").texts[i] == r.treatments[1]) sum += pieces.field("mass").numbers[i];
  CHECK(sum ==
        Approx(r.find("surface_mass_at_mean").values[1 * r.checkpoints.size()]).epsilon(1e-12));  // sums
}

TEST_CASE("planting report: words, table by stage and cautions", "[report]") {
  const Report report = report_of_planting(planting());
  CHECK(report.says.size() == 3);
  CHECK_THAT(report.says[0], contains("30 % or more in 3 of 3 weathers"));
  CHECK_THAT(all_words(report), contains("not a rate"));
  CHECK_THAT(all_words(report), contains("State and local rules"));
  CHECK(report.handout.charts == std::vector<std::string>{"cover", "tie-up", "build-up"});
  CHECK(report.handout.table.rows.size() == 6);  // planting and five stages
  CHECK_THAT(report.handout.table.rows[2][0], contains("V6, "));
  CHECK_THAT(report.handout.table.rows[2][0],
             contains("June"));  // corn of early May in Iowa: common practice

  Results warmer = planting();
  for (Variable& v : warmer.key_numbers) {
    if (v.name == "seed_temperature_difference") std::fill(v.values.begin(), v.values.end(), 1.5);
  }
  CHECK_THAT(report_of_planting(warmer).says[1], contains("1.5 degC warmer"));
  warmer.units = "us";
  CHECK_THAT(report_of_planting(warmer).says[1], contains("2.7 degF warmer"));  // 1.8 times, no 32 added
}

TEST_CASE("planting report: what is missing is left out", "[report]") {
  Results r = planting();
  for (const char* name : {"seed_temperature_difference", "soil_lag", "seedbed_moisture_difference",
                           "residue_wetness_at_planting", "residue_before_planting"})
    drop(r, name);
  const Both without = both(r, report_of_planting);
  check_alike(without);
  CHECK(chart_of(without.si, "build-up") == nullptr);
  CHECK(chart_of(without.si, "cover") != nullptr);
  drop_runs(r);
  CHECK(chart_of(report_of_planting(r), "tie-up") == nullptr);
  r = planting();
  keep_middle(r);
  check_alike(both(r, report_of_planting));
  r = planting();
  r.quantiles.clear();
  CHECK_NOTHROW(report_of_planting(r));
  r = planting();
  r.key_numbers.clear();
  r.stages.clear();
  r.checkpoints.clear();
  r.harvests.clear();
  CHECK(report_of_planting(r).title == "Invented farm");
}

TEST_CASE("ensemble report: columns are the numbers of the results", "[report]") {
  const Results r = four_weathers();
  const Report report = report_of_ensemble(r);
  const Chart& left = wanted_chart(report, "mass-left");
  REQUIRE(left.rows() == 8);  // two checkpoints, sites, treatments
  check_columns(left, 0, r, "mass_left_at", 0, 0, 0);
  check_columns(left, 4 + 2 + 1, r, "mass_left_at", 1, 1, 1);
  check_columns(wanted_chart(report, "tie-up-deepest"), 3, r, "tie_up_deepest", 1, 1, 0);
  CHECK(wanted_chart(report, "tie-up-deepest").field("middle").shown(-1.0) == Approx(10.0));  // g/m2 in kg/ha
  check_columns(wanted_chart(report, "stage-nitrogen-released"), 5, r, "stage_nitrogen_released", 1, 0, 1);
  const Chart& course = wanted_chart(report, "mass-left-course");
  check_columns(course, 3 * 3 + 2, r, "mass_left", 1, 1, 2);
  CHECK(course.field("date").numbers[2] - course.field("date").numbers[0] == 60.0);
  CHECK(course.facet == "site");
  const Chart& weathers = wanted_chart(report, "mass-left-by-weather");
  CHECK(weathers.field("value").numbers[5] == r.find("mass_left_at_of_run").values[5 * 2 + 1]);
  CHECK(weathers.field("weather").texts[5] == "1999");
  const Chart& map = wanted_chart(report, "mass-left-map");
  CHECK(map.field("site").texts == std::vector<std::string>{"North", "South", "North", "South"});
  CHECK(map.field("latitude").numbers[1] == 40.0);
  CHECK(map.field("value").numbers[1] == r.find("mass_left_at").values[(2 * 5 + 2) * 2 + 1]);
  // oxides as the trade buys them: K2O over K is 94.196 over 78.196 (standard atomic weights)
  Results us = r;
  us.units = "us";
  CHECK(wanted_chart(report_of_ensemble(us), "potassium-released").field("middle").shown(1.0) ==
        Approx(10.0 / kg_ha_in_lb_acre * 94.196 / 78.196).epsilon(1e-4));  // digits of the weights
  CHECK(wanted_chart(report, "potassium-released").field("middle").title == "K given back since harvest");
  CHECK(wanted_chart(report_of_ensemble(us), "potassium-released").field("middle").title ==
        "K2O given back since harvest");
  CHECK(report.says.size() == 3);
  CHECK(report.cautions == std::vector<std::string>{"Nitrate: ask first."});
}

TEST_CASE("ensemble report: one site, no coordinates, no quantiles, no series, no runs", "[report]") {
  Results r = four_weathers();
  r.sites[0].latitude_deg = NAN;
  CHECK(wanted_chart(report_of_ensemble(r), "mass-left-map").rows() == 2);
  r.sites[1].longitude_deg = NAN;
  CHECK(chart_of(report_of_ensemble(r), "mass-left-map") == nullptr);
  drop_runs(r);
  r.series.clear();
  r.days = 0;
  check_alike(both(r, report_of_ensemble));
  CHECK(chart_of(report_of_ensemble(r), "mass-left-by-weather") == nullptr);
  keep_middle(r);
  const Both middle = both(r, report_of_ensemble);
  check_alike(middle);
  CHECK(std::isnan(wanted_chart(middle.si, "mass-left").field("lowest").numbers[0]));
  r.sites.resize(1);
  for (Variable& v : r.key_numbers) v.values.resize(v.values.size() / 2);
  const Both one = both(r, report_of_ensemble);
  check_alike(one);
  CHECK(wanted_chart(one.si, "stage-nitrogen-released").facet.empty());
  r.quantiles.clear();
  CHECK_NOTHROW(report_of_ensemble(r));
  r.key_numbers.clear();
  r.checkpoints.clear();
  r.stages.clear();
  CHECK(report_of_ensemble(r).title == "Invented fields");
}

TEST_CASE("map: in proportion, with all sites inside", "[report]") {
  for (const auto& [lat, lon] : {std::pair{42.0, -93.0}, {-34.0, 150.5}, {64.0, 25.0}, {0.0, 0.0}}) {
    Chart chart;
    chart.name = "map";
    add_texts(chart, "site", "site") = {"a", "b"};
    add_numbers(chart, "latitude", "latitude", {}) = {lat, lat + 0.5};
    add_numbers(chart, "longitude", "longitude", {}) = {lon, lon + 3.0};
    add_numbers(chart, "value", "value", {}) = {1.0, 2.0};
    const nlohmann::json spec = site_map(chart, {"value", "site"});
    CHECK(spec["projection"]["type"] == "mercator");
    double west = INFINITY, east = -INFINITY, south = INFINITY, north = -INFINITY;
    for (const nlohmann::json& line : spec["layer"][0]["data"]["values"]) {
      for (const nlohmann::json& point : line["geometry"]["coordinates"]) {
        west = std::min(west, point[0].get<double>());
        east = std::max(east, point[0].get<double>());
        south = std::min(south, point[1].get<double>());
        north = std::max(north, point[1].get<double>());
      }
    }
    CHECK(west < lon);
    CHECK(east > lon + 3.0);
    CHECK(south < lat);
    CHECK(north > lat + 0.5);
    // on the ground 1.35 times as wide as high (the grid's own shape); a degree east is cos(latitude) of one
    // north
    const double shape = (east - west) * std::cos((south + north) / 2.0 * M_PI / 180.0) / (north - south);
    CHECK(shape == Approx(1.35).epsilon(1e-9));  // rounding
    const std::size_t words = spec["layer"][1]["data"]["values"].size();
    CHECK(words >= 4);
    CHECK(words <= 20);
  }
}
