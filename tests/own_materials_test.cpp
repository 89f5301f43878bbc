#include <map>
#include <utility>

#include "scenarios/plan/scenario_sections.hpp"
#include "scenarios/results/run_scenario.hpp"
#include "tests/catch.hpp"
#include "tests/mistakes_in.hpp"

using namespace stoverturn;

namespace {

using Files = std::map<std::string, std::string>;

Scenario read(const std::string& text, const Files& files = {}, const std::vector<std::string>& set = {}) {
  return read_scenario(text, "jar.toml", set, [&](const std::string& file) -> std::optional<std::string> {
    const auto found = files.find(file);
    return found == files.end() ? std::nullopt : std::optional(found->second);
  });
}

std::string mistakes_of(const std::string& text, const Files& files = {}) {
  return mistakes_in([&] { read(text, files); });
}

/// Seven lines; what a test adds begins on line 8, in [harvest].
const std::string jar =
    "duration = \"60 d\"\n[conditions]\ntemperature = \"15 degC\"\n[soil]\nnitrate = \"300 kg/ha\"\n"
    "[harvest]\ndate = 2012-10-20\n";
const std::string straw = jar + "material = \"north straw\"\nresidue = \"6 t/ha\"\n";  // then line 10
const std::string corn = jar + "residue = \"6 t/ha\"\n";                               // then line 9

const Parameters<double>& component(const Scenario& s, const std::string& name, std::size_t treatment = 0) {
  const Treatment& t = s.treatments.at(treatment);
  for (std::size_t i = 0; i < t.components.size(); ++i) {
    if (t.components[i].name == name) return t.parameters.components[i];
  }
  throw std::out_of_range(name);
}

double last(const Results& r, const std::string& series) { return r.find(series).values.back(); }

}  // namespace

TEST_CASE("own materials: take over from another and change it", "[materials]") {
  const Scenario s =
      read(straw +
           "[material.\"north straw\"]\nlike = \"wheat straw\"\nnitrogen = \"4 g/kg\"\n"
           "harvest_index = \"40 %\"\nresidue_capacity = 3.0\nfragile = true\nnote = \"ours\"\n"
           "[material.\"north straw\".component.straw]\ndiameter_mm = 4\ncut_length = \"80 mm\"\n");
  const Treatment& t = s.treatments.at(0);
  REQUIRE(t.components.size() == 1);
  CHECK(t.components[0].name == "straw");
  CHECK(t.components[0].pieces.at(0).geometry.length_mm == 80.0);
  const Parameters<double>& p = component(s, "straw");
  CHECK(p.nitrogen == Approx(0.004));
  CHECK(p.diameter_mm == 4.0);
  CHECK(p.soluble == 0.20);  // of wheat straw
  CHECK(t.parameters.field.harvest_index == Approx(0.4));
  CHECK(t.parameters.field.plant_height_mm == 900.0);  // of wheat straw
  CHECK(t.parameters.field.residue_capacity == 3.0);
  CHECK(t.fragile.at(0));
  CHECK(t.parameters.origins.at("nitrogen@straw") == Layer::material);
  CHECK(t.parameters.origins.at("residue_capacity") == Layer::material);
}

TEST_CASE("own materials: the file and the command line go before them", "[materials]") {
  const std::string text = straw +
                           "[component.straw]\ncut_length = \"50 mm\"\nnitrogen = \"5 g/kg\"\n"
                           "[material.\"north straw\"]\nlike = \"wheat straw\"\nnitrogen = \"4 g/kg\"\n"
                           "potassium = \"9 g/kg\"\n"
                           "[material.\"north straw\".component.straw]\ncut_length = \"80 mm\"\n";
  CHECK(component(read(text), "straw").nitrogen == Approx(0.005));
  CHECK(component(read(text), "straw").potassium == Approx(0.009));
  CHECK(read(text).treatments[0].components[0].pieces.at(0).geometry.length_mm == 50.0);
  CHECK(component(read(text, {}, {"nitrogen@straw=0.006"}), "straw").nitrogen == 0.006);
  CHECK(component(read(text, {}, {"potassium@north straw=0.007"}), "straw").potassium == 0.007);
  CHECK(component(read(text, {}, {"material.north straw.potassium=8 g/kg"}), "straw").potassium ==
        Approx(0.008));
}

