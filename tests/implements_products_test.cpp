#include "scenarios/plan/implements.hpp"

#include <set>
#include <utility>

#include <fmt/format.h>

#include "scenarios/plan/products.hpp"
#include "scenarios/results/run_scenario.hpp"
#include "tests/catch.hpp"
#include "tests/mistakes_in.hpp"

using namespace stoverturn;

namespace {

constexpr double lb_acre = 453.59237 / 4046.8564224;  // g m-2

/// Six lines that are in order; what a test adds begins on line 7.
const std::string field =
    "duration = \"60 d\"\n[conditions]\ntemperature = \"15 degC\"\n"
    "[harvest]\ndate = 2012-10-20\nresidue = \"9 t/ha\"\n";

std::string tillage(const std::string& date, const std::string& keys) {
  return "[[event]]\nkind = \"tillage\"\ndate = " + date + "\n" + keys + "\n";
}
std::string spread(const std::string& keys) {
  return "[[event]]\nkind = \"fertiliser\"\ndate = 2012-11-01\n" + keys + "\n";
}

Scenario read(const std::string& text) { return read_scenario(text, "jar.toml", {}); }

TillagePlan pass(const std::string& text, std::size_t event = 0) {
  return std::get<TillagePlan>(read(text).treatments.at(0).events.at(event));
}
Fertiliser<double> amounts(const std::string& keys, const std::string& more = "") {
  return std::get<FertiliserPlan>(read(field + more + spread(keys)).treatments.at(0).events.at(0)).amounts;
}

std::string mistakes_of(const std::string& text) {
  return mistakes_in([&] { read(text); });
}

void check(const std::vector<std::pair<std::string, std::string>>& cases) {
  for (const auto& [text, wanted] : cases) {
    INFO(text);
    CHECK(mistakes_of(text) == wanted);
  }
}

const ImplementRow& implement(const char* name) {
  const ImplementRow* row = find_implement(name);
  REQUIRE(row != nullptr);
  return *row;
}
const ProductRow& product(const char* name) {
  const ProductRow* row = find_product(name);
  REQUIRE(row != nullptr);
  return *row;
}

}  // namespace

TEST_CASE("implements: each is named once, with shares that can be and a source for each", "[implements]") {
  std::set<std::string_view> names;
  for (const ImplementRow& row : implement_table()) {
    INFO(row.name);
    CHECK(names.insert(row.name).second);
    for (const double share : {row.knock_down, row.left, row.left_fragile}) {
      CHECK(share >= 0.0);
      CHECK(share <= 1.0);
    }
    CHECK(row.left_fragile <= row.left);  // fragile residue is buried at least as easily
    CHECK_FALSE(row.knock_down_source.empty());
    CHECK_FALSE(row.left_source.empty());
    CHECK_FALSE(row.fragile_source.empty());
  }
}

TEST_CASE("implements: published shares left after one pass", "[implements]") {
  // Textbook table 16-15, as quoted in a dictionary, read in that quotation; percent
  CHECK(implement("moldboard plow").left == 0.05);
  CHECK(implement("lister").left == 0.20);
  CHECK(implement("tandem disk, deep").left == 0.25);     // 6 in
  CHECK(implement("tandem disk, shallow").left == 0.50);  // 3 in
  CHECK(implement("spring-tooth harrow").left == 0.60);
  CHECK(implement("spike-tooth harrow").left == 0.70);
  CHECK(implement("sweeps").left == 0.90);
  // Ranges of USDA and EMI 1992 for non-fragile and fragile residue, percent, from memory
  const std::tuple<const char*, double, double, double, double> ranges[] = {
      {"moldboard plow", 0, 10, 0, 5},
      {"chisel, straight points", 60, 80, 40, 60},
      {"chisel, twisted points", 50, 70, 30, 40},
      {"offset disk", 25, 50, 10, 25},
      {"tandem disk, shallow", 40, 70, 25, 40},
      {"field cultivator", 60, 80, 55, 75},
      {"anhydrous applicator knife", 75, 85, 45, 70},
      {"no-till planter", 85, 95, 75, 85}};
  for (const auto& [name, low, high, fragile_low, fragile_high] : ranges) {
    INFO(name);
    CHECK(100.0 * implement(name).left >= low);
    CHECK(100.0 * implement(name).left <= high);
    CHECK(100.0 * implement(name).left_fragile >= fragile_low);
    CHECK(100.0 * implement(name).left_fragile <= fragile_high);
  }
}

