#include <algorithm>

#include <boost/random/mersenne_twister.hpp>
#include <boost/random/uniform_int_distribution.hpp>

#include "scenarios/plan/scenario.hpp"
#include "scenarios/text/calendar.hpp"
#include "tests/catch.hpp"

using namespace stoverturn;

namespace {

const std::string field =
    "[weather]\nfile = \"w.csv\"\n"
    "[harvest]\ndate = 2012-10-20\ngrain_yield = \"205 bu/acre\"\n";

Scenario read(const std::string& text, const std::vector<std::string>& overrides = {}) {
  return read_scenario(text, "farm.toml", overrides);
}

Treatment only(const std::string& more, const std::vector<std::string>& overrides = {}) {
  return read(field + more, overrides).treatments.at(0);
}

const Treatment& named(const Scenario& scenario, const std::string& name) {
  for (const Treatment& t : scenario.treatments) {
    if (t.name == name) return t;
  }
  FAIL("no treatment " << name);
  return scenario.treatments.front();
}

std::size_t component_index(const Treatment& t, const std::string& name) {
  const auto& names = t.parameters.component_names;
  const auto found = std::find(names.begin(), names.end(), name);
  REQUIRE(found != names.end());
  return static_cast<std::size_t>(found - names.begin());
}

double k_hol(const Treatment& t, const std::string& component) {
  return t.parameters.components[component_index(t, component)].k_hol;
}

const Pieces& pieces_of(const Treatment& t, const std::string& component) {
  return t.components[component_index(t, component)].pieces.at(0).geometry;
}

std::vector<std::string> names_of(const Scenario& scenario) {
  std::vector<std::string> names;
  for (const Treatment& t : scenario.treatments) names.push_back(t.name);
  return names;
}

// The pound, and the acre of 4840 square yards: NIST Handbook 44, Appendix C
constexpr double lb_acre = 453.59237 / 4046.8564224;  // g m-2

}  // namespace

TEST_CASE("scenario: residue from the grain, by hand", "[scenario]") {
  // a bushel of corn is 56 lb at 15.5 % moisture (common practice, no source): 47.32 lb of dry matter;
  // at a harvest index of one half as much residue stands as dry grain
  const double residue = 205.0 * 47.32 * lb_acre;
  CHECK(only("").first().dry_matter_g_m2 == Approx(residue).epsilon(1e-12));  // rounding of the factors
  CHECK(only("", {"harvest_index=0.4"}).first().dry_matter_g_m2 ==
        Approx(residue * 0.6 / 0.4).epsilon(1e-12));

  const auto from = [](const std::string& keys) {
    return read("[weather]\nfile = \"w.csv\"\n[harvest]\ndate = 2012-10-20\n" + keys)
        .treatments[0]
        .first()
        .dry_matter_g_m2;
  };
  CHECK(from("grain_yield = \"10 t/ha\"\ngrain_moisture = \"14 %\"\n") == Approx(860.0).epsilon(1e-12));
  CHECK(from("grain_yield = \"10 t/ha\"\ngrain_moisture = 0\n") == Approx(1000.0).epsilon(1e-12));
  CHECK(from("grain_yield = \"10 t/ha\"\n") == Approx(845.0).epsilon(1e-12));  // 15.5 % unless stated
  CHECK(from("residue = \"9 t/ha\"\n") == Approx(900.0).epsilon(1e-12));
}

TEST_CASE("scenario: a treatment changes single keys of what it takes over", "[scenario]") {
  const Scenario s = read(field +
                          "placement = { standing = \"20 %\", surface = \"80 %\" }\n"
                          "[component.stalk]\ncut_length = \"300 mm\"\nentry_spacing = \"50 mm\"\n"
                          "[soil]\ntexture = \"loam\"\npH = 6.0\n"
                          "[treatment.as_is]\n"
                          "[treatment.late]\nharvest.date = 2012-11-20\nsoil.pH = 7.0\n"
                          "component.stalk.cut_length = \"20 mm\"\n");
  const Treatment &as_is = named(s, "as_is"), &late = named(s, "late");
  CHECK(format_date(as_is.first().date) == "2012-10-20");
  CHECK(format_date(late.first().date) == "2012-11-20");
  CHECK(late.first().dry_matter_g_m2 == as_is.first().dry_matter_g_m2);
  CHECK(late.first().placement_shares == as_is.first().placement_shares);
  CHECK(as_is.first().placement_shares == std::array{0.2, 0.8, 0.0});
  CHECK(as_is.soil.pH == 6.0);
  CHECK(late.soil.pH == 7.0);
  CHECK(late.soil.field_capacity == as_is.soil.field_capacity);
  CHECK(pieces_of(as_is, "stalk").length_mm == Approx(300.0));
  CHECK(pieces_of(late, "stalk").length_mm == Approx(20.0));
  CHECK(pieces_of(late, "stalk").spacing_mm == Approx(50.0));
  // an opening without a share is cut through
  CHECK(pieces_of(late, "stalk").opening == 1.0);
  CHECK(as_is.label == "as_is");
}

