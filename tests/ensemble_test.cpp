#include "scenarios/ensemble/ensemble_results.hpp"

#include <algorithm>
#include <cmath>

#include "scenarios/text/calendar.hpp"
#include "scenarios/weather/weather_reading.hpp"
#include "tests/catch.hpp"
#include "tests/mistakes_in.hpp"
#include "tests/nearly_same.hpp"

using namespace stoverturn;

namespace {

const std::string farm =
    "duration = \"400 d\"\n"
    "[weather]\nfile = \"w.csv\"\n"
    "[harvest]\ndate = 2024-10-20\ngrain_yield = \"205 bu/acre\"\n"
    "placement = { standing = \"20 %\", surface = \"80 %\" }\n"
    "[next_crop]\nplanting = \"05-05\"\nnitrogen = \"160 lb/acre\"\n"
    "[treatment.left]\n"
    "[treatment.fed]\n"
    "[[treatment.fed.event]]\nkind = \"fertiliser\"\nafter_harvest = \"10 d\"\nnitrogen = \"40 lb N/acre\"\n"
    "urea = \"100 %\"\n"
    "[[treatment.fed.event]]\nkind = \"tillage\"\ndate = 2024-11-15\nbury = \"45 %\"\n";

const Weather& new_york() {
  static const Weather weather =
      read_weather(slurp(source_dir() / "notebooks-data/weather-newyork-2012-2015.csv"), "w.csv", {}).weather;
  return weather;
}

Climates climates() {
  Climates c;
  c.weather = new_york();
  return c;
}

Ensemble ensemble_of(const Scenario& scenario, ForEach for_each = one_after_the_other) {
  const LoadSite load = [scenario](std::size_t) {
    Climates c = scenario.weather && !scenario.weather->normals ? climates() : Climates{};
    return SiteScenario{scenario, std::move(c)};
  };
  return Ensemble({{"here", not_measured, not_measured, {}, {}}}, load, std::move(for_each));
}

Ensemble ensemble_of(const std::string& text, const std::vector<std::string>& set = {},
                     ForEach for_each = one_after_the_other) {
  return ensemble_of(read_scenario(text, "farm.toml", set), std::move(for_each));
}

Results results_of(Ensemble& ensemble, bool single_runs = true) {
  std::vector<PartRows> parts(ensemble.parts());
  std::vector<RunFailure> failures;
  for (std::size_t p = parts.size(); p-- > 0;) {  // the order must not matter
    parts[p] = ensemble.run_part(p);
    failures.insert(failures.end(), parts[p].failures.begin(), parts[p].failures.end());
  }
  return ensemble_results(ensemble, columns_in(parts, ensemble), single_runs, failures, {});
}

bool same_bits(const Results& a, const Results& b) {
  const auto same = [](const std::vector<Variable>& x, const std::vector<Variable>& y) {
    return std::equal(x.begin(), x.end(), y.begin(), y.end(), [](const Variable& v, const Variable& w) {
      return v.name == w.name &&
             std::equal(v.values.begin(), v.values.end(), w.values.begin(), w.values.end(),
                        [](double p, double q) { return p == q || (std::isnan(p) && std::isnan(q)); });
    });
  };
  return same(a.key_numbers, b.key_numbers) && same(a.series, b.series);
}

/// A run of the ensemble against the same run alone, number by number.
void check_run(const Results& ensemble, std::size_t run, const Results& alone) {
  const std::size_t runs = ensemble.weather_years.size() * ensemble.draws,
                    times = ensemble.checkpoints.size();
  for (std::size_t t = 0; t < alone.treatments.size(); ++t) {
    for (const char* name :
         {"mass_left_at", "nitrogen_released_at", "nitrogen_leached_at", "soil_cover_at"}) {
      const Variable& here = ensemble.find(std::string(name) + "_of_run");
      const Variable& there = alone.find(name);
      for (std::size_t c = 0; c < times; ++c) {
        const auto own =
            std::find(alone.checkpoints.begin(), alone.checkpoints.end(), ensemble.checkpoints[c]);
        if (own == alone.checkpoints.end()) continue;
        const double value = there.values[t * alone.checkpoints.size() +
                                          static_cast<std::size_t>(own - alone.checkpoints.begin())];
        CAPTURE(name, ensemble.checkpoints[c], run);
        CHECK(nearly_same(here.values[(t * runs + run) * times + c], value));
      }
    }
    const double half = ensemble.find("days_to_half_of_run").values[t * runs + run];
    const double half_alone = alone.find("days_to_half").values[t];
    CHECK(std::isnan(half) == std::isnan(half_alone));
    if (!std::isnan(half)) CHECK(std::abs(half - half_alone) < 1e-3);  // days: some 0.2 % of mass a day
  }
}

}  // namespace

