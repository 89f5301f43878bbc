#include "scenarios/decide/timing.hpp"

#include <cmath>

#include "scenarios/ensemble/ensemble_results.hpp"
#include "scenarios/results/money.hpp"
#include "scenarios/weather/weather_reading.hpp"
#include "tests/catch.hpp"
#include "tests/mistakes_in.hpp"
#include "tests/nearly_same.hpp"

using namespace stoverturn;

namespace {

const std::string farm =
    "[weather]\nfile = \"w.csv\"\n"
    "[harvest]\ndate = 2024-10-20\ngrain_yield = \"205 bu/acre\"\n"
    "[next_crop]\nplanting = \"05-05\"\nnitrogen = \"160 lb/acre\"\n"
    "[prices]\nnitrogen = \"0.60 $/lb\"\nphosphate = \"0.65 $/lb\"\npotash = \"0.45 $/lb\"\nsulfur = \"0.5 "
    "$/lb\"\n"
    "[costs]\nspreading = \"8 $/acre\"\n"
    "[treatment.left]\n"
    "[treatment.cut]\ncomponent.stalk.cut_length = \"6 in\"\n"
    "[timing]\nduration = \"400 d\"\n";

const std::string three_choices =
    "dates = [\"10 d\", \"soil below 50 degF\", \"04-10\"]\nrates = [\"60 lb N/acre\"]\nproducts = "
    "[\"urea\"]\n"
    "treatments = [\"left\"]\n";

Climates new_york() {
  Climates c;
  c.weather =
      read_weather(slurp(source_dir() / "notebooks-data/weather-newyork-2012-2015.csv"), "w.csv", {}).weather;
  return c;
}

/// A farm with its choices, run over its weather years.
struct Timed {
  std::vector<ChosenTiming> chosen;
  Scenario scenario;
  Results results;
};

Timed timed(const std::string& text) {
  Timed out;
  const std::string with = with_choices(text, read_scenario(text, "farm.toml", {}), out.chosen);
  out.scenario = read_scenario(with, "farm.toml", {"duration=400 d"});
  ask_for_timing(out.scenario);
  const LoadSite load = [&](std::size_t) {
    return SiteScenario{out.scenario, out.scenario.weather->normals ? Climates{} : new_york()};
  };
  Ensemble ensemble({{"here", not_measured, not_measured, {}, {}}}, load, one_after_the_other);
  out.results = run_in_memory(ensemble, {});
  add_timing_numbers(ensemble, out.chosen, out.results);
  add_soil_on_the_day(ensemble, new_york(), out.chosen, out.results);
  return out;
}

std::size_t treatment_of(const Timed& t, const std::string& name) {
  for (std::size_t i = 0; i < t.scenario.treatments.size(); ++i) {
    if (t.scenario.treatments[i].name == name) return i;
  }
  throw std::out_of_range(name);
}

/// Quantile of a number without further dimensions, or at its place `inner`.
double quantile(const Timed& t, const std::string& number, std::size_t treatment, std::size_t q,
                std::size_t inner = 0) {
  const Variable& v = t.results.find(number);
  const std::size_t size = v.dimensions.size() > 3 ? t.results.extent(v.dimensions[3]) : 1;
  return v.values.at((treatment * t.results.quantiles.size() + q) * size + inner);
}

std::string mistakes_of(const std::string& section) {
  return mistakes_in([&] { read_scenario(farm + section, "farm.toml", {}); });
}

/// Days of soil at given temperatures.
Drivers<double> soil_of(const std::vector<double>& temperatures_C) {
  Drivers<double> drivers = constant_drivers({}, static_cast<int>(temperatures_C.size()));
  for (std::size_t d = 0; d < temperatures_C.size(); ++d) {
    drivers.days[d].soil_temperature_C = temperatures_C[d];
  }
  return drivers;
}

}  // namespace

