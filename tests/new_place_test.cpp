#include "scenarios/plan/new_place.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <thread>

#include <fmt/format.h>

#include "fitting/quantile.hpp"
#include "fitting/unknown.hpp"
#include "scenarios/results/forward_bands.hpp"
#include "scenarios/results/parameter_page.hpp"
#include "scenarios/results/table_print.hpp"
#include "tests/catch.hpp"
#include "tests/mistakes_in.hpp"
#include "tests/nearly_same.hpp"

using namespace stoverturn;

namespace {

// quantile of the standard normal distribution at 0.95 and 0.75, any printed table (Abramowitz and Stegun
// 1964, table 26.5)
constexpr double z95 = 1.6448536270, z75 = 0.6744897502;

const ParameterRow& row_of(std::string_view name) {
  const ParameterRow* row = find_parameter(name);
  REQUIRE(row != nullptr);
  return *row;
}

std::size_t place_of(std::string_view name) {
  return static_cast<std::size_t>(&row_of(name) - parameter_table().data());
}

/// Spreads of these alone.
std::vector<double> spreads_of(const std::vector<std::pair<std::string, double>>& given) {
  std::vector<double> spreads(parameter_table().size(), 0.0);
  for (const auto& [name, spread] : given) spreads[place_of(name)] = spread;
  return spreads;
}

// in a jar: quick to run
const std::string jar =
    "duration = \"120 d\"\n"
    "[harvest]\ndate = 2012-10-20\nresidue = \"9 t/ha\"\n"
    "[conditions]\ntemperature = \"20 degC\"\n";
const std::string two = "[treatment.a]\n[treatment.b]\ncomponent.stalk.cut_length = \"5 cm\"\n";

Scenario read(const std::string& text, const std::vector<std::string>& overrides = {}) {
  return read_scenario(text, "farm.toml", overrides, {});
}

std::string mistakes_of(const std::string& text, const std::vector<std::string>& overrides = {}) {
  return mistakes_in([&] { read(text, overrides); });
}

/// Every parameter that has a spread in the table, but for `free`, set to its default.
std::vector<std::string> all_set(std::string_view free = "") {
  std::vector<std::string> set;
  for (const ParameterRow& row : parameter_table()) {
    if (row.spread > 0.0 && row.name != free) set.push_back(fmt::format("{}={}", row.name, row.value));
  }
  return set;
}

/// A component parameter that the table gives a spread and that is the same in all parts of corn.
const ParameterRow& a_spread_rate() {
  const ParameterRow& row = row_of("k_hol");
  REQUIRE(row.spread > 0.0);  // choose another, should trials not differ in it
  REQUIRE(row.fit == Fit::log);
  return row;
}

bool same(const Parameters<double>& a, const Parameters<double>& b) {
  return std::all_of(parameter_table().begin(), parameter_table().end(),
                     [&](const ParameterRow& row) { return at(a, row) == at(b, row); });
}

bool same(const std::vector<double>& a, const std::vector<double>& b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                    [](double x, double y) { return x == y || (std::isnan(x) && std::isnan(y)); });
}

bool has_note(const Results& r, const std::string& start) {
  return std::any_of(r.notes.begin(), r.notes.end(),
                     [&](const std::string& note) { return note.starts_with(start); });
}

}  // namespace

TEST_CASE("new place: quantiles of the normal distribution on the fit scale", "[scenario][place]") {
  // bounds six and more standard deviations away take less than 1e-8 of the distribution
  const ParameterRow& k = row_of("k_hol");
  CHECK(value_of_places(k, 0.35, 0.035, 0.95) == Approx(0.035 * std::exp(0.35 * z95)).epsilon(1e-8));
  CHECK(value_of_places(k, 0.35, 0.035, 0.05) == Approx(0.035 * std::exp(-0.35 * z95)).epsilon(1e-8));
  CHECK(value_of_places(k, 0.35, 0.035, 0.5) == Approx(0.035).epsilon(1e-8));
  const ParameterRow& contact = row_of("contact");
  const double odds = 0.17 / 0.83 * std::exp(0.8 * z95);
  CHECK(value_of_places(contact, 0.8, 0.17, 0.95) == Approx(odds / (1.0 + odds)).epsilon(1e-8));
  CHECK(value_of_places(row_of("carbon"), 0.01, 0.44, 0.75) == Approx(0.44 + 0.01 * z75).epsilon(1e-8));
}

