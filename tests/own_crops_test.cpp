/// [crop.NAME]: crops by parameters of the file's own.
#include <fmt/format.h>

#include "engine/crop.hpp"
#include "scenarios/plan/crop_seasons.hpp"
#include "scenarios/results/run_scenario.hpp"
#include "scenarios/weather/weather_reading.hpp"
#include "tests/catch.hpp"
#include "tests/mistakes_in.hpp"

using namespace stoverturn;

namespace {

/// Seven lines; what a test adds begins on line 8.
const std::string field =
    "duration = \"2 yr\"\n[weather]\nfile = \"weather.csv\"\n"
    "[harvest]\ndate = 2012-09-20\nresidue = \"8 t/ha\"\nplacement = { surface = 1 }\n";

Scenario read(const std::string& text, const std::vector<std::string>& set = {}) {
  return read_scenario(text, "farm.toml", set);
}
std::string mistakes_of(const std::string& text) {
  return mistakes_in([&] { read(text); });
}

Results run(const std::string& text) {
  Climates climates;
  climates.weather =
      read_weather(slurp(source_dir() / "notebooks-data" / "weather-newyork-2012-2015.csv"), "weather.csv")
          .weather;
  return run_scenario(read(text), climates, {});
}

/// A built-in crop as a user would write it, all of it.
std::string written_out(const CropRow& crop, const std::string& name) {
  const CropKind& k = crop.kind;
  std::string stages;
  for (std::size_t s = 0; s < crop_stages; ++s) {
    stages += fmt::format("{}\"{}\" = \"{} K d\"", s > 0 ? ", " : "", crop.stages[s], k.stage_Kd[s]);
  }
  return fmt::format(
      "[crop.\"{}\"]\nbase = \"{} C\"\ncap = \"{} C\"\nstages = {{ {} }}\nuptake_midpoint = \"{} K d\"\n"
      "uptake_width = \"{} K d\"\nK_cb_initial = {}\nK_cb_mid = {}\nK_cb_end = {}\ninitial_until = \"{} K "
      "d\"\n"
      "mid_from = \"{} K d\"\nmid_until = \"{} K d\"\nkilled_below = \"{}\"\n",
      name, k.base_C, k.cap_C, stages, k.uptake_midpoint_Kd, k.uptake_width_Kd, k.basal_early, k.basal_mid,
      k.basal_late, k.basal_Kd[0], k.basal_Kd[1], k.basal_Kd[2],
      std::isfinite(k.killed_C) ? fmt::format("{} C", k.killed_C) : "never");
}

/// One whose numbers can be worked by hand: 10 K d a day at 20 C.
const std::string plain =
    "[crop.plain]\nbase = \"10 C\"\ncap = \"30 C\"\n"
    "stages = { up = \"100 K d\", two = \"200 K d\", three = \"400 K d\", four = \"1080 degF d\", "
    "ripe = \"1000 degC d\" }\n"
    "uptake_midpoint = \"500 K d\"\nuptake_width = \"100 K d\"\nK_cb_initial = 0.2\nK_cb_mid = 1.2\n"
    "K_cb_end = \"40 %\"\ninitial_until = \"100 K d\"\nmid_from = \"400 K d\"\nmid_until = \"800 K d\"\n"
    "killed_below = \"28 degF\"\n";
std::string with(std::string text, const std::string& from, const std::string& to) {
  return text.replace(text.find(from), from.size(), to);
}

const std::string grown = "planting = \"05-08\"\nnitrogen = \"180 kg/ha\"\n";

}  // namespace