TEST_CASE("timing: what a choice changes is the difference of two runs in the same weather", "[timing]") {
  const Timed t = timed(farm + three_choices);
  REQUIRE(t.chosen.size() == 3);
  REQUIRE(t.results.weather_years.size() == 3);
  const std::size_t times = t.results.checkpoints.size();
  for (const ChosenTiming& c : t.chosen) {
    const std::size_t with = treatment_of(t, c.treatment), without = treatment_of(t, c.base);
    std::vector<double> year_1;
    for (const int year : {2012, 2013, 2014}) {
      const Future future{"", year - 2024, 0};
      const Results alone = run_scenario(t.scenario, climates_in(t.scenario, new_york(), future), {});
      const Variable& left = alone.find("mass_left_at");
      const std::size_t n = alone.checkpoints.size();
      REQUIRE(alone.checkpoints[1] == "year 1");
      year_1.push_back(left.values[with * n + 1] - left.values[without * n + 1]);
      const auto at = std::find(t.results.checkpoints.begin(), t.results.checkpoints.end(), "year 1");
      const std::size_t run = static_cast<std::size_t>(year - 2012);
      CHECK(nearly_same(t.results.find("mass_left_at_of_run")
                            .values[(with * 3 + run) * times +
                                    static_cast<std::size_t>(at - t.results.checkpoints.begin())],
                        left.values[with * n + 1]));
    }
    std::sort(year_1.begin(), year_1.end());
    const std::size_t place = static_cast<std::size_t>(
        std::find(t.results.checkpoints.begin(), t.results.checkpoints.end(), "year 1") -
        t.results.checkpoints.begin());
    CHECK(nearly_same(quantile(t, "mass_left_at_difference", with, 0, place), year_1[0]));
    CHECK(nearly_same(quantile(t, "mass_left_at_difference", with, 2, place), year_1[1]));
    CHECK(nearly_same(quantile(t, "mass_left_at_difference", with, 4, place), year_1[2]));
  }
}

TEST_CASE("timing: gain by hand", "[timing]") {
  const Timed t = timed(farm + three_choices);
  const std::size_t with = treatment_of(t, t.chosen[0].treatment), n = t.results.checkpoints.size();
  const auto end = n - 1;
  // 60 lb/acre of N at 0.60 $/lb and a pass of 8 $/acre; an acre is 4046.8564224 m2
  constexpr double acre_m2 = 4046.8564224, lb_g = 453.59237;
  CHECK(quantile(t, "cost", with, 2) == Approx((60.0 * 0.60 + 8.0) / acre_m2).epsilon(1e-12));
  CHECK(quantile(t, "nitrogen_applied_at_difference", with, 2, end) ==
        Approx(60.0 * lb_g / acre_m2).epsilon(1e-9));
  // with one weather: N at its price, P and K as P2O5 and K2O, S, less the cost
  const Timed one = timed(farm + three_choices + "[ensemble]\nweather_years = [2013]\n");
  const std::size_t year = static_cast<std::size_t>(
      std::find(one.results.checkpoints.begin(), one.results.checkpoints.end(), "year 1") -
      one.results.checkpoints.begin());
  const auto more = [&](const char* name) {
    return quantile(one, std::string(name) + "_difference", with, 2, year) / lb_g;
  };
  const double value = quantile(one, "nitrogen_useful", with, 2) / lb_g * 0.60 +
                       more("phosphorus_released_at") * 2.2914 * 0.65 +
                       more("potassium_released_at") * 1.2046 * 0.45 + more("sulfur_released_at") * 0.5;
  CHECK(quantile(one, "net_gain", with, 2) ==
        Approx(value - 44.0 / acre_m2).epsilon(1e-4));  // factors of 5 digits
  CHECK(one.results.find("share_that_pays").values[with] ==
        (quantile(one, "net_gain", with, 2) > 0.0 ? 1.0 : 0.0));
  CHECK(std::isnan(one.results.find("share_that_pays").values[0]));  // spreads nothing
}

TEST_CASE("timing: the N that is spread is found again", "[timing]") {
  const Timed t = timed(farm + three_choices);
  for (const ChosenTiming& c : t.chosen) {
    const std::size_t with = treatment_of(t, c.treatment);
    for (const std::size_t q : {0, 2, 4}) {
      CHECK(quantile(t, "share_leached", with, q) >= -1e-6);
      CHECK(quantile(t, "share_leached", with, q) + quantile(t, "share_to_air", with, q) < 1.0 + 1e-6);
    }
  }
  // what is spread in April has had no winter to leach in
  CHECK(quantile(t, "share_leached", treatment_of(t, t.chosen[2].treatment), 2) <
        quantile(t, "share_leached", treatment_of(t, t.chosen[0].treatment), 2));
}

TEST_CASE("timing: spread when the soil stays cold, on another day each year", "[timing]") {
  // "below 50 F and cooling", Iowa State University Integrated Crop Management 2005: a warm day comes back
  const double warm = 11.0, cold = 9.0;
  CHECK(day_soil_stays_below(soil_of({warm, cold, cold, warm, cold, cold, cold}), 0, 10.0) == 4);
  CHECK(day_soil_stays_below(soil_of({cold, cold, cold}), 1, 10.0) == 1);
  CHECK(day_soil_stays_below(soil_of({cold, 10.0}), 0, 10.0) == std::nullopt);
  std::vector<double> long_warm(200, warm);
  long_warm[150] = cold;
  CHECK(day_soil_stays_below(soil_of(long_warm), 0, 10.0) == std::nullopt);

  const Timed t = timed(farm + three_choices);
  const std::string name = t.chosen[1].treatment;
  const std::size_t with = treatment_of(t, name);
  std::vector<int> days;
  for (const int year : {2012, 2013, 2014}) {
    const Climates then = climates_in(t.scenario, new_york(), {"", year - 2024, 0});
    const TreatmentJob job = treatment_job(t.scenario, t.scenario.treatments[with], then);
    for (const Event<double>& e : job.job.events) {
      if (std::holds_alternative<Fertiliser<double>>(e.what)) days.push_back(e.day);
    }
  }
  REQUIRE(days.size() == 3);
  CHECK((days[0] != days[1] || days[1] != days[2]));  // or the test above has run with equal days alone
  CHECK(t.results.find("share_of_runs_spread").values[with] == 1.0);
}

