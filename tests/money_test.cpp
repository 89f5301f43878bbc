/// Prices, costs, bales, discounting.
#include "scenarios/results/money.hpp"
#include "scenarios/results/compare.hpp"
#include "scenarios/results/run_scenario.hpp"
#include "scenarios/results/table_print.hpp"
#include "scenarios/units/oxides.hpp"
#include "tests/catch.hpp"
#include "tests/mistakes_in.hpp"

using namespace stoverturn;

namespace {

// NIST Handbook 44, Appendix C; the acre of 4840 square yards
constexpr double lb = 453.59237, acre = 4046.8564224, hectare = 10000.0, lb_acre = lb / acre;
// IUPAC 2021 standard atomic weights, abridged; O is the conventional value of its interval
constexpr double P = 30.973761998, K = 39.0983, O = 15.999;
constexpr double P2O5_to_P = 2 * P / (2 * P + 5 * O), K2O_to_K = 2 * K / (2 * K + O);

const std::string prices =
    "[prices]\nnitrogen = \"0.60 $/lb\"\nphosphate = \"0.65 $/lb\"\npotash = \"0.45 $/lb\"\nsulfur = \"0.50 "
    "$/lb\"\n";

/// 10 t/ha in a jar, of which 8 lie open, for 60 days.
std::string jar(const std::string& more) {
  return "duration = \"60 d\"\n[conditions]\ntemperature = \"15 degC\"\n[harvest]\ndate = 2012-10-20\n"
         "residue = \"10 t/ha\"\nplacement = { standing = \"20 %\", surface = \"60 %\", buried = \"20 %\" "
         "}\n" +
         more;
}
std::string event(const std::string& keys) { return "[[event]]\nafter_harvest = \"10 d\"\n" + keys; }
std::string pass(const std::string& keys) {
  return event("kind = \"tillage\"\nknock_down = \"0 %\"\n" + keys);
}
std::string uan(const std::string& keys) {
  return event("kind = \"fertiliser\"\nproduct = \"UAN 28\"\nrate = \"20 gal/acre\"\n" + keys);
}
std::string bale(const std::string& keys) { return event("kind = \"removal\"\ntake = \"50 %\"\n" + keys); }

Results run(const std::string& text) { return run_scenario(read_scenario(text, "jar.toml", {}), {}, {}); }
std::string mistakes_of(const std::string& text) {
  return mistakes_in([&] { read_scenario(text, "jar.toml", {}); });
}
double at_end(const Results& r, const char* series, double area = acre) {
  return area * r.find(series).values.at(r.extent(Dimension::time) - 1);
}
/// What was spent, $/acre.
double spent(const std::string& text) { return at_end(run(jar(text)), "cost_spent"); }
bool has_note(const Results& r, const std::string& note) {
  return std::count(r.notes.begin(), r.notes.end(), note) == 1;
}

}  // namespace

TEST_CASE("money: P2O5 and K2O by atomic weights", "[money]") {
  // the trade's factors have four digits, cut off in one and rounded in the other: within one of the last
  CHECK(std::abs(P_in_P2O5 - P2O5_to_P) < 1e-4);
  CHECK(std::abs(K_in_K2O - K2O_to_K) < 1e-4);
  CHECK(as_P2O5(P_in_P2O5) == Approx(1.0));
  CHECK(as_K2O(K_in_K2O) == Approx(1.0));
}