TEST_CASE("a run of an ensemble is that run alone, but for the steps of seven others") {
  const Scenario scenario = read_scenario(farm, "farm.toml", {});
  Ensemble ensemble = ensemble_of(scenario);
  const Results r = results_of(ensemble);
  REQUIRE(r.weather_years == std::vector<std::string>{"2012", "2013", "2014"});
  for (std::size_t f = 0; f < 3; ++f) {
    const Climates then = climates_in(scenario, climates(), ensemble.futures()[f]);
    check_run(r, f, run_scenario(scenario, then, {}));
  }
  CHECK(r.find("balance_error").values[0] < 1e-9);  // g m-2, of thousands: rounding
}

TEST_CASE("a draw of an ensemble is that draw alone") {
  const Scenario scenario = read_scenario("draws = 5\n" + farm, "farm.toml", {"ensemble.weather_years=all"});
  Ensemble ensemble = ensemble_of(scenario);
  const Results r = results_of(ensemble);
  REQUIRE(r.draws == 5);
  for (const auto& [f, d] : {std::pair<std::size_t, std::size_t>{0, 0}, {1, 3}, {2, 4}}) {
    const Climates then = climates_in(scenario, climates(), ensemble.futures()[f]);
    check_run(r, f * 5 + d, run_scenario(scenario.draws->with_draw(d), then, {}));
  }
}

TEST_CASE("the bits of an ensemble do not depend on who does the work") {
  const ForEach backwards = [](std::size_t n, const std::function<void(std::size_t)>& work) {
    for (std::size_t i = n; i-- > 0;) work(i);
  };
  const std::string text = "draws = 7\n" + farm + "[ensemble]\nseries = [\"mass_left\"]\nevery = \"50 d\"\n";
  Ensemble forth = ensemble_of(text), back = ensemble_of(text, {}, backwards);
  const Results a = results_of(forth), b = results_of(back);
  CHECK(same_bits(a, b));
  REQUIRE(a.days == 9);
  CHECK(a.every_d == 50);
  const Variable& course = a.find("mass_left");
  CHECK(course.dimensions ==
        std::vector{Dimension::site, Dimension::treatment, Dimension::quantile, Dimension::time});
  CHECK(course.values[0] == 1.0);  // at harvest
}

TEST_CASE("quantiles and means are those of the runs") {
  Ensemble ensemble = ensemble_of("draws = 7\n" + farm + "[ensemble]\nquantiles = [0, 0.5, 1]\n");
  const Results r = results_of(ensemble);
  const Variable &runs = r.find("mass_left_at_of_run"), &quantiles = r.find("mass_left_at"),
                 &mean = r.find("mass_left_at_mean");
  const std::size_t n = 21, times = r.checkpoints.size();
  for (std::size_t t = 0; t < 2; ++t) {
    for (std::size_t c = 0; c < times; ++c) {
      std::vector<double> x;
      for (std::size_t run = 0; run < n; ++run) x.push_back(runs.values[(t * n + run) * times + c]);
      double sum = 0.0;
      for (const double v : x) sum += v;
      std::sort(x.begin(), x.end());
      CHECK(quantiles.values[(t * 3 + 0) * times + c] == x.front());
      CHECK(quantiles.values[(t * 3 + 1) * times + c] == x[10]);
      CHECK(quantiles.values[(t * 3 + 2) * times + c] == x.back());
      CHECK(mean.values[t * times + c] == Approx(sum / 21.0).epsilon(1e-14));  // rounding of a sum
    }
  }
  Ensemble again = ensemble_of("draws = 7\n" + farm + "[ensemble]\nquantiles = [0, 0.5, 1]\n");
  const Results reduced = results_of(again, false);
  CHECK(reduced.find("mass_left_at").values == quantiles.values);
  CHECK_THROWS(reduced.find("mass_left_at_of_run"));
}

TEST_CASE("an ensemble of more weathers than are laid out at once") {
  const std::string text =
      "duration = \"30 d\"\n[weather]\nclimate = \"central Iowa\"\nseed = 5\n"
      "[harvest]\ndate = 2026-10-20\nresidue = \"9 t/ha\"\n[ensemble]\nweather_years = 300\ndates = [\"25 "
      "d\"]\n";
  const Scenario scenario = read_scenario("draws = 2\n" + text, "farm.toml", {});
  Ensemble ensemble = ensemble_of(scenario);
  CHECK(ensemble.shape().runs() == 600);
  CHECK(ensemble.parts() == 1);
  const Results r = results_of(ensemble);
  CHECK(r.weather_years.front() == "seed 5");
  CHECK(r.weather_years.back() == "seed 304");
  for (const std::size_t run : {std::size_t{513}, std::size_t{599}}) {  // behind the first 256 weathers
    const Climates then = climates_in(scenario, {}, ensemble.futures()[run / 2]);
    check_run(r, run, run_scenario(scenario.draws->with_draw(run % 2), then, {}));
  }
}

