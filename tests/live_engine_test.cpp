#include "scenarios/page/live_engine.hpp"

#include <cmath>
#include <set>

#include "catch.hpp"
#include "scenarios/plan/products.hpp"
#include "scenarios/results/run_scenario.hpp"
#include "scenarios/weather/climates.hpp"

namespace {

using namespace stoverturn;

const std::string field = R"(title = "Invented"
units = "us"
duration = "400 d"

[weather]
climate = "central Iowa"

[soil]
texture = "clay loam"
pH = 6.1
burial_depth = "6 in"

[harvest]
date = 2026-10-20
grain_yield = "200 bu/acre"

[component.stalk]
cut_length = "6 in"
entry_spacing = "2 in"
opening = "50 %"

[next_crop]
planting = "05-05"
nitrogen = "160 lb/acre"

[treatment.left]
label = "as it is"

[treatment.fed]
label = "UAN, worked in"
add_event = [
  { kind = "fertiliser", after_harvest = "10 d", product = "UAN 28", nitrogen = "40 lb/acre" },
  { kind = "tillage", after_harvest = "14 d", bury = "40 %" },
  { kind = "tillage", date = 2027-05-04, knock_down = "90 %" },
]
)";

Json call(const Json& request) { return Json::parse(live_call(request.dump().c_str())); }

Json run(const std::string& text) { return call({{"do", "run"}, {"scenario", text}, {"series", true}}); }

Json number(const Json& answer, const std::string& name, const std::string& at,
            const std::string& treatment) {
  for (const Json& n : answer["numbers"]) {
    if (n["name"] == name && n["at"] == at && n["treatment"] == treatment) return n;
  }
  FAIL("no number " << name << " at " << at << " of " << treatment);
  return {};
}

TEST_CASE("live page: a run has the numbers of run_scenario, charts in both systems, the cut pieces by day") {
  const Json answer = run(field);
  REQUIRE(answer["ok"] == true);
  const Scenario scenario = read_scenario(field, "scenario", {});
  Climates climates;
  climates.weather = planned_weather(scenario);
  const Results results = run_scenario(scenario, climates, {});
  std::size_t compared = 0;
  for (const Json& series : answer["series"]) {
    const Variable& v = results.find(series["name"].get<std::string>());
    REQUIRE(series["values"].size() == v.values.size());
    for (std::size_t i = 0; i < v.values.size(); ++i) {
      const Json& there = series["values"][i];
      // JSON holds every digit
      CHECK((std::isfinite(v.values[i]) ? there == Json(v.values[i]) : there.is_null()));
    }
    ++compared;
  }
  CHECK(compared > 40);
  std::set<std::string> charts;
  for (const Json& chart : answer["charts"]) {
    charts.insert(chart["name"].get<std::string>());
    CHECK(chart["si"]["fields"].size() == chart["us"]["fields"].size());
  }
  for (const char* wanted : {"mass-left", "nitrogen-back", "phosphorus-back", "potassium-back", "sulfur-back",
                             "soil-cover", "residue-temperature", "residue-wetness"}) {
    INFO(wanted);
    CHECK(charts.count(wanted) == 1);
  }
  REQUIRE(answer["cohorts"].size() == 3);  // on the surface twice, worked in once
  for (const Json& cohort : answer["cohorts"]) {
    CHECK(cohort["component"] == "stalk");
    CHECK(cohort["mass"].size() == (static_cast<std::size_t>(results.days) + 3) / 4);  // every fourth day
  }
  // 1 kg/ha is 0.8921795 lb/acre (NIST SP 811, B.9: 1 lb = 0.4535924 kg, 1 acre = 4046.873 m2)
  const Json applied = number(answer, "mass_left_at", "year 1", "as it is");
  CHECK(applied["si"] == applied["us"]);  // a share
}

