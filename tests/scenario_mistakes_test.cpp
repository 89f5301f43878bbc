#include <utility>

#include "scenarios/plan/scenario.hpp"
#include "tests/catch.hpp"
#include "tests/mistakes_in.hpp"

using namespace stoverturn;

namespace {

/// Five lines that are in order; what a test adds begins on line 6.
const std::string field =
    "[weather]\nfile = \"w.csv\"\n"
    "[harvest]\ndate = 2012-10-20\ngrain_yield = \"205 bu/acre\"\n";
const std::string soil = field + "[soil]\n";                              // then line 7
const std::string stalk = field + "[component.stalk]\n";                  // then line 7
const std::string tillage = field + "[[event]]\nkind = \"tillage\"\n";    // then line 8
const std::string spread = field + "[[event]]\nkind = \"fertiliser\"\n";  // then line 8

std::string mistakes_of(const std::string& text, const std::vector<std::string>& overrides = {}) {
  return mistakes_in([&] { read_scenario(text, "farm.toml", overrides); });
}

using Cases = std::vector<std::pair<std::string, std::string>>;

void check(const Cases& cases) {
  for (const auto& [text, wanted] : cases) {
    INFO(text);
    CHECK(mistakes_of(text) == wanted);
  }
}

}  // namespace

TEST_CASE("mistakes: keys and words", "[scenario][mistakes]") {
  check({
      {field + "grain_yeild = \"1 t/ha\"\n",
       "farm.toml:6:1: unknown key `grain_yeild` in [harvest]; did you mean 'grain_yield'?"},
      {field + "[treatmnt.a]\n",
       "farm.toml:6:2: unknown key `treatmnt` in the file; did you mean 'treatment'?"},
      {soil + "colour = \"brown\"\n",
       "farm.toml:7:1: unknown key `colour` in [soil]; known are texture, field_capacity, wilting_point, "
       "porosity, pH, ammonium, nitrate, subsoil_nitrate, burial_depth"},
      {soil + "texture = \"silt lome\"\n",
       "farm.toml:7:11: texture: found 'silt lome'; wanted one of sand, loamy sand, sandy loam, loam, silt "
       "loam, silt, clay loam, silty clay loam, silty clay, clay; did you mean 'silt loam'?"},
      {"units = \"uk\"\n" + field,
       "farm.toml:1:9: units: found 'uk'; wanted one of us, si; did you mean 'us'?"},
      {soil + "texture = 3\n", "farm.toml:7:11: texture: found 3; wanted a text in quotes"},
      {field + "[harvest.material]\n",
       "farm.toml:6:1: material: found an empty table; wanted a name, or shares such as { \"cereal rye\" = "
       "\"60 %\", \"hairy vetch\" = \"40 %\" }"},
      {soil + "pH = \"six\"\n", "farm.toml:7:6: pH: found 'six'; wanted a number from 3 to 10"},
      {soil + "pH = 12\n", "farm.toml:7:6: pH: found 12; wanted a number from 3 to 10"},
      {soil + "pH = nan\n", "farm.toml:7:6: pH: found nan; wanted a number from 3 to 10"},
      {"soil = 3\n" + field, "farm.toml:1:8: soil: found 3; wanted a table"},
      {field + "[event]\nkind = \"tillage\"\n",
       "farm.toml:6:1: event: found one table; wanted a list: [[event]] in double brackets, or [ ] around "
       "it"},
      {"event = 3\n" + field, "farm.toml:1:9: event: found 3; wanted a list"},
      {"event = [3]\n" + field, "farm.toml:1:10: found a number; wanted an event as [[event]]"},
  });
}