TEST_CASE("a run that cannot be integrated is left out alone") {
  Scenario scenario = read_scenario(farm, "farm.toml", {});
  scenario.draws.emplace();
  scenario.draws->count = 3;
  scenario.draws->with_draw = [scenario](std::size_t i) {
    Scenario drawn = scenario;
    if (i == 1) {
      for (Treatment& t : drawn.treatments) {
        for (Parameters<double>& p : t.parameters.components)
          p.k_hol = std::numeric_limits<double>::infinity();
      }
    }
    return drawn;
  };
  Ensemble ensemble = ensemble_of(scenario);
  std::vector<RunFailure> failures;
  for (const RunFailure& f : ensemble.run_part(0).failures) failures.push_back(f);
  REQUIRE(failures.size() == 6);  // three weathers, two treatments
  CHECK(failures[0].run == 1);
  CHECK(failures[5].run == 16);
  CHECK(failures[0].message.find("not a finite number") != std::string::npos);
  const Results r = results_of(ensemble);
  CHECK(std::isnan(r.find("mass_left_at_of_run").values[1 * r.checkpoints.size()]));
  CHECK(std::isfinite(r.find("mass_left_at_of_run").values[0]));
  CHECK(r.notes.end() != std::find_if(r.notes.begin(), r.notes.end(), [](const std::string& note) {
          return note.starts_with("6 of 18 runs could not be integrated");
        }));
}

TEST_CASE("a future has the days of its year under the dates of the scenario") {
  const Scenario scenario = read_scenario(farm, "farm.toml", {});
  const std::vector<Future> futures = futures_of(scenario, climates());
  REQUIRE(futures.size() == 3);  // 2015 has no whole year after 20 October
  const Climates then = climates_in(scenario, climates(), futures[1]);
  const auto on = [](const Weather& w, std::chrono::sys_days day) {
    return w.days.at(static_cast<std::size_t>((day - w.start).count())).tmax_C;
  };
  CHECK(on(then.weather, date_of(2024, 10, 20, "")) == on(new_york(), date_of(2013, 10, 20, "")));
  CHECK(on(then.weather, date_of(2025, 3, 1, "")) == on(new_york(), date_of(2014, 3, 1, "")));
  // 2024 has a 29 February and 2013 none; the year before the run is that before the future's
  CHECK(on(then.weather, date_of(2024, 2, 29, "")) == on(new_york(), date_of(2013, 2, 28, "")));
  CHECK(on(then.weather, date_of(2023, 12, 31, "")) == on(new_york(), date_of(2012, 12, 31, "")));
  // beyond 2015 the record begins anew
  const Scenario longer = read_scenario(farm, "farm.toml", {"duration=3 years"});
  const Climates later = climates_in(longer, climates(), futures[2]);
  CHECK(on(later.weather, date_of(2026, 6, 1, "")) == on(new_york(), date_of(2012, 6, 1, "")));
}

TEST_CASE("weather years that are not there are told") {
  const auto mistake = [](const std::string& years) {
    return mistakes_in([&] { ensemble_of(farm + "[ensemble]\nweather_years = " + years + "\n"); });
  };
  CHECK(mistake("[2013, 2015]") ==
        "farm.toml:23:17: weather_years: 2015 is no year in which a run can begin; the record (2012-01-01 to "
        "2015-12-31) has 2012, 2013, 2014");
  CHECK(
      mistake("20") ==
      "farm.toml:23:17: weather_years: a number is for generated weather or `resample`; a record has years, "
      "write \"all\" or [2012, 2013]");
  CHECK(
      mistake("\"some\"") ==
      "farm.toml:23:17: weather_years: wanted \"all\", a number of series from 1 to 10000, or years, such as "
      "[2012, 2013]");
  CHECK(mistake("[2013, 2013]") == "farm.toml:23:17: weather_years: 2013 stands twice");
}

TEST_CASE("what an ensemble cannot keep is told, all at once") {
  CHECK(mistakes_in([&] {
          ensemble_of(farm + "[ensemble]\nquantiles = [0.9, 0.1]\ndates = [\"13-45\"]\nnumber = 3\n");
        }) ==
        "farm.toml:23:13: quantiles: wanted rising shares from 0 to 1, such as [0.1, 0.5, 0.9]\n"
        "farm.toml:24:10: dates: found '13-45'; wanted a day of every year, such as \"04-15\", or a time "
        "after the "
        "harvest, such as \"60 d\"\n"
        "farm.toml:25:1: unknown key `number` in [ensemble]; did you mean 'numbers'?");
  CHECK(mistakes_in([&] { ensemble_of(farm + "[ensemble]\nnumbers = [\"mass_lef\"]\n"); }) ==
        "farm.toml:23:12: there is no series 'mass_lef'; did you mean 'mass_left'?");
}