TEST_CASE("scenario: event replaces the list, add_event adds to it, in date order", "[scenario]") {
  const Scenario s = read(field +
                          "[[event]]\nkind = \"tillage\"\ndate = 2013-05-04\nbury = \"10 %\"\n"
                          "[[event]]\nkind = \"tillage\"\ndate = 2013-06-04\nbury = \"20 %\"\n"
                          "[treatment.same]\n"
                          "[treatment.replaced]\n"
                          "[[treatment.replaced.event]]\nkind = \"tillage\"\ndate = 2013-07-04\n"
                          "bury = \"30 %\"\n"
                          "[treatment.more]\n"
                          "[[treatment.more.add_event]]\nkind = \"tillage\"\nafter_harvest = \"10 d\"\n"
                          "bury = \"40 %\"\n"
                          "[treatment.most]\nlike = \"more\"\n"
                          "[[treatment.most.add_event]]\nkind = \"tillage\"\ndate = 2013-05-20\n"
                          "bury = \"50 %\"\n");
  const auto buried = [&](const std::string& name) {
    std::vector<int> percents;
    for (const EventPlan& e : named(s, name).events) {
      percents.push_back(static_cast<int>(std::lround(100.0 * std::get<TillagePlan>(e).bury)));
    }
    return percents;
  };
  CHECK(buried("same") == std::vector<int>{10, 20});
  CHECK(buried("replaced") == std::vector<int>{30});
  CHECK(buried("more") == std::vector<int>{40, 10, 20});
  CHECK(buried("most") == std::vector<int>{40, 10, 50, 20});
  CHECK(format_date(std::get<TillagePlan>(named(s, "more").events[0]).date) == "2012-10-30");
}

TEST_CASE("scenario: like takes over a chain of treatments, but not the label", "[scenario]") {
  const Scenario s = read(field +
                          "[treatment.c]\nlike = \"b\"\nsoil.pH = 7.5\n"
                          "[treatment.b]\nlike = \"a\"\nharvest.date = 2012-11-01\n"
                          "[treatment.a]\nlabel = \"first\"\nsoil.pH = 5.5\n"
                          "component.stalk.cut_length = \"10 mm\"\n");
  CHECK(names_of(s) == std::vector<std::string>{"c", "b", "a"});
  CHECK(named(s, "b").soil.pH == 5.5);
  CHECK(named(s, "c").soil.pH == 7.5);
  CHECK(format_date(named(s, "c").first().date) == "2012-11-01");
  CHECK(format_date(named(s, "a").first().date) == "2012-10-20");
  CHECK(pieces_of(named(s, "c"), "stalk").length_mm == Approx(10.0));
  CHECK(named(s, "a").label == "first");
  CHECK(named(s, "b").label == "b");
  CHECK(named(s, "c").label == "c");
}

TEST_CASE("scenario: treatments come out in the order of the file", "[scenario]") {
  CHECK(names_of(
            read(field + "[treatment.zebra]\n[treatment.Apple]\n[treatment.mango]\n[treatment.\"1st\"]\n")) ==
        std::vector<std::string>{"zebra", "Apple", "mango", "1st"});
  CHECK(names_of(read(field + "[treatment]\nz = {}\nm.soil.pH = 6\na = { soil.pH = 7 }\n")) ==
        std::vector<std::string>{"z", "m", "a"});
  CHECK(names_of(read(field + "[treatment.z.soil]\npH = 6\n[treatment.a.soil]\npH = 7\n[treatment.z]\n"
                              "label = \"Z\"\n")) == std::vector<std::string>{"z", "a"});
  CHECK(names_of(read(field)) == std::vector<std::string>{""});
  CHECK(read(field).treatments[0].label == "field");
}