// science: a year after spreading on corn residue in the field no difference was found (Al-Kaisi, Kwaw-Mensah
// and Ci 2017, Agronomy Journal, doi 10.2134/agronj2016.11.0633: 0, 30 and 60 lb N/acre of UAN 32 after
// harvest)
TEST_CASE("timing: fall N on corn residue of a fertile soil in the cold hardly shows by the next fall",
          "[timing]") {
  const std::string north =
      "[weather]\nclimate = \"central Iowa\"\n[ensemble]\nweather_years = 6\n"
      "[soil]\ntexture = \"clay loam\"\nnitrate = \"40 lb/acre\"\nammonium = \"10 lb/acre\"\n"
      "[harvest]\ndate = 2026-10-20\ngrain_yield = \"205 bu/acre\"\n"
      "[next_crop]\nplanting = \"05-05\"\nnitrogen = \"160 lb/acre\"\n"
      "[timing]\ndates = [\"10 d\"]\nrates = [\"30 lb N/acre\", \"60 lb N/acre\"]\nproducts = [\"UAN 32\"]\n"
      "duration = \"400 d\"\n";
  const Timed t = timed(north);
  const std::size_t year = static_cast<std::size_t>(
      std::find(t.results.checkpoints.begin(), t.results.checkpoints.end(), "year 1") -
      t.results.checkpoints.begin());
  for (const ChosenTiming& c : t.chosen) {
    CHECK(std::abs(quantile(t, "mass_left_at_difference", treatment_of(t, c.treatment), 2, year)) < 0.03);
  }
}

// science: 60 days warm in the laboratory with N added raised CO2 (Jesmin, Mitchell and Mulvaney 2021,
// Nitrogen 2: 444-460); 46 studies, buried straw with N decays faster (Min et al. 2022, Sustainability 14:
// 12199)
TEST_CASE("timing: N on N-poor residue buried in warm soil without mineral N shows in 60 days", "[timing]") {
  const std::string warm =
      "duration = \"60 d\"\n[conditions]\ntemperature = \"25 degC\"\n"
      "[harvest]\ndate = 2026-10-20\nresidue = \"9 t/ha\"\nplacement = { buried = \"100 %\" }\n"
      "[soil]\nnitrate = \"0 kg/ha\"\nammonium = \"0 kg/ha\"\nsubsoil_nitrate = \"0 kg/ha\"\n"
      "[component.stalk]\ncut_length = \"2 in\"\n[parameters]\nN_bg = 0\n"
      "[treatment.without]\n[treatment.fed]\n[[treatment.fed.event]]\nkind = \"fertiliser\"\n"
      "after_harvest = \"0 d\"\nproduct = \"UAN 32\"\nnitrogen = \"60 kg/ha\"\nplacement = \"buried\"\n";
  const Results r = run_scenario(read_scenario(warm, "jar.toml", {}), {}, {});
  const std::vector<double>& left = r.find("mass_left_at").values;
  CHECK(left[0] - left[1] > 0.05);
}

TEST_CASE("timing: warm soil on the day is told, cold soil is not", "[timing]") {
  const Timed t = timed(farm + three_choices);
  const std::vector<double>& warm = t.results.find("share_of_weathers_warm").values;
  // New York: 30 October and 10 April lie on both sides of 10 degC at 100 mm, late fall below it
  CHECK(warm[treatment_of(t, t.chosen[0].treatment)] > 0.0);
  CHECK(warm[treatment_of(t, t.chosen[1].treatment)] == 0.0);       // spread because it was cold
  CHECK(std::isnan(warm[treatment_of(t, t.chosen[2].treatment)]));  // soil that warms in spring is meant to
  CHECK(std::isnan(warm[0]));
}