TEST_CASE("implements: published shares of standing stalks knocked down", "[implements]") {
  // Wagner and Nelson 1995, read in the abstract
  CHECK(implement("sweeps").knock_down == 0.07);
  CHECK(implement("chisel, straight points").knock_down == 0.29);
  CHECK(implement("chisel, twisted points").knock_down == 0.76);
  for (const char* disk : {"tandem disk, shallow", "tandem disk, deep"}) {
    CHECK(implement(disk).knock_down >= 0.89);
  }
}

TEST_CASE("implements: the file's words take the table's shares, and its own go before them",
          "[implements][scenario]") {
  const TillagePlan chisel = pass(field + tillage("2012-11-10", "implement = \"Chisel, straight points\""));
  CHECK(chisel.knock_down == 0.29);
  CHECK(chisel.bury == Approx(0.30));
  CHECK(chisel.bring_up == 0.0);
  const TillagePlan own = pass(field + tillage("2012-11-10",
                                               "implement = \"chisel, straight points\"\nbury = \"45 %\"\n"
                                               "knock_down = \"80 %\"\nbring_up = \"5 %\""));
  CHECK(own.knock_down == 0.80);
  CHECK(own.bury == 0.45);
  CHECK(own.bring_up == 0.05);
  const TillagePlan shredder =
      pass(field + tillage("2012-11-10",
                           "implement = \"stalk shredder\"\nrecut = { stalk = { cut_length = \"50 mm\" } }"));
  CHECK(shredder.bury == 0.0);
  CHECK(shredder.knock_down > 0.9);
  CHECK(shredder.recuts.at(0).cut_length_mm == 50.0);
}

TEST_CASE("implements: fragile residue by material, or said in the file", "[implements][scenario]") {
  const std::string chisel = "implement = \"chisel, straight points\"";
  const std::string soybean = field + "material = \"soybean\"\n";
  CHECK(pass(field + tillage("2012-11-10", chisel)).bury == Approx(0.30));
  CHECK(pass(soybean + tillage("2012-11-10", chisel)).bury == Approx(0.50));
  CHECK(pass(field + tillage("2012-11-10", chisel + "\nfragile = true")).bury == Approx(0.50));
  CHECK(pass(soybean + tillage("2012-11-10", chisel + "\nfragile = false")).bury == Approx(0.30));
  for (const char* material : {"corn", "wheat straw", "sorghum", "own"}) CHECK_FALSE(is_fragile(material));
}

TEST_CASE("implements: a later pass of the same year after harvest buries less", "[implements][scenario]") {
  const std::string fall = tillage("2012-11-10", "implement = \"chisel, straight points\"");
  const std::string spring = tillage("2013-04-28", "implement = \"field cultivator\"");
  const double whole = 1.0 - implement("field cultivator").left;
  CHECK(pass(field + spring).bury == Approx(whole));
  // whatever the order in the file; below what the table says
  for (const std::string& both : {fall + spring, spring + fall}) {
    CHECK(pass(field + both, 0).bury == Approx(0.30));
    CHECK(pass(field + both, 1).bury == Approx(later_pass * whole));
  }
  CHECK(later_pass < 1.0);
  SECTION("not where the file says how much") {
    CHECK(pass(field + fall + tillage("2013-04-28", "implement = \"field cultivator\"\nbury = \"20 %\""), 1)
              .bury == 0.20);
  }
  SECTION("not in the next year after harvest") {
    CHECK(pass(field + fall + tillage("2013-11-10", "implement = \"field cultivator\""), 1).bury ==
          Approx(whole));
  }
  SECTION("not after a pass that buries nothing") {
    CHECK(pass(field + tillage("2012-11-01", "implement = \"roller\"") + spring, 1).bury == Approx(whole));
  }
  SECTION("after a pass in the file's own numbers too") {
    CHECK(pass(field + tillage("2012-11-01", "bury = \"10 %\"") + spring, 1).bury ==
          Approx(later_pass * whole));
  }
}

