#include "scenarios/results/run_scenario.hpp"

#include <cmath>
#include <regex>
#include <set>

#include "scenarios/results/table_print.hpp"
#include "scenarios/text/calendar.hpp"
#include "scenarios/weather/conditions_reading.hpp"
#include "scenarios/weather/weather_reading.hpp"
#include "scenarios/weather/weather_years.hpp"
#include "tests/catch.hpp"

namespace stoverturn {
namespace {

using enum Dimension;

const std::string field =
    "[weather]\nfile = \"w.csv\"\n"
    "[harvest]\ndate = 2012-10-20\ngrain_yield = \"205 bu/acre\"\n"
    "placement = { standing = \"20 %\", surface = \"80 %\" }\n";

const Weather& new_york() {
  static const Weather weather =
      read_weather(slurp(source_dir() / "notebooks-data/weather-newyork-2012-2015.csv"), "w.csv", {}).weather;
  return weather;
}

Results run(const std::string& text, const std::vector<std::string>& overrides = {}) {
  Climates climates;
  climates.weather = new_york();
  return run_scenario(read_scenario(text, "farm.toml", overrides), climates, {});
}

constexpr double rounding = 1e-9;  // kg/ha, of thousands

std::string demo_text() { return slurp(source_dir() / "scenarios/examples/hollow-creek.toml"); }

const Results& demo() {
  static const Results results = run(demo_text());
  return results;
}

std::size_t day_of(const Results& r, int year, int month, int day) {
  return static_cast<std::size_t>((date_of(year, month, day, "") - r.start).count());
}

/// Value of a series; `middle` is its second dimension's place where it has three.
double value(const Results& r, const std::string& name, std::size_t t, std::size_t middle, std::size_t day) {
  const Variable& v = r.find(name);
  const std::size_t extent = v.dimensions.size() == 3 ? r.extent(v.dimensions[1]) : 1;
  return v.values.at((t * extent + middle) * r.extent(v.dimensions.back()) + day);
}
double value(const Results& r, const std::string& name, std::size_t t, std::size_t day) {
  return value(r, name, t, 0, day);
}

bool has_note(const Results& r, const std::string& part) {
  for (const std::string& note : r.notes) {
    if (note.find(part) != std::string::npos) return true;
  }
  return false;
}

bool same_bits(const std::vector<Variable>& a, const std::vector<Variable>& b) {
  if (a.size() != b.size()) return false;
  for (std::size_t i = 0; i < a.size(); ++i) {
    if (a[i].name != b[i].name || a[i].values.size() != b[i].values.size()) return false;
    for (std::size_t j = 0; j < a[i].values.size(); ++j) {
      const double x = a[i].values[j], y = b[i].values[j];
      if (!(x == y || (std::isnan(x) && std::isnan(y)))) return false;
    }
  }
  return true;
}

constexpr std::size_t standing = 0, surface = 1, buried = 2;

}  // namespace

TEST_CASE("run: every variable has the size of its dimensions and a name of its own", "[run]") {
  const Results& r = demo();
  CHECK(r.treatments.size() == 5);
  CHECK(r.components == std::vector<std::string>{"stalk", "leaf", "husk", "cob"});
  CHECK(r.days == 1827);  // five years of which 2016 is a leap year, both ends
  std::set<std::string> names;
  for (const std::vector<Variable>* list : {&r.series, &r.key_numbers}) {
    for (const Variable& v : *list) {
      INFO(v.name);
      CHECK(names.insert(v.name).second);
      std::size_t size = 1;
      for (const Dimension d : v.dimensions) size *= r.extent(d);
      CHECK(v.values.size() == size);
      CHECK_FALSE(v.meaning.empty());
      CHECK(v.dimensions.front() == treatment);
      CHECK((v.dimensions.back() == Dimension::time) == (list == &r.series));
    }
  }
}

TEST_CASE("run: key numbers are the series on the days of the checkpoints", "[run]") {
  const Results& r = demo();
  // harvest on 2012-10-20, planting on 5 May
  const std::vector<std::array<int, 3>> dates = {{2013, 5, 5}, {2013, 10, 20}, {2014, 5, 5}, {2014, 10, 20},
                                                 {2015, 5, 5}, {2015, 10, 20}, {2016, 5, 5}, {2016, 10, 20},
                                                 {2017, 5, 5}, {2017, 10, 20}};
  REQUIRE(r.checkpoints.size() == dates.size());
  CHECK(r.checkpoints[0] == "planting 1");
  CHECK(r.checkpoints[9] == "year 5");
  int compared = 0;
  for (const Variable& key : r.key_numbers) {
    if (!key.name.ends_with("_at")) continue;
    const std::string series = key.name.substr(0, key.name.size() - 3);
    const std::size_t middle = key.dimensions.size() == 3 ? r.extent(key.dimensions[1]) : 1;
    for (std::size_t t = 0; t < r.treatments.size(); ++t) {
      for (std::size_t m = 0; m < middle; ++m) {
        for (std::size_t c = 0; c < dates.size(); ++c) {
          const std::size_t day = day_of(r, dates[c][0], dates[c][1], dates[c][2]);
          CHECK(value(r, key.name, t, m, c) == value(r, series, t, m, day));
          ++compared;
        }
      }
    }
  }
  CHECK(compared >= 1000);
}

TEST_CASE("run: sums by component and placement are the sums over cohorts", "[run]") {
  const Results& r = demo();
  for (const std::string what : {"dry_matter", "nitrogen"}) {
    for (std::size_t t = 0; t < r.treatments.size(); ++t) {
      for (const std::size_t day : {std::size_t{0}, std::size_t{26}, std::size_t{200}, std::size_t{1826}}) {
        std::vector<double> by_component(r.components.size(), 0.0), by_placement(r.placements.size(), 0.0);
        for (std::size_t j = 0; j < r.cohorts.size(); ++j) {
          const double x = value(r, "cohort_" + what, t, j, day);
          for (std::size_t c = 0; c < r.components.size(); ++c) {
            if (r.components[c] == r.cohorts[j].component) by_component[c] += x;
          }
          for (std::size_t p = 0; p < r.placements.size(); ++p) {
            if (r.placements[p] == r.cohorts[j].placement) by_placement[p] += x;
          }
        }
        double total = 0.0;
        for (std::size_t c = 0; c < r.components.size(); ++c) {
          CHECK(value(r, what + "_by_component", t, c, day) == Approx(by_component[c]).epsilon(1e-12));
          total += by_component[c];
        }
        for (std::size_t p = 0; p < r.placements.size(); ++p) {
          CHECK(value(r, what + "_by_placement", t, p, day) == Approx(by_placement[p]).epsilon(1e-12));
        }
        CHECK(value(r, what == "nitrogen" ? "nitrogen_in_residue" : what, t, day) ==
              Approx(total).epsilon(1e-12));
      }
    }
  }
}

TEST_CASE("run: what entered is there or has left, to 1e-9 of it", "[run][balance]") {
  const Results& r = demo();
  const double input_g_m2 = r.find("residue_dry_matter").values[0] * 0.44;  // carbon, the largest book
  for (const double x : r.find("balance_residual").values) REQUIRE(std::abs(x) < 1e-9 * input_g_m2);
}

TEST_CASE("run: cohorts of all treatments share one axis and stay empty where they are not", "[run]") {
  const Results r = run("duration = \"100 d\"\n" + field +
                        "[treatment.long]\ncomponent.stalk.cut_length = \"30 in\"\n"
                        "[treatment.short]\ncomponent.stalk.cut_length = \"6 in\"\n");
  // four components standing and lying, the stalk in two lengths
  CHECK(r.cohorts.size() == 10);
  std::set<std::string> labels;
  for (const CohortLabel& c : r.cohorts) {
    CHECK(labels.insert(c.component + "|" + c.pieces + "|" + c.placement).second);
    CHECK(c.harvest == "1");
  }
  for (std::size_t j = 0; j < r.cohorts.size(); ++j) {
    if (r.cohorts[j].component != "stalk") continue;
    const bool is_long = r.cohorts[j].pieces == "762 mm";
    const std::size_t other = is_long ? 1 : 0;
    for (std::size_t day = 0; day <= 100; ++day) CHECK(value(r, "cohort_dry_matter", other, j, day) == 0.0);
    CHECK(value(r, "cohort_dry_matter", 1 - other, j, 0) > 10.0);
  }
}

TEST_CASE("run: a pass moves and cuts what is there", "[run][events]") {
  const Results r = run("duration = \"60 d\"\n" + field +
                            "[[event]]\nkind = \"tillage\"\nafter_harvest = \"20 d\"\nknock_down = \"75 %\"\n"
                            "bury = \"40 %\"\nrecut = { stalk = { cut_length = \"2 in\" } }\n",
                        {"k_fall=0"});
  const auto mass = [&](std::size_t p, std::size_t day) {
    return value(r, "dry_matter_by_placement", 0, p, day);
  };
  // mass does not jump; decay of a day in November is below 1 %
  CHECK(value(r, "dry_matter", 0, 20) == Approx(value(r, "dry_matter", 0, 19)).epsilon(0.01));
  const double before_standing = mass(standing, 19), before_surface = mass(surface, 19);
  CHECK(mass(standing, 20) == Approx(0.25 * before_standing).epsilon(0.01));
  CHECK(mass(buried, 20) == Approx(0.40 * (before_surface + 0.75 * before_standing)).epsilon(0.01));
  CHECK(mass(surface, 20) == Approx(0.60 * (before_surface + 0.75 * before_standing)).epsilon(0.01));
  // all flat stalk is cut, what stands is not; shares that add to 1 leave the rounding of the sum
  for (std::size_t j = 0; j < r.cohorts.size(); ++j) {
    const CohortLabel& c = r.cohorts[j];
    if (c.component != "stalk") continue;
    const bool cut = c.pieces == "50.8 mm (was 300 mm)";
    CHECK((cut || c.pieces == "300 mm"));
    const double after = value(r, "cohort_dry_matter", 0, j, 20);
    CAPTURE(c.pieces, c.placement, after);
    if (c.placement == "surface") CHECK((after > rounding) == cut);
    if (c.placement == "standing") CHECK((after > rounding) == !cut);
    if (cut) CHECK(value(r, "cohort_dry_matter", 0, j, 19) == 0.0);
  }
}

TEST_CASE("run: standing residue falls at its rate where nothing decays", "[run][events]") {
  const Results r =
      run("duration = \"100 d\"\n[harvest]\ndate = 2012-10-20\nresidue = \"9 t/ha\"\n"
          "placement = { standing = \"100 %\" }\n[conditions]\ntemperature = \"-20 C\"\n",
          {"k_fall=0.01"});
  // exp(-k t); the tolerance is a thousand times the integrator's
  const double N = value(r, "dry_matter_by_placement", 0, standing, 0);
  CHECK(N == Approx(900.0));
  const double left = value(r, "dry_matter_by_placement", 0, standing, 100);
  CHECK(left == Approx(900.0 * std::exp(-1.0)).epsilon(1e-4));
  CHECK(value(r, "dry_matter_by_placement", 0, surface, 100) == Approx(900.0 - left).epsilon(1e-6));
}

TEST_CASE("run: duration in days, years and leap years", "[run]") {
  const auto days = [](const std::string& duration) {
    return run("duration = \"" + duration +
               "\"\n[harvest]\ndate = 2011-10-20\nresidue = \"9 t/ha\"\n"
               "[conditions]\ntemperature = \"25 C\"\n")
        .days;
  };
  CHECK(days("10 d") == 11);
  CHECK(days("1 year") == 367);  // to 2012-10-20, over 29 February 2012
  CHECK(days("2 years") == 732);
  CHECK(days("26 weeks") == 183);
}

TEST_CASE("run: a jar at 25 C", "[run][conditions]") {
  const std::string jar = "duration = \"120 d\"\n[harvest]\ndate = 2012-10-20\nresidue = \"9 t/ha\"\n";
  const Results r = run(jar + "[conditions]\ntemperature = \"25 C\"\nwetness = 1\n");
  const Results cold = run(jar + "[conditions]\ntemperature = \"5 C\"\nwetness = 1\n");
  for (std::size_t day = 0; day < 120; ++day) {
    CHECK(value(r, "residue_temperature", 0, surface, day) == 25.0);
    CHECK(value(r, "water_through", 0, surface, day) == 0.0);
  }
  // more is lost where it is warmer; nothing leaches where no water moves
  CHECK(value(r, "mass_left", 0, 120) < value(cold, "mass_left", 0, 120) - 0.1);
  CHECK(value(r, "nitrogen_leached", 0, 120) == 0.0);
  CHECK(value(r, "organic_nitrogen_lost", 0, 120) == 0.0);
  const Results frozen = run(jar + "[conditions]\ntemperature = \"-20 C\"\n");
  CHECK(value(frozen, "mass_left", 0, 120) == Approx(1.0).epsilon(1e-9));
}

TEST_CASE("run: a log that says what a constant says gives the same", "[run][conditions]") {
  const std::string tub = "duration = \"50 d\"\n[harvest]\ndate = 2012-10-20\nresidue = \"9 t/ha\"\n";
  const Results constant =
      run(tub + "[conditions]\ntemperature = \"20 C\"\nwetness = 0.8\npore_filling = 0.5\n");
  const auto logged = [&](const std::string& rows) {
    Climates climates;
    climates.logs.emplace_back("log.csv", read_conditions_log(rows, "log.csv"));
    return run_scenario(read_scenario(tub + "[conditions]\nlog = \"log.csv\"\n", "tub.toml", {}), climates,
                        {});
  };
  const std::string rows = "day,temperature [degC],wetness [%],pore_filling [%],water [mm]\n";
  const Results dry = logged(rows + "0,20,80,50,0\n60,20,80,50,0\n");
  CHECK(value(dry, "mass_left", 0, 50) == Approx(value(constant, "mass_left", 0, 50)).epsilon(1e-9));
  const Results watered = logged(rows + "0,20,80,50,30\n10,20,80,50,30\n60,20,80,50,0\n");
  CHECK(value(watered, "water_through", 0, surface, 0) == Approx(30.0));
  CHECK(value(watered, "water_through", 0, surface, 5) == 0.0);
  // water washes potassium out
  CHECK(value(watered, "potassium_released", 0, 15) > value(dry, "potassium_released", 0, 15) + 0.1);
  CHECK_THROWS_WITH(logged(rows + "0,20,80,50,0\n20,20,80,50,0\n"),
                    "log.csv: the log holds 2012-10-20 to 2012-11-09; the run needs 2012-10-20 to 2012-12-08 "
                    "(shorten `duration`, or move the harvest)");

  // a dated log is laid on the run by its dates: ten days earlier, its water of day 20 falls on day 10
  const std::string dated = "date,temperature [degC],wetness [%],pore_filling [%],water [mm]\n";
  const Results shifted =
      logged(dated + "2012-10-10,20,80,50,0\n2012-10-30,20,80,50,30\n2012-12-31,20,80,50,0\n");
  CHECK(value(shifted, "water_through", 0, surface, 10) == Approx(30.0));
  CHECK_THROWS_WITH(logged(dated + "2013-01-01,20,80,50,0\n2014-12-31,20,80,50,0\n"),
                    contains("the log holds 2013-01-01 to 2014-12-31"));
}

TEST_CASE("run: the weather kept with results runs them again, bit for bit", "[run][reproduce]") {
  const Results& first = demo();
  Climates climates;
  climates.weather = kept_weather(first);
  const Results again = run_scenario(read_scenario(demo_text(), "farm.toml", {}), climates, {});
  CHECK(same_bits(first.series, again.series));
  CHECK(same_bits(first.key_numbers, again.key_numbers));
  CHECK(same_bits(first.weather, again.weather));
  CHECK(first.notes == again.notes);
  // and the comparison can fail
  const Results other = run(demo_text(), {"k_hol=0.0350001"});
  CHECK_FALSE(same_bits(first.series, other.series));
}

TEST_CASE("run: no printed number moves by more than its last digit at half the tolerance",
          "[run][tolerance]") {
  const auto numbers = [](const std::vector<std::string>& overrides) {
    std::string text = printed_table(run(demo_text(), overrides));
    text.erase(std::remove(text.begin(), text.end(), ','), text.end());
    std::vector<std::pair<double, double>> list;  // value, one in its last digit
    static const std::regex pattern("-?[0-9]+(\\.[0-9]+)?");
    for (std::sregex_iterator i(text.begin(), text.end(), pattern), end; i != end; ++i) {
      const std::string digits = i->str();
      const std::size_t dot = digits.find('.');
      const double last =
          dot == std::string::npos ? 1.0 : std::pow(10.0, -static_cast<double>(digits.size() - dot - 1));
      list.emplace_back(std::stod(digits), last);
    }
    return list;
  };
  const ModelChoices choices;
  const auto halved = [](const char* key, double x) {
    return "model." + std::string(key) + "=" + std::to_string(x * 1e12) + "e-12";
  };
  const std::vector<std::string> half = {halved("relative_tolerance", choices.tolerance.relative / 2.0),
                                         halved("absolute_tolerance", choices.tolerance.absolute / 2.0)};
  const ModelChoices read = read_scenario(demo_text(), "farm.toml", half).model;
  CHECK(read.tolerance.relative == Approx(choices.tolerance.relative / 2.0));
  CHECK(read.tolerance.absolute == Approx(choices.tolerance.absolute / 2.0));
  const auto usual = numbers({}), finer = numbers(half);
  REQUIRE(usual.size() == finer.size());
  CHECK(usual.size() > 500);
  for (std::size_t i = 0; i < usual.size(); ++i) {
    INFO(usual[i].first << " became " << finer[i].first);
    CHECK(std::abs(usual[i].first - finer[i].first) < 1.001 * usual[i].second);
  }
}

TEST_CASE("run: a southern harvest in May and planting in October", "[run]") {
  const std::string text =
      "duration = \"2 years\"\n[weather]\nfile = \"w.csv\"\n[harvest]\ndate = 2013-05-10\n"
      "residue = \"9 t/ha\"\n[next_crop]\nplanting = \"10-15\"\n";
  const Scenario s = read_scenario(text, "south.toml", {});
  const auto list = checkpoints(s.treatments[0], date_of(2015, 5, 10, ""));
  const std::vector<std::pair<std::string, std::string>> wanted = {{"planting 1", "2013-10-15"},
                                                                   {"year 1", "2014-05-10"},
                                                                   {"planting 2", "2014-10-15"},
                                                                   {"year 2", "2015-05-10"}};
  REQUIRE(list.size() == wanted.size());
  for (std::size_t i = 0; i < list.size(); ++i) {
    CHECK(list[i].name == wanted[i].first);
    CHECK(format_date(list[i].date) == wanted[i].second);
  }
  const Results r = run(text);
  CHECK(r.days == 731);
  CHECK(value(r, "mass_left_at", 0, 3) == value(r, "mass_left", 0, 730));
  CHECK(value(r, "mass_left_at", 0, 0) > value(r, "mass_left_at", 0, 1));
}

TEST_CASE("run: a run that ends between checkpoints gives its end", "[run]") {
  const Results r = run("duration = \"300 d\"\n" + field + "[next_crop]\nplanting = \"05-05\"\n");
  CHECK(r.checkpoints == std::vector<std::string>{"planting 1", "end"});
  CHECK(value(r, "mass_left_at", 0, 1) == value(r, "mass_left", 0, 300));
  CHECK(run("duration = \"30 d\"\n" + field).checkpoints == std::vector<std::string>{"end"});
}

TEST_CASE("run: two harvests on one time axis", "[run]") {
  const Results r = run("duration = \"1 year\"\n" + field +
                        "[treatment.early]\n[treatment.late]\nharvest.date = 2012-11-09\n");
  CHECK(format_date(r.start) == "2012-10-20");
  CHECK(std::isnan(value(r, "mass_left", 1, 19)));
  CHECK(value(r, "dry_matter", 1, 19) == 0.0);
  CHECK(value(r, "mass_left", 1, 20) == Approx(1.0));
  CHECK(value(r, "mass_left", 0, 0) == Approx(1.0));
  // the late one's first year is over after the run: for it there is the end, which the early one has too
  REQUIRE(r.checkpoints == std::vector<std::string>{"planting 1", "year 1", "end"});
  CHECK(r.find("harvest_day").values == std::vector<double>{0.0, 20.0});
  CHECK(value(r, "checkpoint_day", 0, 0) == value(r, "checkpoint_day", 1, 0));
  CHECK(value(r, "checkpoint_day", 0, 1) == 365.0);
  CHECK(value(r, "checkpoint_day", 0, 2) == 365.0);
  CHECK(value(r, "mass_left_at", 1, 2) == value(r, "mass_left", 1, 365));
  CHECK(std::isnan(value(r, "checkpoint_day", 1, 1)));
  CHECK(std::isnan(value(r, "mass_left_at", 1, 1)));
}

TEST_CASE("run: notes tell what the numbers do not", "[run][notes]") {
  const Results loops = run("duration = \"4 years\"\n" + field);
  CHECK(has_note(loops,
                 "The run goes beyond its weather record (2012-01-01 to 2015-12-31); its years are used "
                 "again in their order."));
  CHECK(has_note(loops, "Prices of nitrogen, phosphate, potash and sulfur are placeholders"));
  const Results late = run("duration = \"1 year\"\n" + field +
                           "[[event]]\nkind = \"tillage\"\ndate = 2014-05-04\nbury = \"10 %\"\n");
  CHECK(has_note(late, "'field': an event on 2014-05-04 lies after the end of the run and has no effect."));
  CHECK_FALSE(has_note(late, "beyond its weather record"));
  CHECK_FALSE(has_note(demo(), "placeholders"));
}

TEST_CASE("run: progress goes up from 0 to at most 1", "[run]") {
  std::vector<double> seen;
  Climates climates;
  climates.weather = new_york();
  run_scenario(read_scenario("duration = \"200 d\"\n" + field + "[treatment.a]\n[treatment.b]\n", "f", {}),
               climates, {}, [&](double done) { seen.push_back(done); });
  REQUIRE(seen.size() > 4);
  CHECK(std::is_sorted(seen.begin(), seen.end()));
  CHECK(seen.front() == 0.0);
  CHECK(seen.back() <= 1.0);
}

}  // namespace stoverturn