TEST_CASE("own materials: a whole of several components, or of one", "[materials]") {
  const Scenario several =
      read(straw +
           "[material.\"north straw\".component.stem]\nmass_share = \"70 %\"\nnitrogen = \"4 g/kg\"\n"
           "[material.\"north straw\".component.leaf]\nmass_share = \"30 %\"\nnitrogen = \"9 g/kg\"\n");
  CHECK(several.treatments[0].components.size() == 2);
  CHECK(component(several, "leaf").nitrogen == Approx(0.009));
  CHECK(several.treatments[0].components[1].pieces.at(0).geometry.shape == Shape::sheet);
  const Scenario one = read(straw + "[material.\"north straw\"]\nnitrogen = \"4 g/kg\"\n");
  CHECK(one.treatments[0].components.at(0).name == "residue");
  CHECK(component(one, "residue").mass_share == 1.0);
  // like corn and so sold by the bushel: 200 bu/acre at 56 lb and 15.5 %, index 0.5; an acre and a pound by
  // definition
  const Scenario kin = read(jar +
                            "material = \"early corn\"\ngrain_yield = \"200 bu/acre\"\n"
                            "[material.\"early corn\"]\nlike = \"corn\"\n");
  CHECK(kin.treatments[0].components.size() == 4);
  CHECK(kin.treatments[0].first().dry_matter_g_m2 == Approx(200.0 * 56.0 * 0.845 * 453.59237 / 4046.8564224));
}

TEST_CASE("own materials: from a file, with a lab sheet beside it, like one another", "[materials]") {
  const Files files = {
      {"mine/materials.toml",
       "[material.\"north straw\"]\nlike = \"base\"\nlab_sheet = \"lab.csv\"\nsample = \"S 7\"\n"
       "[material.base]\nlike = \"wheat straw\"\nsulfur = \"2 g/kg\"\n"},
      {"mine/lab.csv", "sample,analyte,value,unit,basis\nS-7,N,0.5,%,dry\nS-8,N,0.9,%,dry\n"}};
  const Scenario s = read("materials = \"mine/materials.toml\"\n" + straw, files);
  CHECK(component(s, "straw").nitrogen == Approx(0.005));
  CHECK(component(s, "straw").sulfur == Approx(0.002));
  CHECK(component(s, "straw").potassium == 0.011);  // of wheat straw
}