TEST_CASE("own crops: one written out like a built-in one is that one, bit by bit", "[crops][run]") {
  for (const char* name : {"corn", "wheat"}) {
    INFO(name);
    const Results built_in = run(field + fmt::format("[next_crop]\ncrop = \"{}\"\n", name) + grown);
    const std::string own = "[next_crop]\ncrop = \"Mine\"\n" + grown;  // upper and lower case are one
    const Results all = run(field + own + written_out(*find_crop(name), "mine"));
    const Results like = run(field + own + fmt::format("[crop.mine]\nlike = \"{}\"\n", name));
    for (const Results* r : {&all, &like}) {
      CHECK(r->stages == built_in.stages);
      for (const char* series :
           {"mass_left", "nitrogen_released", "nitrogen_to_crop", "nitrate", "nitrogen_leached"}) {
        CHECK(r->find(series).values == built_in.find(series).values);
      }
      CHECK(r->find("stage_day").values.front() == built_in.find("stage_day").values.front());
      CHECK(r->find("stage_nitrogen_to_crop").values.front() ==
            built_in.find("stage_nitrogen_to_crop").values.front());
    }
  }
}

TEST_CASE("own crops: read with their units, and stages by hand in a jar", "[crops]") {
  const Scenario s = read(
      "duration = \"1 yr\"\n[conditions]\ntemperature = \"20 C\"\n[harvest]\n"
      "date = 2012-09-20\nresidue = \"8 t/ha\"\n[next_crop]\ncrop = \"plain\"\n" +
      grown + plain);
  const CropRow& crop = *s.treatments.at(0).crop.crop;
  // 28 degF is -20/9 C, 1080 degF d are 600 K d (definition of the degree Fahrenheit)
  CHECK(crop.kind.killed_C == Approx(-20.0 / 9.0));
  CHECK(crop.kind.stage_Kd[4] == 1000.0);
  CHECK(crop.kind.basal_late == 0.4);
  // K_cb on days of 10 K d: 0.2 until 100, 1.2 from 400, halfway at 250; from 800 down to 0.4 at 1000
  const std::vector<DayRange> days(200, {15.0, 25.0});
  const CropCourse course = crop_course(crop.kind, 18.0, 0, days);
  CHECK(course.stage_day == std::array<int, crop_stages>{10, 20, 40, 60, 100});
  CHECK(course.days[5].basal_coefficient == 0.2);
  CHECK(course.days[25].basal_coefficient == Approx(0.7));
  CHECK(course.days[50].basal_coefficient == 1.2);
  CHECK(course.days[90].basal_coefficient == Approx(0.8));
}

TEST_CASE("own crops: each stage is in the results under its name", "[crops][run]") {
  const std::string jar =
      "duration = \"1 yr\"\n[conditions]\ntemperature = \"20 C\"\n[harvest]\ndate = 2012-09-20\n"
      "residue = \"8 t/ha\"\n";
  const Results r =
      run_scenario(read(jar + "[next_crop]\ncrop = \"plain\"\n" + grown + plain), Climates{}, {});
  CHECK(r.stages == std::vector<std::string>{"up 1", "two 1", "three 1", "four 1", "ripe 1"});
  // planted on 2013-05-08, day 230; 10 K d a day
  CHECK(r.find("stage_day").values == std::vector<double>{240.0, 250.0, 270.0, 290.0, 330.0});
  const Results seen = run_scenario(
      read(jar + "[next_crop]\ncrop = \"plain\"\nstages = { three = \"06-20\" }\n" + grown + plain),
      Climates{}, {});
  CHECK(seen.find("stage_day").values[2] == 230.0 + 43.0);
}

TEST_CASE("own crops: in a rotation, of a treatment, from the command line", "[crops]") {
  const std::string sorghum = with(plain, "plain", "sorghum");
  const Scenario s =
      read(field +
               "[[rotation]]\nmaterial = \"sorghum\"\ndate = \"10-05\"\nplanting = \"05-22\"\n"
               "residue = \"5 t/ha\"\n[[rotation]]\ncrop = \"short corn\"\n" +
               sorghum +
               "[crop.\"short corn\"]\nlike = \"corn\"\nstages.maturity = \"2400 degF d\"\n"
               "[treatment.a]\n[treatment.b.next_crop]\ncrop = \"sorghum\"\nplanting = \"05-20\"\n",
           {"crop.sorghum.killed_below=never"});
  const Treatment& a = s.treatments.at(0);
  // before the first harvest nothing is planted; then the block of the material that has the crop's name
  CHECK(a.crop_seasons.at(0).crop.crop->name == "sorghum");
  CHECK(std::isinf(a.crop_seasons.at(0).crop.crop->kind.killed_C));
  CHECK(a.crop_seasons.at(1).crop.crop->name == "short corn");
  CHECK(a.crop_seasons.at(1).crop.crop->kind.stage_Kd[4] == Approx(2400.0 / 1.8));
  CHECK(a.crop_seasons.at(1).crop.crop->kind.stage_Kd[3] == find_crop("corn")->kind.stage_Kd[3]);
  CHECK(a.crop.crop == find_crop("corn"));
  CHECK(s.treatments.at(1).crop.crop->name == "sorghum");
  CHECK(s.warnings.empty());
}