TEST_CASE("a table of sites sets what differs") {
  const std::vector<SiteRow> sites = read_site_table(
      "Site,latitude,longitude,soil,yield [bu/acre],soil.pH\n"
      "\"hill, north\",42.5 N,93.5 W,loam,180,\n"
      "valley,-33,60,,,6.1\n",
      "sites.csv");
  REQUIRE(sites.size() == 2);
  CHECK(sites[0].name == "hill, north");
  CHECK(sites[0].longitude_deg == -93.5);
  CHECK(sites[0].overrides == std::vector<std::string>{"weather.latitude=42.5 deg", "soil.texture=loam",
                                                       "harvest.grain_yield=180 bu/acre"});
  CHECK(sites[1].overrides == std::vector<std::string>{"weather.latitude=-33 deg", "soil.pH=6.1"});
  const Scenario there = read_scenario(farm, "farm.toml", sites[0].overrides);
  CHECK(there.weather->latitude_deg == 42.5);
  CHECK(
      mistakes_in([] { read_site_table("name,latitude,soul\nx,95,loam\nx,42,loam,3\n", "sites.csv"); }) ==
      "sites.csv:1:1: unknown column 'name'; wanted site, latitude, longitude, elevation, weather, climate, "
      "soil, yield, or a key of the scenario with its section, such as soil.pH\n"
      "sites.csv:1:1: the table lacks a column `site`\n"
      "sites.csv:1:15: unknown column 'soul'; wanted site, latitude, longitude, elevation, weather, climate, "
      "soil, yield, or a key of the scenario with its section, such as soil.pH; did you mean 'soil'?\n"
      "sites.csv:2:3: latitude: found '95'; wanted degrees from -90 to 90\n"
      "sites.csv:3:1: found 4 cells; the head has 3");
}

TEST_CASE("each site is run as it is, and named where it is wrong") {
  const std::vector<SiteRow> sites = {{"a", 42.0, -93.0, {"soil.texture=sand"}, {}},
                                      {"b", 43.0, -94.0, {"soil.texture=clay"}, {}},
                                      {"c", 44.0, -95.0, {"soil.texture=cla"}, {"sites.csv", 4, 1}}};
  const LoadSite load = [&](std::size_t i) {
    return SiteScenario{read_scenario(farm, "farm.toml", sites[i].overrides), climates()};
  };
  Ensemble two({sites[0], sites[1]}, load, one_after_the_other);
  const Results r = results_of(two);
  REQUIRE(r.sites.size() == 2);
  CHECK(r.sites[1].longitude_deg == -94.0);
  const std::size_t times = r.checkpoints.size(), runs = 3;
  for (std::size_t s = 0; s < 2; ++s) {
    const Scenario here = read_scenario(farm, "farm.toml", sites[s].overrides);
    const Results alone = run_scenario(here, climates_in(here, climates(), two.futures()[0]), {});
    CHECK(r.find("mass_left_at_of_run").values[s * 2 * runs * times] ==
          Approx(alone.find("mass_left_at").values[0]).margin(of_lanes));
  }
  // a later harvest: the same dates of the year lie elsewhere in the run, and the years are counted from its
  // own
  const std::vector<SiteRow> late = {sites[0], {"d", 42.0, -93.0, {"harvest.date=2024-11-05"}, {}}};
  const LoadSite load_late = [&](std::size_t i) {
    return SiteScenario{read_scenario(farm, "farm.toml", late[i].overrides), climates()};
  };
  Ensemble other(late, load_late, one_after_the_other);
  const Results of_late = results_of(other);
  const Scenario there = read_scenario(farm, "farm.toml", late[1].overrides);
  const Results alone = run_scenario(there, climates_in(there, climates(), {"2013", 2013 - 2024, 1}), {});
  const std::size_t second = 2 * runs * of_late.checkpoints.size();
  CHECK(nearly_same(of_late.find("mass_left_at_of_run").values[second + 1 * of_late.checkpoints.size()],
                    alone.find("mass_left_at").values[0]));
  Ensemble three(sites, load, one_after_the_other);
  CHECK(mistakes_in([&] { three.run_part(0); }).starts_with("sites.csv:4:1: site 'c': texture: found 'cla'"));
}