TEST_CASE("mistakes: quantities, with the place inside the quotes", "[scenario][mistakes]") {
  check({
      {soil + "ammonium = 60 lb/acre\n",
       "farm.toml:7:15: found a number followed by a unit in `ammonium = 60 lb/acre`; put quantities in "
       "quotes"},
      {soil + "field_capacity = 30 %\n",
       "farm.toml:7:21: found a number followed by a unit in `field_capacity = 30 %`; put quantities in "
       "quotes"},
      {soil + "ammonium = \"60 ton/acre\"\n",
       "farm.toml:7:16: ammonium: 'ton/acre': a bare ton is ambiguous; write t or short ton (here tonne/acre "
       "or short ton/acre)"},
      {soil + "ammonium = \"60 ton\"\n",
       "farm.toml:7:16: ammonium: 'ton': a bare ton is ambiguous; write t or short ton"},
      {soil + "ammonium = \"5 lb/acer\"\n",
       "farm.toml:7:15: ammonium: unknown unit 'lb/acer' of mass per area; did you mean 'lb/acre'?"},
      {soil + "ammonium   =   \"  5   lb/acer\"\n",
       "farm.toml:7:23: ammonium: unknown unit 'lb/acer' of mass per area; did you mean 'lb/acre'?"},
      {soil + "ammonium = \"5 in\"\n",
       "farm.toml:7:15: ammonium: 'in' is a unit of length: wanted a mass per area with its unit, such as 60 "
       "lb/acre; units that fit are lb/acre, kg/ha, g/m2, t/ha, Mg/ha, tonne/ha, short ton/acre, tonne/acre, "
       "..."},
      {soil + "ammonium = 60\n",
       "farm.toml:7:12: ammonium: 60: wanted a mass per area with its unit, such as 60 lb/acre"},
      {soil + "ammonium = true\n",
       "farm.toml:7:12: ammonium: found true or false; wanted a quantity in quotes, such as \"12 lb/acre\""},
      {soil + "ammonium = \"5000 lb/acre\"\n",
       "farm.toml:7:12: ammonium: found '5000 lb/acre'; wanted from 0 lb/acre to 446.09 lb/acre"},
      {soil + "ammonium = \"-5 lb/acre\"\n",
       "farm.toml:7:12: ammonium: found '-5 lb/acre'; wanted from 0 lb/acre to 446.09 lb/acre"},
      {"duration = \"5\"\n" + field,
       "farm.toml:1:14: duration: 5: wanted a time with its unit, such as 10 days"},
      {"duration = \"40 years\"\n" + field,
       "farm.toml:1:12: duration: found '40 years'; wanted from 0.0027379 years to 30.1 years"},
      {field + "[next_crop]\nplanting = \"5 May\"\n",
       "farm.toml:7:12: planting: found '5 May'; wanted month-day, such as \"05-05\""},
      {field + "[next_crop]\nplanting = \"02-30\"\n",
       "farm.toml:7:12: planting: found '02-30'; wanted month-day, such as \"05-05\""},
      {field + "[next_crop]\nplanting = \"-1-05\"\n",
       "farm.toml:7:12: planting: found '-1-05'; wanted month-day, such as \"05-05\""},
      {field + "[prices]\nnitrogen = \"0.6 lb/acre\"\npotash = 0.4\n",
       "farm.toml:7:17: nitrogen: 'lb/acre' is a unit of mass per area: wanted a price per mass with its "
       "unit, "
       "such as 0.60 $/lb; units that fit are $/lb, $/kg, cents/lb, cents/kg, $/t, $/tonne, $/Mg, $/short "
       "ton, "
       "...\n"
       "farm.toml:8:10: potash: 0.4: wanted a price per mass with its unit, such as 0.60 $/lb"},
  });
}

TEST_CASE("mistakes: what a field lacks or has twice", "[scenario][mistakes]") {
  const std::string harvest = "[weather]\nfile = \"w.csv\"\n[harvest]\n";
  const std::string no_harvest =
      "farm.toml:1:1: the file lacks `harvest`; write [harvest] with date and grain_yield";
  const std::string no_weather =
      "farm.toml:1:1: the file lacks `weather`; write [weather] with file = \"weather.csv\", or [conditions]";
  check({
      {"", no_harvest + "\n" + no_weather},
      {"[weather]\nfile = \"w.csv\"\n", no_harvest},
      {"[weather]\n" + field.substr(field.find("[harvest]")),
       "farm.toml:1:1: [weather] lacks `file`; write file = \"weather.csv\", climate = \"central Iowa\", or "
       "[weather.normals]"},
      {field.substr(field.find("[harvest]")), no_weather},
      {harvest + "grain_yield = \"205 bu/acre\"\n",
       "farm.toml:3:1: [harvest] lacks `date`; write date = 2026-10-20"},
      {harvest + "date = 2012-10-20\n",
       "farm.toml:3:1: [harvest] lacks `grain_yield`; write grain_yield = \"205 bu/acre\", or residue = \"9 "
       "t/ha\" (dry matter)"},
      {field + "residue = \"9 t/ha\"\n",
       "farm.toml:6:11: residue: found with `grain_yield`; keep one of the two"},
      {field + "grain_moisture = \"20 %\"\n",
       "farm.toml:6:18: grain_moisture: a bushel is already defined at 15.5 %; leave this key out"},
      {harvest + "date = 2012-10-20\ngrain_yield = \"0 bu/acre\"\n",
       "farm.toml:5:15: grain_yield: wanted more than 0 and at most 35 t/ha"},
      {field + "placement = { standing = \"20 %\", surface = \"70 %\" }\n",
       "farm.toml:6:13: placement: the shares add up to 90 %; wanted 100 %"},
      {harvest + "date = \"20 October\"\ngrain_yield = \"205 bu/acre\"\n",
       "farm.toml:4:8: date: '20 October' is not a date in the form yyyy-mm-dd"},
      {harvest + "date = \"2012-11-31\"\ngrain_yield = \"205 bu/acre\"\n",
       "farm.toml:4:8: date: there is no day '2012-11-31': November 2012 has 30 days"},
      {harvest + "date = 2012-10-20T06:00:00\ngrain_yield = \"205 bu/acre\"\n",
       "farm.toml:4:8: found a time of day; wanted a date alone, such as 2026-10-20"},
      {harvest + "date = 2012\ngrain_yield = \"205 bu/acre\"\n",
       "farm.toml:4:8: date: found 2012; wanted a date, such as 2026-10-20"},
      {field + "[conditions]\nwetness = 1\n",
       "farm.toml:6:1: [conditions] lacks `temperature`; write temperature = \"25 degC\", or log = "
       "\"FILE.csv\""},
  });
}