TEST_CASE("own crops: a plan outlives the file that it was read from", "[crops]") {
  Treatment kept;
  {
    const Scenario read_one = read(field + "[next_crop]\ncrop = \"mine\"\n" + grown +
                                   "[crop.mine]\nlike = \"corn\"\nkilled_below = \"never\"\n");
    Scenario copied = read_one;
    kept = std::move(copied.treatments.at(0));
  }
  CHECK(kept.crop.crop->name == "mine");
  CHECK(kept.crop.crop->stages[1] == "V6");
}

TEST_CASE("own crops: a cover crop leaves the material that it names", "[crops][run]") {
  const std::string cover =
      "[cover_crop]\ncrop = \"oats\"\nplanting = \"09-24\"\ntermination = \"04-22\"\nnitrogen = \"60 "
      "kg/ha\"\n"
      "[crop.oats]\nlike = \"cereal rye\"\nmaterial = \"young oats\"\n"
      "[material.\"young oats\"]\nlike = \"cereal rye\"\nnitrogen = \"23 g/kg\"\n";
  const std::string rye =
      "[cover_crop]\nplanting = \"09-24\"\ntermination = \"04-22\"\nnitrogen = \"60 kg/ha\"\n";
  const Results own = run(field + cover), built_in = run(field + rye);
  CHECK(own.components.back() == "young oats shoot");
  const auto at_end = [](const Results& r) {
    const std::size_t days = r.extent(Dimension::time), end = 214;  // 2012-09-20 to 2013-04-22
    return r.find("dry_matter_by_component").values[4 * days + end];
  };
  // the same N, by the same degree days, at twice the content of rye (11.5 g/kg): half the dry matter. The
  // two differ by what their mulch, half as much, does to water and so to the N that they find: below 2 %.
  CHECK(at_end(own) == Approx(0.5 * at_end(built_in)).epsilon(0.02));
  CHECK(own.find("balance_error").values.at(0) < 1e-8);  // round-off of pools of hundreds of g m-2
}