TEST_CASE("implements: what a pass brings back up leaves the buried and lies on the surface",
          "[implements][scenario]") {
  const auto lying = [](const Results& r, std::size_t placement, std::size_t day) {
    return r.find("dry_matter_by_placement").values.at(placement * r.extent(Dimension::time) + day);
  };
  const std::string buried = field + "placement = { buried = \"100 %\" }\n";
  const Results without = run_scenario(read(buried), {}, {});
  const Results with = run_scenario(read(buried + tillage("2012-10-30", "bring_up = \"20 %\"")), {}, {});
  const std::size_t day = 10;
  const double there = lying(without, 2, day);
  REQUIRE(there > 100.0);
  CHECK(lying(with, 1, day - 1) == 0.0);
  // shares of what lay there that instant; the two runs step to it alike but for the tolerance of 1e-7
  CHECK(lying(with, 1, day) == Approx(0.2 * there).epsilon(1e-5));
  CHECK(lying(with, 2, day) == Approx(0.8 * there).epsilon(1e-5));
  // g m-2 of carbon, nitrogen, phosphorus, potassium and sulfur: round-off of pools of hundreds
  CHECK(with.find("balance_error").values.at(0) < 1e-8);
}

TEST_CASE("products: contents do not pass those of the pure substance", "[products]") {
  // molar masses: IUPAC. A grade is a whole percent at or below what the substance holds; prills are coated,
  // so up to 3 % of it lower.
  constexpr double N = 14.007, H = 1.008, O = 15.999, C = 12.011, S = 32.06;
  const std::tuple<const char*, double, double> pure[] = {
      {"ammonium sulfate", 2 * N, 2 * N + 8 * H + S + 4 * O},
      {"urea", 2 * N, 2 * N + 4 * H + C + O},
      {"anhydrous ammonia", N, N + 3 * H},
      {"ammonium nitrate", 2 * N, 2 * N + 4 * H + 3 * O}};
  for (const auto& [name, nitrogen, mass] : pure) {
    INFO(name);
    CHECK(product(name).nitrogen <= nitrogen / mass);
    CHECK(product(name).nitrogen >= 0.97 * nitrogen / mass);
  }
  CHECK(product("ammonium sulfate").sulfur == Approx(S / (2 * N + 8 * H + S + 4 * O)).epsilon(0.03));
  for (const ProductRow& row : product_table()) {
    INFO(row.name);
    CHECK(row.urea + row.ammonium + row.nitrate == 1.0);
    CHECK_FALSE(row.content_source.empty());
    CHECK_FALSE(row.form_source.empty());
    CHECK_FALSE(row.density_source.empty());
  }
}

TEST_CASE("products: pounds of N in a gallon", "[products]") {
  // Purdue: 3 lb N in a gallon of UAN 28, read in the source, to a whole pound's tenth
  CHECK(product("UAN 28").nitrogen * product("UAN 28").density_lb_gal == Approx(3.0).epsilon(0).margin(0.05));
  // 3.5 lb N in a gallon of UAN 32 and 4.2 of anhydrous ammonia: common practice, no source
  CHECK(product("UAN 32").nitrogen * product("UAN 32").density_lb_gal == Approx(3.5).epsilon(0).margin(0.05));
  CHECK(product("82-0-0").nitrogen * product("82-0-0").density_lb_gal == Approx(4.2).epsilon(0).margin(0.05));
}