TEST_CASE("money: a value table by hand", "[money]") {
  // $/acre               N              P2O5          K2O            S
  // year 1, total   -20 x 0.60     8 x 0.65     80 x 0.45     1 x 0.50     = -12.00 + 5.20 + 36.00 + 0.50
  // = 29.70 year 2, total    -8 x 0.60     9 x 0.65    100 x 0.45     2 x 0.50     =  -4.80 + 5.85 + 45.00
  // + 1.00 = 47.05
  const Prices price = read_scenario(jar(prices), "jar.toml", {}).prices;
  const auto value = [&](double N, double P2O5, double K2O, double S) {
    return acre * nutrient_value(price, N * lb_acre, P2O5 * lb_acre * P2O5_to_P, K2O * lb_acre * K2O_to_K,
                                 S * lb_acre);
  };
  // four digits of the oxides: 1.2e-4 of their share
  CHECK(value(-20, 8, 80, 1) == Approx(29.70).margin(0.005));
  CHECK(value(-8, 9, 100, 2) == Approx(47.05).margin(0.005));

  // released on day 365 and day 730, at 5 %: 1.05^(-365/365.25) = 0.952413, 1.05^(-730/365.25) = 0.907090
  //   29.70 x 0.952413 = 28.2867;  47.05 - 29.70 = 17.35,  17.35 x 0.907090 = 15.7380;  together 44.0247
  std::vector<double> total(731, 0.0);
  std::fill(total.begin() + 365, total.begin() + 730, 29.70);
  total[730] = 47.05;
  const std::vector<double> now = discounted(total, 0.05);
  CHECK(now[364] == 0.0);
  CHECK(now[365] == Approx(28.2867).margin(1e-4));
  CHECK(now[729] == Approx(28.2867).margin(1e-4));
  CHECK(now[730] == Approx(44.0247).margin(1e-4));
}

TEST_CASE("money: what is held back first and released later is a loan", "[money]") {
  // 10 tied up on day 0, given back on day 1461, four years of 365.25 days: -10 + 10/1.05^4 = -1.77298
  std::vector<double> total(1462, -10.0);
  total.back() = 0.0;
  CHECK(discounted(total, 0.05).back() == Approx(-1.77298).margin(1e-5));
}

TEST_CASE("money: without interest discounted is the same", "[money]") {
  const Results r =
      run(jar(prices + "[costs]\ntillage = \"9 $/acre\"\n" + pass("") + bale("price = \"40 $/t\"\n")));
  const Results later = run(jar(prices + "interest = \"8 %\"\n[costs]\ntillage = \"9 $/acre\"\n" + pass("") +
                                bale("price = \"40 $/t\"\n")));
  for (const char* name : {"value_released", "cost_spent", "bales_sold", "net_value"}) {
    CHECK(r.find(std::string(name) + "_discounted").values == r.find(name).values);
    CHECK(later.find(name).values == r.find(name).values);
  }
  // ten days after the start: 1.08^(-10/365.25)
  CHECK(at_end(later, "cost_spent_discounted") == Approx(9.0 * std::pow(1.08, -10.0 / 365.25)));
}

TEST_CASE("money: passes and their costs", "[money]") {
  const std::string costs =
      "[costs]\ntillage = \"9 $/acre\"\n\"roller\" = \"5 $/acre\"\n\"hired\" = \"11 $/acre\"\n";
  const std::string hired = pass("pass = \"hired\"\n");
  CHECK(spent(costs + hired + pass("")) == Approx(11.0 + 9.0));
  CHECK(spent(costs + hired + pass("implement = \"Roller\"\n")) == Approx(11.0 + 5.0));
  CHECK(spent(costs + hired + pass("implement = \"roller\"\ncost = \"20 $/ha\"\n")) ==
        Approx(11.0 + 20.0 * acre / hectare));
  // two halves of a pass on one day are the whole
  CHECK(spent(pass("cost = \"8 $/acre\"\n")) ==
        Approx(spent(pass("cost = \"5 $/acre\"\n") + pass("cost = \"3 $/acre\"\n"))));
  CHECK(at_end(run(jar("cost = \"4 $/acre\"\n")), "cost_spent") == Approx(4.0));  // under [harvest]

  const Results r = run(jar(pass("cost = \"8 $/acre\"\n")));
  CHECK(r.find("cost_spent").values.at(9) == 0.0);
  CHECK(acre * r.find("cost_spent").values.at(10) == Approx(8.0));
}