TEST_CASE("scenario: parameter addresses", "[scenario][parameters]") {
  const std::string treatments = "[treatment.short]\n[treatment.long]\n";
  SECTION("one parameter everywhere") {
    const Treatment t = only("[parameters]\nk_hol = 0.05\nCN_mic = 9\n");
    for (const char* c : {"stalk", "leaf", "husk", "cob"}) CHECK(k_hol(t, c) == 0.05);
    CHECK(t.parameters.field.k_hol == 0.05);
    CHECK(t.parameters.field.CN_mic == 9.0);
    CHECK(t.parameters.origins.at("k_hol@stalk") == Layer::file);
    CHECK(t.parameters.origins.at("CN_mic") == Layer::file);
  }
  SECTION("of a component, of a treatment, of both, in either order") {
    const Scenario s = read(field + treatments +
                            "[parameters]\n\"k_hol@stalk\" = 0.05\n\"k_hol@leaf@short\" = 0.06\n"
                            "\"k_hol@long@leaf\" = 0.07\n\"CN_mic@long\" = 8\n\"k_hol@short\" = 0.08\n");
    const Treatment &a = named(s, "short"), &b = named(s, "long");
    CHECK(k_hol(a, "leaf") == 0.06);
    CHECK(k_hol(b, "leaf") == 0.07);
    CHECK(k_hol(a, "stalk") == 0.05);  // the component is narrower than the treatment
    CHECK(k_hol(a, "cob") == 0.08);
    CHECK(k_hol(b, "stalk") == 0.05);
    CHECK(k_hol(b, "cob") == default_parameters().k_hol);
    CHECK(b.parameters.field.CN_mic == 8.0);
    CHECK(a.parameters.field.CN_mic == default_parameters().CN_mic);
  }
  SECTION("a key of a component's table, in units") {
    const Treatment t = only("[component.stalk]\nk_hol = \"4 %/d\"\nnitrogen = \"7 g/kg\"\n");
    CHECK(k_hol(t, "stalk") == Approx(0.04));
    CHECK(t.parameters.components[0].nitrogen == Approx(0.007));
    CHECK(k_hol(t, "leaf") == default_parameters().k_hol);
  }
  SECTION("default < material < file < command line") {
    const double material = only("").parameters.components[0].nitrogen;
    CHECK(material != default_parameters().nitrogen);
    CHECK(only("").parameters.origins.at("nitrogen@stalk") == Layer::material);
    CHECK(only("").parameters.origins.count("k_hol@stalk") == 0);
    const std::string file = "[parameters]\n\"nitrogen@stalk\" = 0.008\n";
    CHECK(only(file).parameters.components[0].nitrogen == 0.008);
    const Treatment set = only(file, {"nitrogen=0.009"});  // even the broader address
    CHECK(set.parameters.components[0].nitrogen == 0.009);
    CHECK(set.parameters.origins.at("nitrogen@stalk") == Layer::command_line);
    CHECK(only(file, {"nitrogen=0.009", "nitrogen@stalk=0.011"}).parameters.components[0].nitrogen == 0.011);
  }
  SECTION("a fit lies between material and file") {
    const ParameterRow* row = find_parameter("k_hol");
    const ParameterSetting fit{row, "", "", 0.02, Layer::fit};
    const ParameterSetting file{row, "stalk", "", 0.03, Layer::file};
    const TreatmentParameters p =
        resolve_parameters({"corn"}, {{"stalk", 0, "stalk"}, {"leaf", 0, "leaf"}}, "", {file, fit});
    CHECK(p.components[0].k_hol == 0.03);
    CHECK(p.components[1].k_hol == 0.02);
    CHECK(p.origins.at("k_hol@leaf") == Layer::fit);
  }
}

TEST_CASE("scenario: --set reaches keys by a dotted path, and makes tables", "[scenario]") {
  CHECK(only("", {"harvest.grain_yield=100 bu/acre"}).first().dry_matter_g_m2 ==
        Approx(100.0 * 47.32 * lb_acre).epsilon(1e-12));
  CHECK(format_date(only("", {"harvest.date=2012-11-05"}).first().date) == "2012-11-05");
  CHECK(only("", {"soil.pH=7.5"}).soil.pH == 7.5);
  CHECK(pieces_of(only("", {"component.stalk.cut_length=4 in"}), "stalk").length_mm == Approx(101.6));
  CHECK(read(field, {"model.relative_tolerance=5e-8"}).model.tolerance.relative == 5e-8);
  const Scenario s = read(field + "[treatment.a]\n[treatment.b]\n", {"treatment.b.soil.pH=5"});
  CHECK(named(s, "b").soil.pH == 5.0);
  CHECK(named(s, "a").soil.pH != 5.0);
}