TEST_CASE("products: a rate of product, or of N, becomes its forms", "[products][scenario]") {
  // 20 gal of 10.67 lb with 28 % N: 59.75 lb, half of it urea (by hand)
  const Fertiliser<double> uan = amounts("product = \"uan 28\"\nrate = \"20 gal/acre\"");
  CHECK(uan.urea_N == Approx(59.752 / 2 * lb_acre).epsilon(1e-9));
  CHECK(uan.ammonium_N == Approx(59.752 / 4 * lb_acre).epsilon(1e-9));
  CHECK(uan.nitrate_N == Approx(59.752 / 4 * lb_acre).epsilon(1e-9));
  CHECK(uan.sulfur == 0.0);
  CHECK(uan.on_surface);
  // 100 L/ha of 11.06 lb/gal, 1.32527 kg/L, with 32 % N: 42.41 kg/ha (by hand)
  const Fertiliser<double> metric = amounts("product = \"32-0-0\"\nrate = \"100 L/ha\"");
  CHECK(metric.urea_N + metric.ammonium_N + metric.nitrate_N == Approx(4.2409).epsilon(1e-4));
  // 150 lb of 21-0-0-24S: 31.5 lb N and 36 lb S (by hand), by product and by N alike
  for (const char* keys : {"product = \"ammonium sulfate\"\nrate = \"150 lb/acre\"",
                           "product = \"21-0-0-24s\"\nnitrogen = \"31.5 lb N/acre\""}) {
    const Fertiliser<double> ams = amounts(keys);
    CHECK(ams.ammonium_N == Approx(31.5 * lb_acre).epsilon(1e-9));
    CHECK(ams.sulfur == Approx(36.0 * lb_acre).epsilon(1e-9));
    CHECK(ams.urea_N + ams.nitrate_N == 0.0);
  }
  const Fertiliser<double> nitrate = amounts("product = \"ammonium nitrate\"\nrate = \"100 kg/ha\"");
  CHECK(nitrate.ammonium_N == Approx(1.7));
  CHECK(nitrate.nitrate_N == Approx(1.7));
  const Fertiliser<double> ammonia = amounts("product = \"anhydrous ammonia\"\nnitrogen = \"140 lb/acre\"");
  CHECK(ammonia.ammonium_N + ammonia.lost_N == Approx(140.0 * lb_acre));
  CHECK_FALSE(ammonia.on_surface);
  CHECK_FALSE(amounts("product = \"urea\"\nrate = \"9 g/m2\"\nplacement = \"buried\"").on_surface);
}