TEST_CASE("money: what is spread costs its nutrients or its price", "[money]") {
  const std::string costs = prices + "[costs]\nspreading = \"7 $/acre\"\n";
  // 20 gal of 10.67 lb are 213.4 lb, 28 % N: 59.752 lb x 0.60 = 35.8512
  CHECK(spent(costs + uan("")) == Approx(35.8512 + 7.0));
  CHECK(spent(costs + uan("price_of_nitrogen = \"0.50 $/lb\"\n")) == Approx(29.876 + 7.0));
  // 213.4 lb at 300 $ a short ton
  CHECK(spent(costs + uan("price = \"300 $/short ton\"\n")) == Approx(32.01 + 7.0));
  // 100 lb of 21-0-0-24S: 21 x 0.60 + 24 x 0.50
  CHECK(spent(costs + event("kind = \"fertiliser\"\nproduct = \"21-0-0-24S\"\nrate = \"100 lb/acre\"\n")) ==
        Approx(24.6 + 7.0));
  // what escapes is paid for
  CHECK(
      spent(
          costs +
          event(
              "kind = \"fertiliser\"\nproduct = \"82-0-0\"\nnitrogen = \"50 lb/acre\"\nlost = \"10 %\"\n")) ==
      Approx(30.0 + 7.0));
  // 8,000 lb of manure of 5 g/kg at 12 $ a short ton
  CHECK(spent(costs + event("kind = \"fertiliser\"\nproduct = \"manure\"\nrate = \"8000 lb/acre\"\n"
                            "nitrogen_content = \"5 g/kg\"\nammonium = \"60 %\"\nfirst_year = \"35 %\"\n"
                            "price = \"12 $/short ton\"\n")) == Approx(48.0 + 7.0));
}

TEST_CASE("money: bales are the mass removed times the price", "[money]") {
  // half of the 8 t/ha that lie open is 4 t/ha less ten days of decay; 50 and 20 $ a short ton of 907.18474
  // kg
  const std::string sale = prices + "bales = \"50 $/short ton\"\n[costs]\nbaling = \"20 $/short ton\"\n";
  const Results r = run(jar(sale + bale("")));
  const double short_tons_ha = at_end(r, "residue_removed", hectare) / 907184.74;
  REQUIRE(short_tons_ha > 3.5);
  REQUIRE(short_tons_ha < 4.5);
  CHECK(at_end(r, "bales_sold", hectare) == Approx(50.0 * short_tons_ha));
  CHECK(at_end(r, "cost_spent", hectare) == Approx(20.0 * short_tons_ha));

  // a bale of 1000 lb is half a short ton
  const Results bales =
      run(jar(prices + "bale = \"1000 lb\"\nbales = \"25 $\"\n[costs]\nbaling = \"10 $\"\n" + bale("")));
  CHECK(at_end(bales, "bales_sold") == Approx(at_end(r, "bales_sold")));
  CHECK(at_end(bales, "cost_spent") == Approx(at_end(r, "cost_spent")));

  // two takes of a day are one sale
  const Results twice = run(jar(sale + event("kind = \"removal\"\nfrom = \"standing\"\ntake = \"50 %\"\n") +
                                event("kind = \"removal\"\nfrom = \"surface\"\ntake = \"50 %\"\n")));
  CHECK(at_end(twice, "bales_sold") == Approx(at_end(r, "bales_sold")));

  const Results kept = run(jar(sale + bale("sold = false\n")));
  CHECK(at_end(kept, "bales_sold") == 0.0);
  CHECK(at_end(kept, "cost_spent") == Approx(at_end(r, "cost_spent")));
  const Results grazed = run(jar(sale + bale("returned = \"80 %\"\n")));
  CHECK(at_end(grazed, "bales_sold") == 0.0);
  CHECK(at_end(grazed, "cost_spent") == 0.0);
}

TEST_CASE("money: net value counts each nutrient once", "[money]") {
  const std::string sale = prices + "bales = \"50 $/t\"\n[costs]\nbaling = \"20 $/t\"\n";
  const Results left = run(jar(sale)), baled = run(jar(sale + bale("")));
  for (std::size_t d = 0; d < baled.extent(Dimension::time); ++d) {
    const auto on = [&](const char* name) { return baled.find(name).values.at(d); };
    CHECK(on("net_value") ==
          Approx(on("value_released") + on("bales_sold") - on("cost_spent")).margin(1e-12));
  }
  // K: what was released, what is left and what went with the bales is what was there
  const auto all_K = [](const Results& r) {
    return at_end(r, "potassium_released") + at_end(r, "potassium_in_residue") +
           at_end(r, "potassium_removed");
  };
  CHECK(at_end(baled, "potassium_removed") > 0.0);
  CHECK(all_K(baled) == Approx(all_K(left)));
}