TEST_CASE("own materials: mistakes", "[materials][mistakes]") {
  const std::string north = straw + "[material.\"north straw\"]\n";  // then line 11
  const std::pair<std::string, std::string> cases[] = {
      {straw + "[material.\"nord straw\"]\nlike = \"wheat straw\"\n",
       "jar.toml:8:12: material: found 'north straw'; wanted one of corn, wheat straw, soybean, sorghum, "
       "cereal rye, "
       "hairy vetch, nord straw, own; did you mean 'nord straw'?"},
      {north + "like = \"weat straw\"\n",
       "jar.toml:11:8: like: no material is called `weat straw`; did you mean 'wheat straw'?"},
      {north + "like = \"a\"\n[material.a]\nlike = \"north straw\"\n",
       "jar.toml:13:8: like: the materials go in a circle, north straw -> a -> north straw"},
      {north + "like = \"wheat straw\"\nnitrogn = \"4 g/kg\"\n",
       "jar.toml:12:1: unknown key `nitrogn` in [material.north straw]; did you mean 'nitrogen'?"},
      {north + "like = \"wheat straw\"\nnitrogen = \"40 %\"\n",
       "jar.toml:12:12: nitrogen: found 0.4 g/g; wanted 0.001 to 0.06 (nitrogen of dry matter)"},
      {north + "like = \"wheat straw\"\ncomponent.stalk.nitrogen = \"4 g/kg\"\n",
       "jar.toml:12:11: unknown component `stalk`; known are straw (a further component needs "
       "mass_share)"},
      {north + "component.stem.mass_share = 0.5\ncomponent.leaf.mass_share = 0.4\n",
       "jar.toml:10:11: material `north straw`: the mass_share of its components (stem, leaf) add up to 0.9; "
       "wanted "
       "1"},
      {north + "like = \"wheat straw\"\nlab_sheet = \"none.csv\"\n",
       "jar.toml:12:13: lab_sheet: there is no file none.csv"},
      {north + "like = \"wheat straw\"\nsample = \"A\"\n",
       "jar.toml:12:10: sample: of which file? write lab_sheet = \"sheet.csv\""},
      {north + "like = \"wheat straw\"\nlab_sheet = \"lab.csv\"\n",
       "jar.toml:12:13: lab_sheet: no sample in lab.csv is called `north straw`; known are S7 (sample = "
       "\"S7\" takes "
       "one of another name)"},
      {north + "like = \"wheat straw\"\nlab_sheet = \"lab.csv\"\nsample = \"S8\"\n",
       "jar.toml:13:10: sample: no sample in lab.csv is called `S8`; did you mean 'S7'?"},
      {corn + "[material.corn]\nnitrogen = \"4 g/kg\"\n",
       "jar.toml:9:11: material `corn` is built in; give yours another name (with like = \"corn\")"},
      {corn + "[material.\"a@b\"]\nlike = \"corn\"\n",
       "jar.toml:9:11: material `a@b`: wanted a name without @"},
      {corn + "[material]\nstraw = 3\n", "jar.toml:10:1: material `straw`: wanted a table [material.straw]"},
      {"materials = \"none.toml\"\n" + corn, "jar.toml:1:13: materials: there is no file none.toml"},
      {"materials = \"mine.toml\"\n" + straw + "[material.\"north straw\"]\nlike = \"wheat straw\"\n",
       "mine.toml:1:11: material `north straw` is defined twice; first at jar.toml:11:11"},
      {"materials = \"odd.toml\"\n" + corn,
       "odd.toml:1:1: a file of materials lacks `material`; write [material.NAME] tables\n"
       "odd.toml:1:1: unknown key `straw` in a file of materials; known are material"},
  };
  const Files files = {{"lab.csv", "sample,analyte,value,unit,basis\nS7,N,0.5,%,dry\n"},
                       {"mine.toml", "[material.\"north straw\"]\nlike = \"wheat straw\"\n"},
                       {"odd.toml", "straw = 3\n"}};
  for (const auto& [text, wanted] : cases) {
    INFO(text);
    CHECK(mistakes_of(text, files) == wanted);
  }
}