TEST_CASE("live page: several runs stand on one chart under their names, each as it is alone") {
  const std::string other =
      std::string(field).replace(field.find("cut_length = \"6 in\""), 19, "cut_length = \"2 in\"");
  const Json runs = Json::array({{{"name", "now"}, {"scenario", field}, {"treatment", "as it is"}},
                                 {{"name", "other"}, {"scenario", other}, {"treatment", "as it is"}}});
  const Json both = call({{"do", "run"}, {"runs", runs}});
  REQUIRE(both["ok"] == true);
  CHECK(both["treatments"] == Json::array({"now", "other"}));
  const Json alone = run(other);
  CHECK(number(both, "mass_left_at", "year 1", "other")["value"] ==
        number(alone, "mass_left_at", "year 1", "as it is")["value"]);
  CHECK(number(both, "mass_left_at", "year 1", "other")["value"] !=
        number(both, "mass_left_at", "year 1", "now")["value"]);
  std::set<std::string> lines;
  for (const Json& what : both["charts"][0]["columns"]["what"]) lines.insert(what.get<std::string>());
  CHECK(lines == std::set<std::string>{"now", "other"});
  const Json nobody =
      call({{"do", "run"}, {"runs", Json::array({{{"scenario", field}, {"treatment", "nobody"}}})}});
  CHECK(nobody["mistakes"][0]["message"] == "treatment: there is no nobody");
}

TEST_CASE("live page: draws in steps give the ranges that they give at once, and a newer request ends them") {
  const Json request = {{"do", "run"}, {"scenario", field}, {"draws", 10}};
  Json stepwise = request;
  stepwise["stepwise"] = true;
  stepwise["name"] = "same";  // another key: nothing is kept of the first
  const Json begun = call(stepwise);
  REQUIRE(begun["more"] == true);
  const Json once = call(request);
  CHECK(call({{"do", "more"}})["ok"] == false);
  CHECK(once["draws"] == 10);
  Json stepped = call(stepwise);
  int steps = 1;
  for (double done = 0.0; stepped.contains("more"); ++steps) {
    CHECK(stepped["done"].get<double>() > done);
    done = stepped["done"].get<double>();
    stepped = call({{"do", "more"}});
  }
  CHECK(steps == 3);  // the run itself, eight draws, two draws
  const Json a = number(once, "mass_left_at", "year 1", "as it is");
  const Json b = number(stepped, "mass_left_at", "year 1", "same: as it is");
  CHECK(a["si"] == b["si"]);
  CHECK(a["si"].get<std::string>().find(" to ") != std::string::npos);
}

TEST_CASE("live page: reading tells what controls show, in canonical units, and what they cannot") {
  const Json answer = call({{"do", "read"}, {"scenario", field}});
  REQUIRE(answer["ok"] == true);
  CHECK(answer["climate"] == "central Iowa");
  const Json& fed = answer["treatments"][1];
  CHECK(fed["label"] == "UAN, worked in");
  CHECK(fed["texture"] == "clay loam");
  CHECK(fed["planting"] == "05-05");
  CHECK(fed["cut"] == "stalk");
  const Json& piece = fed["components"][0]["pieces"][0];
  CHECK(piece["cut_length_mm"].get<double>() == Approx(152.4));  // 25.4 mm an inch by definition
  CHECK(piece["entry_spacing_mm"].get<double>() == Approx(50.8));
  CHECK(piece["opening"].get<double>() == Approx(0.5));
  CHECK(fed["burial_depth_mm"].get<double>() == Approx(152.4));
  // 56 lb an acre for each bushel: 200 bu/acre are 1255.4 g/m2 (NIST SP 811: lb, acre)
  CHECK(fed["grain_yield_g_m2"].get<double>() == Approx(200.0 * 56.0 * 453.59237 / 4046.8726));
  REQUIRE(fed["fertiliser"].size() == 1);
  CHECK(fed["fertiliser"][0]["product"] == "UAN 28");
  CHECK(fed["fertiliser"][0]["days_after_harvest"] == 10);
  CHECK(fed["fertiliser"][0]["nitrogen_g_m2"].get<double>() == Approx(40.0 * 453.59237 / 4046.8726));
  REQUIRE(fed["tillage"].size() == 1);
  CHECK(fed["tillage"][0]["bury"].get<double>() == Approx(0.4));
  std::set<std::string> kept;
  for (const Json& k : answer["kept"])
    kept.insert(k["treatment"].get<std::string>() + " " + k["key"].get<std::string>());
  CHECK(kept == std::set<std::string>{"left soil.pH", "fed soil.pH", "fed event: tillage on 2027-05-04"});
}