TEST_CASE("new place: bounds cut the distribution off", "[scenario][place]") {
  // on its lower bound it is the half-normal distribution: the median lies at the normal quantile of 0.75
  const ParameterRow& k = row_of("k_som");
  REQUIRE(k.fit == Fit::linear);
  REQUIRE(k.lower == 0.0);
  CHECK(value_of_places(k, 0.001, 0.0, 0.5) == Approx(0.001 * z75).epsilon(1e-8));
  // far wider than the bounds it is nearly uniform between them: exp(-0.5 / 100^2) is 1 to 5e-5
  const ParameterRow& carbon = row_of("carbon");
  const double middle = 0.5 * (carbon.lower + carbon.upper), width = carbon.upper - carbon.lower;
  CHECK(value_of_places(carbon, 100.0 * width, middle, 0.2) ==
        Approx(carbon.lower + 0.2 * width).epsilon(1e-4));
  for (const ParameterRow& row : parameter_table()) {
    if (row.fit == Fit::fixed) continue;
    INFO(row.name);
    double before = -INFINITY;
    for (const double share : {1e-300, 1e-9, 0.02, 0.5, 0.98, 1.0 - 1e-9, 1.0 - 0x1p-53}) {
      const double value = value_of_places(row, 3.0, row.value, share);
      CHECK(value >= row.lower);
      CHECK(value <= row.upper);
      CHECK(std::isfinite(to_fit_scale(row.fit, value)));  // never on an open end
      CHECK(value >= before);
      before = value;
    }
  }
}

TEST_CASE("new place: what has no spread, or stands at an open end, stays", "[scenario][place]") {
  for (const double share : {1e-12, 0.1, 0.9}) {
    CHECK(value_of_places(row_of("k_hol"), 0.0, 0.0351, share) == 0.0351);
    CHECK(value_of_places(row_of("rind"), 0.7, 1.0, share) == 1.0);  // a cob has none
  }
  Parameters<double> p = default_parameters();
  move_to(new_place(3, 4, spreads_of({})), false, p);
  CHECK(same(p, default_parameters()));
}

TEST_CASE("new place: a share depends on seed, draw and name alone", "[scenario][place]") {
  const NewPlace one = new_place(5, 7, spreads_of({{"k_hol", 0.3}}));
  const NewPlace more = new_place(5, 7, spreads_of({{"k_sol", 0.1}, {"k_hol", 0.9}, {"contact", 0.5}}));
  CHECK(one.shares[place_of("k_hol")] == more.shares[place_of("k_hol")]);
  CHECK(one.shares[place_of("k_hol")] == share_of_places(5, 7, "k_hol"));
  CHECK(share_of_places(5, 7, "k_hol") != share_of_places(6, 7, "k_hol"));
  CHECK(share_of_places(5, 7, "k_hol") != share_of_places(5, 8, "k_hol"));
  CHECK(share_of_places(5, 7, "k_hol") != share_of_places(5, 7, "k_sol"));
}

TEST_CASE("new place: shares are uniform, those of two parameters independent", "[scenario][place]") {
  constexpr std::size_t n = 4000;
  std::vector<double> a, b;
  for (std::size_t i = 0; i < n; ++i) {
    a.push_back(share_of_places(1, i, "k_hol"));
    b.push_back(share_of_places(1, i, "tau_d"));
  }
  double product = 0.0;
  for (std::size_t i = 0; i < n; ++i) product += (a[i] - 0.5) * (b[i] - 0.5);
  // the correlation of independent numbers has the standard error 1/sqrt(n); four of them
  CHECK(std::abs(12.0 * product / n) < 4.0 / std::sqrt(n));
  std::sort(a.begin(), a.end());
  double furthest = 0.0;
  for (std::size_t i = 0; i < n; ++i) {
    furthest = std::max(furthest, std::abs(a[i] - (static_cast<double>(i) + 0.5) / n));
  }
  // Kolmogorov and Smirnov: 1.63/sqrt(n) is passed by 1 of 100 samples (Massey 1951, from memory)
  CHECK(furthest < 1.63 / std::sqrt(n));
}