TEST_CASE("lab sheet of a component: its own keys go before it, and what it lacks is the material's",
          "[lab]") {
  const Files files = {{"lab.csv",
                        "sample,analyte,value,unit,basis\nstalk,NDF,75,%,dry\nstalk,ADL,7.3,%,dry\n"
                        "stalk,ash,6.1,%,dry\nstalk,N,0.6,%,dry\nleaf,N,1.1,%,dry\n"}};
  const std::string text = corn +
                           "[component.stalk]\nlab_sheet = \"lab.csv\"\npotassium = \"8 g/kg\"\n"
                           "[component.stalk.lab]\nbasis = \"dry\"\nK = \"1.3 %\"\nN = \"0.7 %\"\n"
                           "[component.leaf]\nlab_sheet = \"lab.csv\"\n";
  const Scenario s = read(text, files);
  const Parameters<double>& stalk = component(s, "stalk");
  CHECK(stalk.carbon == Approx(0.47 * 0.939));  // from ash
  CHECK(stalk.lignin == Approx(0.62 * 0.073 / stalk.carbon));
  CHECK(stalk.soluble == Approx(1.0 - (0.444 * 0.677 + 0.62 * 0.073) / stalk.carbon));
  CHECK(stalk.nitrogen == Approx(0.007));   // the table goes before the file
  CHECK(stalk.potassium == Approx(0.008));  // the key goes before both
  CHECK(component(s, "leaf").nitrogen == Approx(0.011));
  CHECK(component(s, "leaf").soluble == 0.30);  // of corn
  CHECK(s.treatments[0].parameters.origins.at("soluble@stalk") == Layer::file);
  // total carbon said elsewhere: the same fibre is a smaller share of more carbon
  const Scenario richer = read(text, files, {"carbon@stalk=0.48"});
  CHECK(component(richer, "stalk").carbon == 0.48);
  // treatments merge lab tables key by key
  const Scenario two =
      read(text + "[treatment.a]\n[treatment.b.component.stalk.lab]\nN = \"0.9 %\"\n", files);
  CHECK(component(two, "stalk", 0).nitrogen == Approx(0.007));
  CHECK(component(two, "stalk", 1).nitrogen == Approx(0.009));
  CHECK(component(two, "stalk", 1).soluble == stalk.soluble);
}

TEST_CASE("mixtures: shares of dry matter, everything that is in them", "[materials]") {
  const auto run = [](const std::string& material, const std::string& more = "") {
    return run_scenario(read(jar + "material = " + material + "\nresidue = \"6 t/ha\"\n" + more), {}, {});
  };
  const std::string mixture = "{ \"cereal rye\" = \"60 %\", \"hairy vetch\" = \"40 %\" }";
  const Scenario s = read(jar + "material = " + mixture + "\nresidue = \"6 t/ha\"\n");
  const Treatment& t = s.treatments.at(0);
  CHECK(t.parameters.component_names == std::vector<std::string>{"shoot", "hairy vetch shoot"});
  CHECK(t.first().material_shares[0] == Approx(0.6));
  CHECK(t.first().material_shares[1] == Approx(0.4));
  // Gregory 1982, A of small grain 0.00060 and of soybean 0.00058 acre/lb, from memory: A m is the sum of
  // both
  CHECK(t.parameters.field.cover_m2_g == Approx((0.6 * 0.00060 + 0.4 * 0.00058) * 4046.8564224 / 453.59237));
  const Results r = run(mixture);
  const auto first = [&](const char* name) { return r.find(name).values.front(); };
  // contents of table 3, Sievers and Cook 2018, read in the source: N 11.5 and 41.9 g/kg
  CHECK(first("nitrogen_in_residue") == Approx(600.0 * (0.6 * 0.0115 + 0.4 * 0.0419)));
  CHECK(first("dry_matter") == Approx(600.0));
  CHECK(r.find("balance_error").values.at(0) < 1e-8);  // round-off of pools of hundreds of g m-2
  for (const double left : {r.find("mass_left_by_component").values.at(0),
                            r.find("mass_left_by_component").values.at(static_cast<std::size_t>(r.days))}) {
    CHECK(left == Approx(1.0));
  }
  // all of one is that one; and a share of nothing but itself changes nothing
  CHECK(last(run("{ \"cereal rye\" = \"100 %\" }"), "mass_left") == last(run("\"cereal rye\""), "mass_left"));
  // loss lies between the two
  const double mixed = last(r, "mass_left");
  CHECK(mixed > last(run("\"hairy vetch\""), "mass_left"));
  CHECK(mixed < last(run("\"cereal rye\""), "mass_left"));
}