TEST_CASE("mistakes: components and what they are made of", "[scenario][mistakes]") {
  check({
      {field + "[component.stlk]\ncut_length = \"60 in\"\n",
       "farm.toml:6:12: unknown component `stlk`; did you mean 'stalk'? (a component of your own needs "
       "mass_share)"},
      {field + "[component]\nstalk = 3\n",
       "farm.toml:7:9: [component.stalk]: found a number; wanted a table"},
      {stalk + "opening = \"60 %\"\n",
       "farm.toml:7:11: opening: openings need their distance: entry_spacing = \"4 in\""},
      {stalk + "pieces = [ { share = \"40 %\" }, { share = \"50 %\" } ]\n",
       "farm.toml:7:10: [component.stalk] pieces: the shares add up to 90 %; wanted 100 %"},
      {stalk + "pieces = [3]\n",
       "farm.toml:7:11: [component.stalk] pieces: found a number; wanted { share = \"40 %\", cut_length = "
       "\"2 "
       "in\" }"},
      {stalk + "shape = \"shet\"\n",
       "farm.toml:7:9: shape: found 'shet'; wanted one of stalk, sheet; did you mean 'sheet'?"},
      {stalk + "soluble = 0.9\n",
       "farm.toml:7:11: soluble: found 0.9; wanted 0.02 to 0.7 (neutral-detergent solubles, share of "
       "carbon)"},
      {stalk + "soluble = 0.65\nlignin = 0.35\n",
       "farm.toml:6:1: stalk: soluble and lignin are 1 of the carbon together; wanted at most 0.98"},
      {stalk + "a_rem = 0.5\na_som = 0.7\n",
       "farm.toml:6:1: stalk: a_rem and a_som are 1.2 together; wanted at most 1"},
      {stalk + "nitrogen = \"40 g/kg\"\nN_structure = 0.2\n",
       "farm.toml:6:1: stalk: its solubles would have a C:N of 2.9, richer than protein (3.2); lower "
       "nitrogen, or raise soluble or N_structure"},
      {field + "[parameters]\nnitrogen = \"55 g/kg\"\nN_structure = 0.1\n",
       "farm.toml:3:1: stalk: its solubles would have a C:N of 1.9, richer than protein (3.2); lower "
       "nitrogen, or raise soluble or N_structure\n"
       "farm.toml:3:1: leaf: its solubles would have a C:N of 2.6, richer than protein (3.2); lower "
       "nitrogen, or raise soluble or N_structure\n"
       "farm.toml:3:1: husk: its solubles would have a C:N of 1.7, richer than protein (3.2); lower "
       "nitrogen, or raise soluble or N_structure\n"
       "farm.toml:3:1: cob: its solubles would have a C:N of 1.1, richer than protein (3.2); lower nitrogen, "
       "or raise soluble or N_structure"},
      {stalk + "mass_share = 0.7\n",
       "farm.toml:3:1: the mass_share of the components (stalk, leaf, husk, cob) add up to 1.284; wanted 1"},
      {field + "material = \"own\"\n", "farm.toml:6:12: material: \"own\" needs [component.NAME] tables"},
  });
}