TEST_CASE("timing: what the generated treatments get wrong is told at the section", "[timing]") {
  const std::string text = farm + "dates = [2024-10-01]\nrates = [\"30 kg N/ha\"]\nproducts = [\"urea\"]\n";
  const Scenario as_written = read_scenario(text, "farm.toml", {});
  std::vector<ChosenTiming> chosen;
  const std::string with = with_choices(text, as_written, chosen);
  CHECK(mistakes_in([&] {
          try {
            read_scenario(with, "farm.toml", {});
          } catch (const InputError& error) {
            tell_of_choices(as_written, text, error);
          }
        }) == "farm.toml:19:1: a way to spread: date: 2024-10-01 is before the harvest of 2024-10-20");
  CHECK(mistakes_in([] {
          const std::string late =
              farm + "dates = [\"10-15\"]\nrates = [\"30 kg N/ha\"]\nproducts = [\"urea\"]\n";
          std::vector<ChosenTiming> none;
          with_choices(late, read_scenario(late, "farm.toml", {}), none);
        }) ==
        "farm.toml:19:1: dates: '10-15' comes after the harvest on 2025-10-15 only, when the next crop is "
        "ripe; "
        "wanted a day between the harvest (2024-10-20) and the summer");
}

TEST_CASE("timing: a treatment for each choice", "[timing]") {
  const std::string text =
      farm +
      "dates = [\"10 d\", 2025-04-10]\nrates = [\"30 kg N/ha\"]\nproducts = [\"urea\", \"anhydrous "
      "ammonia\"]\nplacements = [\"surface\", \"buried\"]\n";
  std::vector<ChosenTiming> chosen;
  const Scenario as_written = read_scenario(text, "farm.toml", {});
  const Scenario with = read_scenario(with_choices(text, as_written, chosen), "farm.toml", {});
  CHECK(chosen.size() == 2 * 2 * 3);  // ammonia does not lie on the surface
  CHECK(with.treatments.size() == 2 + chosen.size());
  CHECK(with.treatments[2].label == "left: 30 kg N/ha as urea, surface, 10 d after harvest");
  CHECK(with.treatments.back().label == "cut: 30 kg N/ha as anhydrous ammonia, buried, on 2025-04-10");
  CHECK(choices_csv(with, chosen)
            .starts_with("treatment,base,product,rate,date,placement\n"
                         "\"left: 30 kg N/ha as urea, surface, 10 d after harvest\",left,urea,30 kg N/ha,10 "
                         "d,surface\n"));
}

TEST_CASE("timing: what is wrong in its section is told", "[timing]") {
  CHECK(mistakes_of(
            "dates = [\"in fall\"]\nrates = [\"60\"]\nproducts = [\"UAN28\"]\nplacement = [\"surface\"]\n") ==
        "farm.toml:21:10: dates: found 'in fall'; wanted days after the harvest (\"10 d\"), a date, a day of "
        "the year "
        "(\"04-10\"), or \"soil below 50 degF\"\n"
        "farm.toml:22:10: rates: found '60'; wanted N on an area, such as \"30 lb N/acre\", more than 0 and "
        "at most 1000 kg/ha\n"
        "farm.toml:23:13: products: found 'UAN28'; wanted one of 'ammonium sulfate', 'urea', 'UAN 28', 'UAN "
        "32', "
        "'anhydrous ammonia', 'ammonium nitrate'; did you mean 'UAN 28'?\n"
        "farm.toml:24:1: unknown key `placement` in [timing]; did you mean 'placements'?");
  CHECK(mistakes_in([] {
          std::vector<ChosenTiming> chosen;
          const std::string text = farm + three_choices + "[treatment.lef]\n";
          const std::string other = text.substr(0, text.rfind("treatments = ")) + "treatments = [\"lift\"]\n";
          with_choices(other, read_scenario(other, "farm.toml", {}), chosen);
        }) == "farm.toml:24:14: treatments: no treatment is called 'lift'; did you mean 'left'?");
  CHECK(mistakes_in([] {
          std::vector<ChosenTiming> chosen;
          const std::string text = farm.substr(0, farm.find("[timing]"));
          with_choices(text, read_scenario(text, "farm.toml", {}), chosen);
        }).starts_with("farm.toml: the file lacks `timing`; write [timing] with dates = "));
}

TEST_CASE("timing: the table ranks by gain and says no more than the numbers", "[timing]") {
  const Timed t = timed(farm + three_choices);
  const std::string table = printed_timing(t.results, t.scenario, t.chosen);
  for (std::size_t begin = 0; begin < table.size();) {
    const std::size_t end = std::min(table.find('\n', begin), table.size());
    CHECK(end - begin <= 100);
    begin = end + 1;
  }
  CHECK(table.find("without: ") != std::string::npos);
  CHECK(table.find("  1. 60 lb N/acre urea, 04-10") != std::string::npos);  // no winter to lose it in
  CHECK(table.find("of 3 years") != std::string::npos);
  CHECK(table.find("state and local rules may forbid it in the fall") != std::string::npos);
}