TEST_CASE("new place: a place is one place for all components and treatments", "[scenario][place]") {
  const NewPlace place = new_place(1, 0, spreads_of({{"soluble", 0.2}, {"k_hol", 0.3}, {"contact", 0.5}}));
  const std::vector<ComponentName> components = {{"stalk", 0, "stalk"}, {"leaf", 0, "leaf"}};
  const auto resolve = [&](std::vector<ParameterSetting> settings, const NewPlace* at_place) {
    return resolve_parameters({"corn"}, components, "", std::move(settings), builtin_materials(), at_place);
  };
  const TreatmentParameters here = resolve({}, nullptr), there = resolve({}, &place);
  const auto shift = [](double from, double to) {
    return to_fit_scale(Fit::logit, to) - to_fit_scale(Fit::logit, from);
  };
  const double of_stalk = shift(here.components[0].soluble, there.components[0].soluble);
  CHECK(of_stalk != 0.0);
  CHECK(here.components[1].soluble != here.components[0].soluble);  // that of the material is the centre
  // the bounds lie six and more standard deviations away, and take less than 1e-8
  CHECK(shift(here.components[1].soluble, there.components[1].soluble) == Approx(of_stalk).epsilon(1e-6));
  CHECK(there.field.contact != here.field.contact);
  CHECK(there.field.contact == there.of_material[0].contact);
  CHECK(there.field.k_hol == there.components[1].k_hol);  // of what is dissolved
  CHECK(there.components[0].k_lig == here.components[0].k_lig);

  // what the file says stays, by component
  const TreatmentParameters set =
      resolve({{&row_of("k_hol"), "leaf", "", 0.02}, {&row_of("contact"), "", "", 0.3}}, &place);
  CHECK(set.components[1].k_hol == 0.02);
  CHECK(set.components[0].k_hol == there.components[0].k_hol);
  CHECK(set.field.contact == 0.3);
}

TEST_CASE("new place: what the user says of a material stays, what it takes over does not",
          "[scenario][place]") {
  const std::string text =
      "[material.home]\nlike = \"wheat straw\"\ncover_m2_g = 0.006\n"
      "[material.home.component.straw]\nlignin = \"7 %\"\n";
  Mistakes mistakes;
  const MaterialLibrary library = read_materials(read_toml(text, "farm.toml"), {}, mistakes);
  mistakes.throw_if_any();
  const NewPlace place =
      new_place(1, 0, spreads_of({{"lignin", 0.2}, {"soluble", 0.2}, {"cover_m2_g", 0.2}, {"k_hol", 0.3}}));
  const auto resolve = [&](const std::string& material, const NewPlace* at_place) {
    return resolve_parameters({material}, {{"straw", 0, "straw"}}, "", {}, library, at_place);
  };
  const TreatmentParameters here = resolve("home", nullptr), there = resolve("home", &place);
  CHECK(there.components[0].lignin == here.components[0].lignin);
  CHECK(there.of_material[0].cover_m2_g == 0.006);
  CHECK(there.components[0].soluble != here.components[0].soluble);
  CHECK(there.components[0].soluble == resolve("wheat straw", &place).components[0].soluble);
  CHECK(there.components[0].k_hol != here.components[0].k_hol);
}

TEST_CASE("new place: draws of a scenario without a fit", "[scenario][place]") {
  const ParameterRow& row = a_spread_rate();
  const Scenario s = read("draws = 5\n" + jar + two);
  REQUIRE(s.draws);
  CHECK(s.draws->count == 5);
  CHECK(s.draws->level == 0.9);
  for (const Treatment& t : s.treatments) CHECK(at(t.parameters.components[0], row) == row.value);
  const Scenario third = s.draws->with_draw(3);
  const double wanted = value_of_places(row, row.spread, row.value, share_of_places(1, 3, row.name));
  for (const Treatment& t : third.treatments) {
    for (const Parameters<double>& component : t.parameters.components) CHECK(at(component, row) == wanted);
  }
  // neither the number of draws nor how they are asked for matters
  for (const Scenario& other : {read("draws = 900\n" + jar + two), read(jar + two, {"draws=4"}),
                                read(jar + two + "[parameters]\ndraws = 7\n")}) {
    const Scenario drawn = other.draws->with_draw(3);
    for (std::size_t t = 0; t < 2; ++t) {
      CHECK(same(drawn.treatments[t].parameters.field, third.treatments[t].parameters.field));
      for (std::size_t c = 0; c < 4; ++c) {
        CHECK(
            same(drawn.treatments[t].parameters.components[c], third.treatments[t].parameters.components[c]));
      }
    }
  }
}