TEST_CASE("own crops: mistakes", "[crops][mistakes]") {
  const std::string jar =
      "[conditions]\ntemperature = \"20 C\"\n[harvest]\ndate = 2012-09-20\n"
      "residue = \"8 t/ha\"\n";                                      // then line 6
  const std::string alike = jar + "[crop.mine]\nlike = \"corn\"\n";  // then line 8
  const std::pair<std::string, std::string> cases[] = {
      {jar + plain, "no mistake"},
      {alike + "bse = \"50 F\"\n", "farm.toml:8:1: unknown key `bse` in [crop.mine]; did you mean 'base'?"},
      {jar + "[crop.mine]\nlike = \"soybeans\"\n",
       "farm.toml:7:8: like: no built-in crop is called `soybeans`; did you mean 'soybean'?"},
      {jar + "[crop.Corn]\nlike = \"corn\"\n",
       "farm.toml:6:7: crop `Corn` is built in; give yours another name (with like = \"corn\")"},
      {alike + "[crop.Mine]\nlike = \"corn\"\n",
       "farm.toml:8:7: crop `Mine` is called like `mine`; give each its own name"},
      {jar + "[crop]\nmine = 3\n", "farm.toml:7:1: crop `mine`: wanted a table [crop.mine]"},
      {jar +
           "[crop.mine]\nbase = \"50 F\"\ncap = \"86 F\"\nK_cb_initial = 0.2\nK_cb_mid = 1\nK_cb_end = 0.3\n",
       "farm.toml:6:7: [crop.mine] lacks uptake_midpoint, uptake_width, initial_until, mid_from, mid_until, "
       "stages, killed_below; write them, or like = \"corn\" to take them from that crop"},
      {alike + "cap = \"45 F\"\n", "farm.toml:8:7: cap: 7.222 C is not above base, 10 C"},
      {alike + "stages = { V7 = \"700 degF d\" }\n",
       "farm.toml:8:12: unknown stage `V7`; did you mean 'V6'? (or write all 5 by names of your own)"},
      {alike + "stages = { V12 = \"600 degF d\" }\n",
       "farm.toml:8:18: V12: 333.3 K d is not after V6, 337.2 K d; write the stages in the order of the "
       "season"},
      {jar + with(plain, "1080", "540"),
       "farm.toml:9:71: four: 300 K d is not after three, 400 K d; write the stages in the order of the "
       "season"},
      {jar + with(plain, "two = \"200 K d\", ", ""),
       "farm.toml:9:10: stages: found 4; wanted 5, each with its degree days from planting, the last "
       "maturity"},
      {alike + "stages = { V6 = \"600\" }\n",
       "farm.toml:8:21: V6: 600: wanted degree days with their unit, such as 2700 degF d or 1500 degC d"},
      {alike + "stages = { V6 = \"600 GDD\" }\n",
       "farm.toml:8:22: V6: 'GDD': degree days may be of degF or of degC; write degF d or degC d"},
      {alike + "uptake_width = \"20 F\"\n",
       "farm.toml:8:20: uptake_width: 'F' is a unit of temperature: wanted degree days with their unit, such "
       "as 2700 degF d or 1500 degC d; units that fit are degF d, degC d, K d"},
      {alike + "mid_until = \"700 degF d\"\n",
       "farm.toml:8:13: mid_until: wanted initial_until < mid_from < mid_until < maturity; they are 333.3, "
       "777.8, 388.9 and 1500 K d"},
      {alike + "K_cb_mid = 2\n", "farm.toml:8:12: K_cb_mid: found 2; wanted from 0 to 1.6"},
      {alike + "material = \"oat\"\n",
       "farm.toml:8:12: material: found 'oat'; wanted one of 'corn', 'wheat straw', 'soybean', 'sorghum', "
       "'cereal rye', 'hairy vetch'"},
      {alike + "[next_crop]\nplanting = \"05-05\"\ncrop = \"mne\"\n",
       "farm.toml:10:8: crop: found 'mne'; did you mean 'mine'?"},
  };
  for (const auto& [text, wanted] : cases) {
    INFO(text);
    CHECK(mistakes_of(text) == wanted);
  }
  const std::string cover =
      "[cover_crop]\nplanting = \"09-24\"\ntermination = \"04-22\"\nnitrogen = \"60 kg/ha\"\ncrop = "
      "\"mine\"\n";
  CHECK(mistakes_of(field + cover + "[crop.mine]\nlike = \"corn\"\n") ==
        "farm.toml:12:8: crop: found 'mine', which leaves no residue; write its `material` in [crop.mine]");
  CHECK(
      mistakes_of(field + cover + "[crop.mine]\nlike = \"corn\"\nmaterial = \"corn\"\n") ==
      "farm.toml:12:8: crop: found 'mine', whose residue 'corn' is also a material of [harvest]; its residue "
      "could not be told apart");
}

TEST_CASE("own crops: degree days of another base are not taken over silently", "[crops]") {
  const Scenario s = read(field +
                          "[crop.mine]\nlike = \"corn\"\nbase = \"8 C\"\nuptake_midpoint = \"900 K d\"\n"
                          "uptake_width = \"150 K d\"\nstages.maturity = \"1800 K d\"\n");
  REQUIRE(s.warnings.size() == 1);
  CHECK(s.warnings[0] ==
        "crop `mine`: its degree days have another base or cap than those of `corn`, from which it takes "
        "initial_until, mid_from, mid_until, stages.emergence, stages.V6, stages.V12, stages.silking; write "
        "them for its own");
}