TEST_CASE("money: by year of release, and in grain", "[money]") {
  const std::string years = "duration = \"3 years\"\n" + jar("").substr(jar("").find('\n') + 1);
  const Results r =
      run(years + prices + "interest = \"6 %\"\ngrain = \"4.40 $/bu\"\n" + pass("cost = \"22 $/acre\"\n"));
  const std::vector<double>& of_year = r.find("value_released_of_year").values;
  double sum = 0.0;
  std::size_t ends = 0;
  for (std::size_t c = 0; c < r.checkpoints.size(); ++c) {
    if (!r.checkpoints[c].starts_with("year ")) {
      CHECK(std::isnan(of_year[c]));
      continue;
    }
    sum += of_year[c];
    ++ends;
    CHECK(sum == Approx(r.find("value_released_discounted_at").values[c]));
  }
  CHECK(ends == 3);
  // 22 $ are five bushels of 56 lb
  CHECK(r.find("grain_to_pay_costs").values.at(0) == Approx(5.0 * 56.0 * lb_acre));
  CHECK(std::isnan(run(jar(prices)).find("grain_to_pay_costs").values.at(0)));
}

TEST_CASE("money: the notes name what is a placeholder and what counts as 0", "[money]") {
  const Results none = run(jar(pass("") + pass("implement = \"roller\"\n") + uan("") + bale("")));
  CHECK(has_note(none,
                 "Prices of nitrogen, phosphate, potash and sulfur are placeholders, not today's; write your "
                 "own under [prices]."));
  CHECK(has_note(
      none,
      "No money is written for tillage, a pass with 'roller', spreading, baling and bales sold: "
      "counted as 0. Write it under [costs] or [prices], or cost = \"0 $/acre\" on an event that has "
      "none."));
  const Results one = run(jar(prices.substr(0, prices.find("sulfur"))));
  CHECK(has_note(one, "The price of sulfur is a placeholder, not today's; write your own under [prices]."));
  const Results all = run(jar(prices + pass("cost = \"0 $/acre\"\n")));
  for (const std::string& note : all.notes) {
    INFO(note);
    CHECK(note.find("placeholder") == std::string::npos);
    CHECK(note.find("No money") == std::string::npos);
  }
}

TEST_CASE("money: the table and the comparison show it", "[money]") {
  const std::string text =
      jar(prices + "interest = \"6 %\"\n" +
          "[treatment.left]\n[treatment.passed]\n[[treatment.passed."
          "add_event]]\nkind = \"tillage\"\nafter_harvest = \"10 d\"\nknock_down = \"0 %\"\n"
          "cost = \"40 $/ha\"\n");
  const Results r = run(text);
  const std::string table = printed_table(r);
  CHECK_THAT(table, Matchers::Contains("Money by the end, $/ha           released  taken off      bales      "
                                       "costs        net discounted\n"));
  CHECK_THAT(table, Matchers::Contains("\ncosts, $/ha                      40.0\n"));
  CHECK_THAT(table, Matchers::Contains("Discounted: later money at 6 % a year, to 2012-10-20."));
  CHECK(printed_table(run(jar(prices))).find("Money by") == std::string::npos);

  const Comparison c = compare(run(jar(prices)), run(jar(prices + pass("cost = \"40 $/ha\"\n"))));
  const auto net = std::find_if(c.numbers.begin(), c.numbers.end(),
                                [](const ComparedNumber& n) { return n.name == "net_value, end"; });
  REQUIRE(net != c.numbers.end());
  CHECK(net->b - net->a == Approx(-40.0));
  CHECK(net->unit == "$/ha");
}