TEST_CASE("new place: what the file or the command line sets is not varied", "[scenario][place]") {
  const ParameterRow& row = a_spread_rate();
  const Scenario s =
      read("draws = 5\n" + jar + two + "parameters = { \"k_hol@cob\" = 0.03 }\n", {"k_hol@leaf@a=0.02"});
  const Scenario drawn = s.draws->with_draw(0);
  const auto k = [&](std::size_t treatment, const std::string& component) {
    const TreatmentParameters& p = drawn.treatments[treatment].parameters;
    const auto found = std::find(p.component_names.begin(), p.component_names.end(), component);
    REQUIRE(found != p.component_names.end());
    return p.components[static_cast<std::size_t>(found - p.component_names.begin())].k_hol;
  };
  const double there = value_of_places(row, row.spread, row.value, share_of_places(1, 0, row.name));
  CHECK(k(0, "leaf") == 0.02);
  CHECK(k(1, "leaf") == there);
  CHECK(k(0, "cob") == there);
  CHECK(k(1, "cob") == 0.03);
  CHECK(k(0, "stalk") == there);
}

TEST_CASE("new place: the seed is that of the weather", "[scenario][place]") {
  const ParameterRow& row = a_spread_rate();
  const std::string field =
      "draws = 5\nduration = \"120 d\"\n[weather]\nclimate = \"central Iowa\"\nseed = 7\n"
      "[harvest]\ndate = 2012-10-20\nresidue = \"9 t/ha\"\n";
  const Scenario drawn = read(field).draws->with_draw(2);
  CHECK(at(drawn.treatments[0].parameters.components[0], row) ==
        value_of_places(row, row.spread, row.value, share_of_places(7, 2, row.name)));
}

TEST_CASE("new place: with all set, every draw is the run", "[scenario][place]") {
  const Results plain = run_scenario(read(jar, all_set()), {}, {});
  const Results r = run_with_bands(read("draws = 6\n" + jar, all_set()), {}, {});
  for (const Variable& v : plain.key_numbers) {
    INFO(v.name);
    for (const char* end : {"", "_low", "_median", "_high"})
      CHECK(nearly_same(r.find(v.name + end).values, v.values));
  }
  for (const Variable& v : plain.series) {
    INFO(v.name);
    if (v.name.starts_with("cohort_")) continue;
    for (const char* end : {"", "_low", "_high"}) CHECK(nearly_same(r.find(v.name + end).values, v.values));
  }
  CHECK(has_note(
      r, "Ranges have no width: every parameter that is known to differ between places is set here."));
}

TEST_CASE("new place: the median of a rate's draws is the run, its ends are runs at its quantiles",
          "[scenario][place]") {
  const ParameterRow& row = a_spread_rate();
  constexpr std::size_t n = 201;
  const std::vector<std::string> rest = all_set(row.name);
  const Scenario s = read("draws = 201\n" + jar, rest);
  const Results r = run_with_bands(s, {}, {});
  std::vector<double> drawn;
  for (std::size_t i = 0; i < n; ++i) {
    drawn.push_back(value_of_places(row, row.spread, row.value, share_of_places(1, i, row.name)));
  }
  std::sort(drawn.begin(), drawn.end());
  const auto left_with = [&](double value) {
    std::vector<std::string> set = rest;
    set.push_back(fmt::format("{}={}", row.name, value));
    return run_scenario(read(jar, set), {}, {}).find("mass_left_at").values.back();
  };
  // the faster, the less is left: the median of what is left is what is left with the median rate;
  // 0.05 * 200 is a whole number, so the ends are runs as well
  CHECK(nearly_same(r.find("mass_left_at_median").values.back(), left_with(drawn[100])));
  CHECK(nearly_same(r.find("mass_left_at_high").values.back(), left_with(drawn[10])));
  CHECK(nearly_same(r.find("mass_left_at_low").values.back(), left_with(drawn[190])));
  // of n draws the median lies where a share 0.5 +- 0.5/sqrt(n) of all places does; four of these
  const double margin = 4.0 * 0.5 / std::sqrt(n);
  CHECK(drawn[100] > value_of_places(row, row.spread, row.value, 0.5 - margin));
  CHECK(drawn[100] < value_of_places(row, row.spread, row.value, 0.5 + margin));
  CHECK(
      has_note(r,
               "Ranges hold 9 of 10 new places: parameters were drawn 201 times from their spread between "
               "the trials that the defaults come from, the same for every treatment. The weather is that of "
               "this run; the scatter of bags and plots is not in it."));
}