TEST_CASE("live page: every product is known again by what it holds") {
  for (const ProductRow& p : product_table()) {
    if (p.name == "urea with inhibitor") continue;  // its share kept back is the label's
    const std::string text = std::string(field).replace(field.find("UAN 28"), 6, p.name);
    const Json answer = call({{"do", "read"}, {"scenario", text}});
    INFO(p.name);
    REQUIRE(answer["ok"] == true);
    // 28 and 32 % solutions are one in what their N is: the first is told
    const std::string told = answer["treatments"][1]["fertiliser"][0]["product"].get<std::string>();
    CHECK(told == (p.name == "UAN 32" ? "UAN 28" : p.name));
  }
}

TEST_CASE("live page: lists offer what the tables hold") {
  const Json lists = call({{"do", "lists"}});
  REQUIRE(lists["ok"] == true);
  CHECK(lists["climates"].size() == climate_table().size());
  CHECK(lists["products"].size() == product_table().size());
  CHECK(lists["placements"].size() == 3);
  // Ames, 1991-2020: 8.8 to 9.6 C and 850 to 950 mm in published normals (from memory)
  CHECK(lists["climates"][0]["mean_temperature_C"].get<double>() == Approx(9.4).margin(0.6));
  CHECK(lists["climates"][0]["rain_mm_a"].get<double>() == Approx(890).margin(60));
  for (const char* list :
       {"climates", "materials", "products", "implements", "crops", "textures", "placements"}) {
    for (const Json& item : lists[list]) CHECK(!item["name"].get<std::string>().empty());
  }
}

TEST_CASE("live page: weather and fits are told of, mistakes with their lines") {
  const Json weather =
      call({{"do", "weather"},
            {"name", "mine.csv"},
            {"text", "date,tmin [degC],tmax [degC],rain [mm]\n2012-10-20,4,16,0\n2012-10-21,6,14,8\n"}});
  REQUIRE(weather["ok"] == true);
  CHECK(weather["days"] == 2);
  CHECK(weather["needs_latitude"] == true);
  const Json wrong = call({{"do", "weather"},
                           {"name", "mine.csv"},
                           {"text", "date,tmin [degC],tmax [degC],rain [mm]\n2012-10-20,24,16,0\n"}});
  REQUIRE(wrong["ok"] == false);
  CHECK(wrong["mistakes"][0]["line"] == 2);
  CHECK(wrong["mistakes"][0]["source"] == "mine.csv");
  const Json fit = call({{"do", "fit"}, {"text", "{}"}});
  CHECK(fit["ok"] == false);
  const Json scenario =
      run("title = \"x\"\n[harvest]\ndate = 2012-10-20\ngrain_yeld = \"5 t/ha\"\n[weather]\nclimate = "
          "\"Pampas\"\n");
  REQUIRE(scenario["ok"] == false);
  CHECK(scenario["run"] == 0);
  bool told = false;
  for (const Json& m : scenario["mistakes"])
    told =
        told || (m["line"] == 4 && m["message"].get<std::string>().find("grain_yield") != std::string::npos);
  CHECK(told);
}

TEST_CASE("live page: a name of very many parts is a mistake with its place, not a crash") {
  std::string deep = "a";
  for (int i = 0; i < 100000; ++i) deep += ".a";
  for (const std::string& text : {deep + " = 1", "[" + deep + "]\n", "a = { " + deep + " = 1 }"}) {
    const Json answer = run("title = \"x\"\n" + text);
    REQUIRE(answer["ok"] == false);
    CHECK(answer["mistakes"][0]["line"] == 2);
    CHECK(answer["mistakes"][0]["message"] == "found a name of more than 200 parts");
  }
  // dots that are no names
  CHECK(run("# " + std::string(1000, '.') + "\n" + field)["ok"] == true);
}

}  // namespace