TEST_CASE("mixtures: mistakes", "[materials][mistakes]") {
  const auto mixed = [](const std::string& mixture) {
    return jar + "residue = \"6 t/ha\"\nmaterial = " + mixture + "\n";  // in line 9
  };
  const std::pair<std::string, std::string> cases[] = {
      {mixed("{ \"cereal rye\" = \"60 %\", \"hairy vetch\" = \"30 %\" }"),
       "jar.toml:9:12: material: the shares add up to 90 %; wanted 100 %"},
      {mixed("{ \"cereal rye\" = \"60 %\", \"hairy vech\" = \"40 %\" }"),
       "jar.toml:9:37: material: found 'hairy vech'; wanted one of corn, wheat straw, soybean, sorghum, "
       "cereal rye, "
       "hairy vetch; did you mean 'hairy vetch'?"},
      {mixed("{ \"cereal rye\" = \"60 %\", own = \"40 %\" }"),
       "jar.toml:9:37: material: \"own\" cannot be part of a mixture; define yours as [material.NAME]"},
      {mixed("{ \"cereal rye\" = \"60 kg\", \"hairy vetch\" = \"40 %\" }"),
       "jar.toml:9:33: cereal rye: 'kg' is a unit of mass: wanted a fraction, such as 30 % or 0.3; units "
       "that fit "
       "are %, 1, m3/m3"},
      {mixed("{ \"cereal rye\" = \"120 %\", \"hairy vetch\" = \"-20 %\" }"),
       "jar.toml:9:29: cereal rye: found a share of 120 %; wanted more than 0 and at most 100 %\n"
       "jar.toml:9:54: hairy vetch: found a share of -20 %; wanted more than 0 and at most 100 %"},
      {mixed("[\"cereal rye\"]"),
       "jar.toml:9:12: material: found a list; wanted a name in quotes, or shares such as { "
       "\"cereal rye\" = \"60 %\", \"hairy vetch\" = \"40 %\" }"},
      {jar + "grain_yield = \"6 t/ha\"\nmaterial = { soybean = \"50 kg\", sorghum = \"50 %\" }\n",
       "jar.toml:8:15: grain_yield: a mixture has no one harvest index; write residue = \"5 t/ha\" (dry "
       "matter)\n"
       "jar.toml:9:28: soybean: 'kg' is a unit of mass: wanted a fraction, such as 30 % or 0.3; units that "
       "fit "
       "are %, 1, m3/m3"},
      {jar + "material = { soybean = \"50 kg\", sorghum = \"50 %\" }\n",
       "jar.toml:6:1: [harvest] lacks `residue`; write residue = \"5 t/ha\" (dry matter)\n"
       "jar.toml:8:28: soybean: 'kg' is a unit of mass: wanted a fraction, such as 30 % or 0.3; units that "
       "fit "
       "are %, 1, m3/m3"},
      {jar + "grain_yield = \"6 t/ha\"\nmaterial = { soybean = \"50 %\", sorghum = \"50 %\" }\n",
       "jar.toml:8:15: grain_yield: a mixture has no one harvest index; write residue = \"5 t/ha\" (dry "
       "matter)"},
      {jar + "material = { soybean = \"50 %\", sorghum = \"50 %\" }\n",
       "jar.toml:6:1: [harvest] lacks `residue`; write residue = \"5 t/ha\" (dry matter)"},
  };
  for (const auto& [text, wanted] : cases) {
    INFO(text);
    CHECK(mistakes_of(text) == wanted);
  }
}

TEST_CASE("mixtures: a treatment that writes a material replaces the mixture", "[materials]") {
  const Scenario s = read(jar +
                          "material = { \"cereal rye\" = \"60 %\", \"hairy vetch\" = \"40 %\" }\n"
                          "residue = \"6 t/ha\"\n[treatment.a]\n"
                          "[treatment.b.harvest.material]\nsoybean = \"30 %\"\n\"hairy vetch\" = \"70 %\"\n"
                          "[treatment.c]\nharvest.material = \"wheat straw\"\n");
  CHECK(s.treatments[1].materials == std::vector<std::string>{"soybean", "hairy vetch"});
  CHECK(material_on(s.treatments[1], s.treatments[1].first().date) == "hairy vetch");
  CHECK(s.treatments[2].materials == std::vector<std::string>{"wheat straw"});
}