TEST_CASE("mistakes: events", "[scenario][mistakes]") {
  check({
      {tillage + "date = 2012-10-10\nbury = \"40 %\"\n",
       "farm.toml:8:8: date: 2012-10-10 is before the harvest of 2012-10-20"},
      {tillage + "date = 2012-11-10\n",
       "farm.toml:7:8: kind: a tillage event needs an implement, or at least one of knock_down, bury, "
       "bring_up "
       "and recut"},
      {tillage + "date = 2012-11-10\nafter_harvest = \"3 d\"\nbury = \"40 %\"\n",
       "farm.toml:9:17: after_harvest: found with `date`; keep one of the two"},
      {tillage + "bury = \"40 %\"\n",
       "farm.toml:6:1: [[event]] lacks `date`; write date = 2026-11-05, or after_harvest = \"16 d\""},
      {tillage + "date = 2012-11-10\nbury = \"150 %\"\n",
       "farm.toml:9:8: bury: found '150 %'; wanted from 0 % to 100 %"},
      {tillage + "date = 2012-11-10\nrecut = { stlk = { cut_length = \"1 in\" } }\n",
       "farm.toml:9:11: unknown key `stlk` in recut; did you mean 'stalk'?"},
      {field + "[[event]]\nkind = \"tilage\"\ndate = 2012-11-10\n",
       "farm.toml:7:8: kind: found 'tilage'; wanted one of tillage, fertiliser, fertilizer, removal, "
       "irrigation; did you mean "
       "'tillage'?"},
      {field + "[[event]]\ndate = 2012-11-10\n",
       "farm.toml:6:1: [[event]] lacks `kind`; write kind = \"tillage\", \"fertiliser\", \"removal\" or "
       "\"irrigation\""},
      {spread + "date = 2012-11-10\nurea = \"100 %\"\n",
       "farm.toml:6:1: [[event]] lacks `nitrogen`; write nitrogen = \"60 lb/acre\""},
      {spread + "date = 2012-11-10\nnitrogen = \"40 lb/acre\"\nurea = \"50 %\"\n",
       "farm.toml:9:12: nitrogen: urea, ammonium and nitrate are 50 % together; wanted 100 % of the N (UAN: "
       "half urea, a quarter each of the others)"},
      {spread + "date = 2012-11-10\nnitrogen = \"40 lb/acre\"\nurea = \"100 %\"\nbury = \"40 %\"\n",
       "farm.toml:11:1: unknown key `bury` in [[event]]; known are kind, after_harvest, date, note, "
       "product, rate, nitrogen, urea, ammonium, nitrate, urea_loss, lost, ..."},
  });
}

TEST_CASE("mistakes: treatments", "[scenario][mistakes]") {
  check({
      {field + "[treatment]\na = 3\n", "farm.toml:7:1: treatment `a`: wanted a table [treatment.a]"},
      {field + "[treatment.a]\nlike = \"a\"\n", "farm.toml:7:8: like: the treatments go in a circle, a -> a"},
      {field + "[treatment.a]\nlike = \"b\"\n[treatment.b]\nlike = \"a\"\n",
       "farm.toml:7:8: like: the treatments go in a circle, b -> a -> b\n"
       "farm.toml:9:8: like: the treatments go in a circle, a -> b -> a"},
      {field + "[treatment.long]\n[treatment.b]\nlike = \"lonh\"\n",
       "farm.toml:8:8: like: no treatment is called `lonh`; did you mean 'long'?"},
      {field + "[treatment.a]\n[treatment.b]\nlike = 3\n",
       "farm.toml:8:8: like: found a number; wanted the name of a treatment"},
      {field + "[treatment.a]\nlabel = \"x\"\n[treatment.b]\nlabel = \"x\"\n",
       "farm.toml:8:1: label: treatments `a` and `b` are both called 'x'; give each its own label"},
      {field + "[treatment.a.add_event]\nkind = \"tillage\"\n",
       "farm.toml:6:1: add_event: found a table; wanted [[treatment.a.add_event]] in double brackets"},
      {field + "[treatment.a]\nfoo = 3\n",
       "farm.toml:7:1: unknown key `foo` in [treatment.a]; known are label, like, add_event, harvest, "
       "component, parameters, as_in_trial, soil, next_crop, later_harvest, rotation, event, ..."},
  });
}