TEST_CASE("implements and products: mistakes", "[implements][products][mistakes]") {
  check({
      {field + tillage("2012-11-10", "implement = \"chisel, strait points\""),
       "jar.toml:10:13: implement: found 'chisel, strait points'; did you mean 'chisel, straight points'?"},
      {field + tillage("2012-11-10", "implement = \"stalk shredder\""),
       "jar.toml:10:13: implement: a stalk shredder cuts; say how short, as recut = { stalk = { cut_length = "
       "\"3 in\" } }"},
      {field + tillage("2012-11-10", "note = \"none\""),
       "jar.toml:8:8: kind: a tillage event needs an implement, or at least one of knock_down, bury, "
       "bring_up "
       "and recut"},
      {field + tillage("2012-11-10", "bring_up = \"105 %\""),
       "jar.toml:10:12: bring_up: found '105 %'; wanted from 0 % to 100 %"},
      {field + spread("product = \"amonium sulfate\"\nrate = \"150 lb/acre\""),
       "jar.toml:10:11: product: found 'amonium sulfate'; did you mean 'ammonium sulfate'?"},
      {field + spread("product = \"potash\"\nrate = \"150 lb/acre\""),
       "jar.toml:10:11: product: found 'potash'; wanted one of 'ammonium sulfate', 'urea', 'urea with "
       "inhibitor', 'UAN 28', 'UAN 32', 'anhydrous ammonia', 'ammonium nitrate', 'manure'"},
      {field + spread("product = \"urea\"\nrate = \"20 gal/acre\""),
       "jar.toml:11:8: rate: found '20 gal/acre'; urea has no density here, write a mass such as \"150 "
       "lb/acre\""},
      {field + spread("product = \"UAN 28\"\nrate = \"20 gal/acer\""),
       "jar.toml:11:8: rate: found '20 gal/acer'; wanted UAN 28 by volume, such as \"20 gal/acre\" or \"200 "
       "L/ha\", or by mass, such as \"150 lb/acre\""},
      {field + spread("product = \"urea\"\nrate = \"20 lb/acre\"\nnitrogen = \"9 lb/acre\""),
       "jar.toml:11:8: rate: found with `nitrogen`; keep one of the two"},
      {field + spread("product = \"urea\""),
       "jar.toml:7:1: [[event]] lacks `nitrogen`; write nitrogen = \"60 lb/acre\", or rate = \"150 "
       "lb/acre\""},
      {field + spread("product = \"UAN 28\""),
       "jar.toml:7:1: [[event]] lacks `nitrogen`; write nitrogen = \"60 lb/acre\", or rate = \"20 "
       "gal/acre\""},
      {field + spread("product = \"UAN 28\"\nrate = \"20 gal/acre\"\nurea = \"50 %\""),
       "jar.toml:12:8: urea: found with `product`; UAN 28 says what it holds, leave this key out"},
      {field + spread("product = \"urea\"\nrate = \"3 t/ha\""),
       "jar.toml:11:8: rate: this is 1380 kg/ha of N; wanted at most 1000"},
      {field + spread("product = \"82-0-0\"\nnitrogen = \"140 lb/acre\"\nplacement = \"surface\""),
       "jar.toml:12:13: placement: found 'surface'; anhydrous ammonia is a gas in the open and goes into the "
       "soil: 'buried'"},
      {field + spread("product = \"urea with inhibitor\"\nrate = \"100 kg/ha\""),
       "jar.toml:7:1: [[event]] lacks `urea_loss`; write urea_loss = \"36 %\", its ammonia loss against "
       "plain "
       "urea, from its label or trials"},
      {field + spread("product = \"ammonium sulfate\"\nrate = \"100 kg/ha\"\nurea_loss = \"36 %\""),
       "jar.toml:12:13: urea_loss: found where there is no urea; leave this key out"},
      {field + spread("product = \"urea\"\nrate = \"100 kg/ha\"\nlost = \"95 %\""),
       "jar.toml:12:8: lost: found '95 %'; wanted from 0 % to 90 %"},
      {field + spread("product = \"manure\"\nnitrogen = \"90 kg/ha\"\nammonium = \"60 %\""),
       "jar.toml:7:1: [[event]] lacks `first_year`; write first_year = \"35 %\", the share of its organic N "
       "that "
       "becomes mineral in a year, or manure = \"cattle slurry\""},
      {field + spread("product = \"manure\"\nnitrogen = \"90 kg/ha\"\nammonium = \"60 %\"\nmanure = \"catle "
                      "slurry\""),
       "jar.toml:13:10: manure: found 'catle slurry'; did you mean 'cattle slurry'?"},
      {field + spread("rate = \"100 kg/ha\"\nurea = \"100 %\""),
       "jar.toml:10:8: rate: needs `product`, which says how much N it holds; or write nitrogen = \"60 "
       "lb/acre\""},
      {field + spread("product = \"manure\"\nrate = \"30 t/ha\""),
       "jar.toml:7:1: [[event]] lacks `nitrogen_content`; write nitrogen_content = \"5 g/kg\", of manure as "
       "spread, from its analysis\n"
       "jar.toml:7:1: [[event]] lacks `ammonium`; write ammonium = \"60 %\", the share of its N that is "
       "ammonium, from its analysis"},
  });
}

TEST_CASE("implements and products: the tables of the manual are those of the program", "[docs]") {
  const std::string page = slurp(source_dir() / "docs/file-formats.md");
  for (const ImplementRow& r : implement_table()) {
    CHECK_THAT(page, contains(fmt::format("| `{}` | {:.4g} % | {:.4g} % | {:.4g} % | {} | {} | {} |", r.name,
                                          100.0 * r.knock_down, 100.0 * r.left, 100.0 * r.left_fragile,
                                          r.knock_down_source, r.left_source, r.fragile_source)));
  }
  for (const ManureRow& r : manure_table()) {
    CHECK_THAT(page,
               contains(fmt::format("| `{}` | {:.0f} % | {} |", r.name, 100.0 * r.first_year, r.source)));
  }
  for (const ProductRow& r : product_table()) {
    CHECK_THAT(page, contains(fmt::format(
                         "| `{}` | {} | {:g} % | {:g}, {:g}, {:g} % | {:g} % | {} | {}; {}; {} |", r.name,
                         r.grade.empty() ? "" : fmt::format("`{}`", r.grade), 100.0 * r.nitrogen,
                         100.0 * r.urea, 100.0 * r.ammonium, 100.0 * r.nitrate, 100.0 * r.sulfur,
                         r.density_lb_gal > 0.0 ? fmt::format("{:g} lb/gal", r.density_lb_gal) : "",
                         r.content_source, r.form_source, r.density_source)));
  }
}