TEST_CASE("money: mistakes", "[money]") {
  const std::pair<std::string, const char*> cases[] = {
      {"[costs]\ntillage = \"12 $/ac/yr\"\n",
       "jar.toml:9:15: tillage: unknown unit '$/ac/yr' of money per area; known are $/acre, $/ha, $/m2"},
      {"[costs]\ntillage = \"-12 $/acre\"\n",
       "jar.toml:9:11: tillage: found '-12 $/acre'; wanted at least 0 $/acre"},
      {"[prices]\nnitrogen = \"-0.60 $/lb\"\n",
       "jar.toml:9:12: nitrogen: found '-0.60 $/lb'; wanted at least 0 $/lb"},
      {"[prices]\ninterest = \"140 %\"\n",
       "jar.toml:9:12: interest: found '140 %'; wanted from 0 % to 100 %"},
      {"[prices]\nbales = \"4.50 $/bu\"\n",
       "bales: '$/bu' is a unit of price of grain: wanted a price per mass with its unit, such as 0.60 $/lb"},
      {"[costs]\n\"stalk choper\" = \"12 $/acre\"\n",
       "jar.toml:9:1: costs: 'stalk choper' is no implement, and no event has pass = \"stalk choper\"; did "
       "you mean "
       "'stalk chopper'?"},
      {"[costs]\nspreding = \"12 $/acre\"\n", "did you mean 'spreading'?"},
      {"[costs]\n\"hired\" = \"12 $/acre\"\n" + pass("pass = \"hird\"\n"),
       "pass: no cost is called 'hird' under [costs]; did you mean 'hired'?"},
      {pass("pass = \"hired\"\n"),
       "pass: no cost is called 'hired' under [costs]; write \"hired\" = \"12 $/acre\" there"},
      {"[prices]\nbales = \"22 $\"\n",
       "bales: found '22 $', of one bale; say how much dry matter a bale holds, as bale = \"1000 lb\" under "
       "[prices], or "
       "write money per mass, such as \"50 $/short ton\""},
      {"[prices]\ncurrency = \"EUR\"\n" + pass("cost = \"12 $/ha\"\n"),
       "jar.toml:14:8: cost: found '12 $/ha'; the currency of this file is EUR, write all money in one "
       "(currency = "
       "\"EUR\" under [prices])"},
      {pass("cost = \"12 $/ha\"\npass = \"hired\"\n"), "pass: found with `cost`; keep one of the two"},
      {uan("price = \"300 $/t\"\nprice_of_nitrogen = \"0.6 $/lb\"\n"),
       "price: found with `price_of_nitrogen`; keep one of the two"},
      {event("kind = \"fertiliser\"\nnitrogen = \"40 lb/acre\"\nnitrate = \"100 %\"\nprice = \"300 $/t\"\n"),
       "price: needs `product`, which says how much N it holds"},
      {bale("price = \"40 $/t\"\nsold = false\n"), "price: found with sold = false; keep one of the two"},
      {bale("price = \"40 $/t\"\n") + bale("price = \"50 $/t\"\n"),
       "two removals on 2012-10-30 have different prices or costs per mass; put them on two days"},
      {pass("price = \"40 $/t\"\n"), "unknown key `price` in [[event]]"},
  };
  for (const auto& [text, wanted] : cases) {
    INFO(text);
    CHECK_THAT(mistakes_of(jar(text)), Matchers::Contains(wanted));
  }
}

TEST_CASE("money: the currency is that of the file", "[money]") {
  CHECK(read_scenario(jar("[prices]\nnitrogen = \"1.20 \u20ac/kg\"\n"), "j", {}).currency == "EUR");
  CHECK(read_scenario(jar("[prices]\nnitrogen = \"1.20 /kg\"\n"), "j", {}).currency == "$");
  CHECK(read_scenario(jar("[prices]\ncurrency = \"CAD\"\nnitrogen = \"1.20 $/kg\"\n"), "j", {}).currency ==
        "CAD");
  CHECK(read_scenario(jar(pass("cost = \"900 INR/acre\"\n")), "j", {}).currency == "INR");
}