TEST_CASE("new place: the same bits in any order and on any thread", "[scenario][place]") {
  const Scenario s = read("draws = 11\n" + jar + two);
  const ForEach two_threads_backwards = [](std::size_t n, const std::function<void(std::size_t)>& work) {
    std::thread other([&] {
      for (std::size_t i = n; i-- > n / 2;) work(i);
    });
    for (std::size_t i = n / 2; i-- > 0;) work(i);
    other.join();
  };
  const Results a = run_with_bands(s, {}, {}), b = run_with_bands(s, {}, {}, {}, two_threads_backwards);
  REQUIRE(a.series.size() == b.series.size());
  for (std::size_t v = 0; v < a.series.size(); ++v) CHECK(same(a.series[v].values, b.series[v].values));
  for (std::size_t v = 0; v < a.key_numbers.size(); ++v) {
    CHECK(same(a.key_numbers[v].values, b.key_numbers[v].values));
  }
  // ranges stand below the table of treatments
  const std::string table = printed_table(a);
  CHECK_THAT(table,
             Matchers::Matches("[\\s\\S]*\nRange +(year1|end), % +half lost, d +tie-up, kg/ha\n"
                               "a +[0-9.]+ to [0-9.]+ [\\s\\S]*\nb +[0-9.]+ to [\\s\\S]*=== a[\\s\\S]*"));
  for (std::size_t begin = 0; begin < table.size();) {
    const std::size_t end = std::min(table.find('\n', begin), table.size());
    INFO(table.substr(begin, end - begin));
    CHECK(end - begin <= 100);
    begin = end + 1;
  }
}

TEST_CASE("new place: what is wrong is told", "[scenario][place]") {
  CHECK(mistakes_of("draws = 1\n" + jar) ==
        "farm.toml:1:9: draws: found 1; wanted a whole number from 2 to 1000");
  CHECK(mistakes_of(jar, {"draws=many"}) ==
        "command line: draws: found a text; wanted a whole number from 2 to 1000");
  CHECK(mistakes_of("draws = 9\n" + jar + "[parameters]\ndraws = 10\n") ==
        "farm.toml:1:1: draws: stands twice, here and under [parameters]; keep one");
  CHECK(mistakes_of(jar + two + "parameters = { draws = 9 }\n") ==
        "farm.toml:10:14: draws: they are the same for all treatments; write draws at the top of the file");
  CHECK(mistakes_of("draws = 9\nas_in_trial = \"opened\"\n" + jar) ==
        "farm.toml:2:15: as_in_trial: needs a fit; write parameters = \"fit.h5\" at the top of the file");
}

TEST_CASE("parameters: the page tells the range of new places", "[parameters][place]") {
  const ParameterRow& row = row_of("k_sol");
  // beyond three standard deviations a bound takes less than the two digits printed
  REQUIRE(row.value * std::exp(3.0 * row.spread) < row.upper);
  REQUIRE(row.value * std::exp(-3.0 * row.spread) > row.lower);
  const std::string wanted =
      fmt::format("| `{}` | component | 1/d | {} | {:.2g} to {:.2g} | ", row.name, row.value,
                  row.value * std::exp(-z95 * row.spread), row.value * std::exp(z95 * row.spread));
  CHECK_THAT(parameter_page_markdown(), contains(wanted));
  CHECK_THAT(parameter_page_markdown(), contains("| `mass_share` | component | 1 | 1 |  | 0 to 1 |"));
  CHECK_THAT(parameter_page_json(), contains(fmt::format("\"spread_on_scale\": {}", row.spread)));
}