TEST_CASE("scenario: quantities of every section, in the trade's units and in SI", "[scenario][units]") {
  const Treatment us = only(
      "[soil]\nammonium = \"5 lb/acre\"\nnitrate = \"15 lb N/acre\"\nsubsoil_nitrate = \"20 lbs/ac\"\n"
      "burial_depth = \"4 in\"\nfield_capacity = \"30 %\"\n"
      "[next_crop]\nplanting = \"05-20\"\nnitrogen = \"160 lb/acre\"\n"
      "[[event]]\nkind = \"fertilizer\"\nafter_harvest = \"2 weeks\"\nnitrogen = \"40 lb N/acre\"\n"
      "urea = \"50 %\"\nammonium = 0.25\nnitrate = \"25 %\"\nsulfur = \"10 lb/acre\"\nplacement = "
      "\"buried\"\n");
  CHECK(us.soil_start.ammonium_N == Approx(5.0 * lb_acre));
  CHECK(us.soil_start.nitrate_N == Approx(15.0 * lb_acre));
  CHECK(us.soil_start.subsoil_nitrate_N == Approx(20.0 * lb_acre));
  CHECK(us.burial_depth_mm == Approx(101.6));
  CHECK(us.soil.field_capacity == Approx(0.3));
  CHECK(us.crop.grows);
  CHECK(us.crop.planting == std::chrono::month_day{std::chrono::May, std::chrono::day{20}});
  CHECK(us.crop.nitrogen_g_m2 == Approx(160.0 * lb_acre));
  const auto& uan = std::get<FertiliserPlan>(us.events.at(0));
  CHECK(format_date(uan.date) == "2012-11-03");
  CHECK(uan.amounts.urea_N == Approx(20.0 * lb_acre));
  CHECK(uan.amounts.ammonium_N == Approx(10.0 * lb_acre));
  CHECK(uan.amounts.nitrate_N == Approx(10.0 * lb_acre));
  CHECK(uan.amounts.sulfur == Approx(10.0 * lb_acre));
  CHECK_FALSE(uan.amounts.on_surface);

  const Scenario s = read("units = \"si\"\nduration = \"18 months\"\n" + field, {"duration=400 d"});
  CHECK(s.duration_d == 400.0);
  CHECK(read("duration = \"2 years\"\n" + field).duration_d == Approx(730.5));
  const Scenario priced = read(field +
                               "[prices]\nnitrogen = \"1.00 EUR/kg\"\nphosphate = \"€0.65/lb\"\n"
                               "potash = \"45 cents/lb\"\nsulfur = \"500 euros/t\"\ncurrency = \"EUR\"\n");
  CHECK(priced.prices.nitrogen == Approx(0.001));
  CHECK(priced.prices.phosphate == Approx(0.65 / 453.59237));
  CHECK(priced.prices.potash == Approx(0.45 / 453.59237));
  CHECK(priced.prices.sulfur == Approx(0.0005));
  CHECK(priced.prices.placeholders.empty());
  CHECK(read(field).prices.placeholders.size() == 4);
  CHECK(read(field + "[prices]\nnitrogen = \"0.5 $/lb\"\n").prices.placeholders ==
        std::vector<std::string>{"phosphate", "potash", "sulfur"});

  const Scenario jar = read(
      "[harvest]\ndate = 2012-10-20\nresidue = \"500 g/m2\"\n"
      "[conditions]\ntemperature = \"77 F\"\nwetness = \"90 %\"\npore_filling = 0.5\n");
  CHECK(jar.treatments[0].conditions->constant->temperature_C == Approx(25.0));
  CHECK(jar.treatments[0].conditions->constant->wetness == Approx(0.9));
  CHECK_FALSE(jar.weather.has_value());

  const Scenario south = read(
      "[harvest]\ndate = 2013-04-20\nresidue = \"9 t/ha\"\n[weather]\nfile = \"w.csv\"\n"
      "latitude = \"33.9 S\"\nelevation = \"1000 ft\"\nlongest_gap = \"2 weeks\"\n");
  CHECK(south.weather->latitude_deg == Approx(-33.9));
  CHECK(south.weather->elevation_m == Approx(304.8));  // the foot is 0.3048 m exactly
  CHECK(south.weather->longest_gap_d == 14);
}