TEST_CASE("mistakes: parameters", "[scenario][mistakes][parameters]") {
  const std::string parameters = field + "[parameters]\n";
  check({
      {parameters + "k_hool = 0.04\n",
       "farm.toml:7:1: unknown parameter `k_hool`; did you mean 'k_hol'? (`stoverturn parameters` lists "
       "them)"},
      {parameters + "k_hol = 40\n",
       "farm.toml:7:9: k_hol: found 40 1/d; wanted 0.001 to 0.3 (decay of open holocellulose at 25 C)"},
      {parameters + "k_hol = nan\n",
       "farm.toml:7:9: k_hol: found nan 1/d; wanted 0.001 to 0.3 (decay of open holocellulose at 25 C)"},
      {parameters + "\"k_hol@leef\" = 0.1\n",
       "farm.toml:7:1: k_hol@leef: no component or treatment is called `leef`; did you mean 'leaf'?"},
      {parameters + "\"CN_mic@leaf\" = 8\n",
       "farm.toml:7:1: CN_mic@leaf: CN_mic is one value for the whole field; drop @leaf"},
      {parameters + "tau_d = \"3 mm\"\n",
       "farm.toml:7:12: tau_d: 'mm' is a unit of length: wanted a time with its unit, such as 10 days; units "
       "that fit are d, week, yr, h, min, s"},
      {parameters + "snow_melt_mm = \"three\"\n",
       "farm.toml:7:16: snow_melt_mm: found a text; wanted a number in mm/d/K"},
  });
}

TEST_CASE("mistakes: the model", "[scenario][mistakes]") {
  check({{field + "[model]\ntemperature = \"loyd_taylor\"\nmoisture = \"x\"\nrelative_tolerance = 1\n",
          "farm.toml:7:15: temperature: found 'loyd_taylor'; wanted one of lloyd_taylor, q10, yan_hunt; did "
          "you "
          "mean 'lloyd_taylor'?\n"
          "farm.toml:8:12: moisture: found 'x'; wanted one of pore_space, water_potential\n"
          "farm.toml:9:22: relative_tolerance: found 1; wanted a number from 1e-12 to 0.001"}});
}

TEST_CASE("mistakes: text that is no TOML", "[scenario][mistakes]") {
  // what follows the place is the TOML reader's own sentence and may change with its version
  const Cases cases = {
      {"title = \n" + field, "farm.toml:1:9: Error while parsing key-value pair"},
      {"title = \"Lower Forty\n" + field, "farm.toml:1:21: Error while parsing string"},
      {field + "[harvest]\n", "farm.toml:6:1: Error while parsing table header"},
      {field + "date = 2012-10-21\n", "farm.toml:6:8: Error while parsing key-value pair"},
      {tillage + "date = 2012-11-31\n", "farm.toml:8:18: Error while parsing date"},
  };
  for (const auto& [text, wanted] : cases) {
    INFO(text);
    CHECK_THAT(mistakes_of(text), Matchers::StartsWith(wanted));
  }
}

TEST_CASE("mistakes: the command line has no lines", "[scenario][mistakes]") {
  CHECK(
      mistakes_of(field, {"k_hol=40", "k_hol", "=3", "harvest.grain_yeild=3", "soil.pH=20", "k_hool=1",
                          "soil.ammonium=5 lb/acer"}) ==
      "command line: found `--set k_hol`; wanted --set name=value\n"
      "command line: found `--set =3`; wanted --set name=value\n"
      "command line: k_hol: found 40 1/d; wanted 0.001 to 0.3 (decay of open holocellulose at 25 C)\n"
      "command line: unknown parameter `k_hool`; did you mean 'k_hol'? (`stoverturn parameters` lists them)\n"
      "command line: unknown key `grain_yeild` in [harvest]; did you mean 'grain_yield'?\n"
      "command line: pH: found 20; wanted a number from 3 to 10\n"
      "command line: ammonium: unknown unit 'lb/acer' of mass per area; did you mean 'lb/acre'?");
}

TEST_CASE("mistakes: one inherited by many treatments is told once", "[scenario][mistakes]") {
  CHECK(mistakes_of(soil + "pH = 12\n[treatment.a]\n[treatment.b]\n[treatment.c]\n") ==
        "farm.toml:7:6: pH: found 12; wanted a number from 3 to 10");
}

TEST_CASE("mistakes: twenty are shown and the rest counted", "[scenario][mistakes]") {
  std::string text = field + "[parameters]\n";
  for (int i = 0; i < 23; ++i) text += "zzzzzz" + std::to_string(i) + " = 1\n";
  const std::string told = mistakes_of(text);
  CHECK(std::count(told.begin(), told.end(), '\n') == 20);
  CHECK_THAT(told, contains("`zzzzzz19`"));
  CHECK_THAT(told, !contains("`zzzzzz20`"));
  CHECK_THAT(told, Matchers::EndsWith("\n... and 3 more"));
}