TEST_CASE("scenario: piece classes share a component's mass", "[scenario]") {
  const Treatment t = only(
      "[component.stalk]\nentry_spacing = \"60 mm\"\nopening = \"50 %\"\n"
      "pieces = [ { share = \"40 %\", cut_length = \"2 in\" }, { share = \"60 %\", cut_length = \"1 ft\", "
      "name = \"tall\" } ]\n");
  const std::vector<PieceClass>& classes = t.components[0].pieces;
  REQUIRE(classes.size() == 2);
  CHECK(classes[0].share == Approx(0.4));
  CHECK(classes[0].geometry.length_mm == Approx(50.8));
  CHECK(classes[0].geometry.spacing_mm == Approx(60.0));
  CHECK(classes[0].name == "50.8 mm, 50 % open every 60 mm");
  CHECK(classes[1].name == "tall");
  CHECK(classes[1].geometry.length_mm == Approx(304.8));
}

TEST_CASE("scenario: a material of one's own", "[scenario]") {
  const Scenario s = read(
      "[weather]\nfile = \"w.csv\"\n[harvest]\ndate = 2012-10-20\nresidue = \"5 t/ha\"\nmaterial = \"own\"\n"
      "[component.stem]\nmass_share = 0.7\nnitrogen = \"8 g/kg\"\n[component.blade]\nmass_share = 0.3\n"
      "shape = \"sheet\"\n");
  CHECK(s.treatments[0].parameters.component_names == std::vector<std::string>{"stem", "blade"});
  CHECK(s.treatments[0].parameters.components[0].nitrogen == Approx(0.008));
  CHECK(pieces_of(s.treatments[0], "blade").shape == Shape::sheet);
}

TEST_CASE("scenario: what is wrong in every treatment is told once", "[scenario]") {
  const Scenario s = read(field + "[[later_harvest]]\ndate = 2092-10-20\n[treatment.a]\n[treatment.b]\n");
  REQUIRE(s.warnings.size() == 1);
  CHECK_THAT(s.warnings[0], contains("the harvest of 2092-10-20 is left out"));
}

TEST_CASE("scenario: residue as poor in N as the table allows is taken as it is", "[scenario]") {
  // straw of C:N 270 (Angers and Recous 1997, read in the abstract), and poorer
  const Scenario s = read(field + "[component.stalk]\nnitrogen = \"1 g/kg\"\n");
  CHECK(s.warnings.empty());
}

TEST_CASE("scenario: whatever is done to a file, it reads or names its mistakes", "[scenario][mutations]") {
  const std::string demo = slurp(source_dir() / "scenarios/examples/hollow-creek.toml");
  boost::random::mt19937 random(20261020);
  const auto below = [&](std::size_t n) {
    return boost::random::uniform_int_distribution<std::size_t>(0, n - 1)(random);
  };
  const std::vector<std::string> scraps = {"\"",         "[",          "]",           "[[",
                                           "=",          "\n",         "nan",         "-inf",
                                           "1e400",      "{",          "}",           "@",
                                           ".",          "#",          "\xC3",        "\xFF",
                                           "00",         "-",          "%",           "like = \"opened\"\n",
                                           "\"60 ton\"", "2013-02-30", "[treatment.", "add_event",
                                           "\\u0000",    "'''"};
  int read_well = 0, refused = 0;
  for (int i = 0; i < 3000; ++i) {
    std::string text = demo;
    for (std::size_t n = 0; n <= below(4); ++n) {
      const std::size_t at = below(text.size()), to = at + below(std::min<std::size_t>(30, text.size() - at));
      switch (below(5)) {
        case 0:
          text.erase(at, to - at);
          break;
        case 1:
          text.insert(at, scraps[below(scraps.size())]);
          break;
        case 2:
          text[at] = static_cast<char>(below(256));
          break;
        case 3:
          text.insert(below(text.size()), text.substr(at, to - at));
          break;
        default:
          std::swap(text[at], text[to]);
          break;
      }
    }
    try {
      read_scenario(text, "mutated.toml", {});
      ++read_well;
    } catch (const InputError& error) {
      ++refused;
      CHECK_FALSE(error.mistakes.empty());
      for (const Mistake& m : error.mistakes) {
        if (m.message.empty() || m.at.source != "mutated.toml" || m.at.line < 1 || m.at.column < 1) {
          UNSCOPED_INFO(error.what());
          CHECK(false);
        }
      }
    } catch (const std::exception& error) {
      FAIL_CHECK("not an InputError: " << error.what() << "\n" << text);
    }
  }
  // both happen often, else the mutations try nothing
  CHECK(read_well > 100);
  CHECK(refused > 1000);
}
