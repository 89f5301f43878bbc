#include "scenarios/results/forward_bands.hpp"

#include <algorithm>
#include <cmath>
#include <thread>

#include <fmt/format.h>

#include "scenarios/plan/forward_fit.hpp"
#include "scenarios/results/compare.hpp"
#include "scenarios/results/parameter_page.hpp"
#include "scenarios/results/table_print.hpp"
#include "scenarios/trial/fit_json.hpp"
#include "tests/catch.hpp"
#include "tests/invented_fit.hpp"
#include "tests/mistakes_in.hpp"
#include "tests/nearly_same.hpp"

using namespace stoverturn;

namespace {

// two treatments of the invented trial, in a jar: quick to run
const std::string jar =
    "duration = \"120 d\"\n"
    "[harvest]\ndate = 2012-10-20\nresidue = \"9 t/ha\"\n"
    "[conditions]\ntemperature = \"20 degC\"\n"
    "[treatment.opened]\n[treatment.shut]\nas_in_trial = \"left closed\"\n";

TextOf fit_text(const FitResult& fit, const std::string& name = "fit.h5") {
  return [text = fit_json(fit, most_forward_draws), name](const std::string& file) {
    return file == name ? std::optional(text) : std::nullopt;
  };
}

Scenario read(const std::string& text, const FitResult& fit = invented_fit(),
              const std::vector<std::string>& overrides = {}) {
  return read_scenario(text, "farm.toml", overrides, fit_text(fit));
}

std::string mistakes_of(const std::string& text, const FitResult& fit = invented_fit()) {
  return mistakes_in([&] { read(text, fit); });
}

double k(const Treatment& t, double Parameters<double>::*which, const std::string& component = "stalk") {
  const auto& names = t.parameters.component_names;
  const auto found = std::find(names.begin(), names.end(), component);
  REQUIRE(found != names.end());
  return t.parameters.components[static_cast<std::size_t>(found - names.begin())].*which;
}

constexpr auto k_hol = &Parameters<double>::k_hol;
constexpr auto k_sol = &Parameters<double>::k_sol;
constexpr auto b_closed = &Parameters<double>::b_closed;

const std::string with_fit = "parameters = \"fit.h5\"\n";

Results run(const Scenario& scenario, const ForEach& for_each = one_after_the_other) {
  return run_with_bands(scenario, {}, {}, {}, for_each);
}

bool same(const std::vector<double>& a, const std::vector<double>& b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                    [](double x, double y) { return x == y || (std::isnan(x) && std::isnan(y)); });
}

}  // namespace

TEST_CASE("forward: a fit's estimates by target, weaker than the scenario's own", "[fit][scenario]") {
  const Scenario s = read(with_fit + jar);
  REQUIRE(s.treatments.size() == 2);
  for (const Treatment& t : s.treatments) {
    for (const std::string c : {"stalk", "leaf", "husk", "cob"}) CHECK(k(t, k_hol, c) == 0.021);
    CHECK(k(t, b_closed) == 0.05);
    CHECK(k(t, b_closed, "leaf") == default_parameters().b_closed);
    CHECK(t.parameters.origins.at("k_hol@stalk") == Layer::fit);
  }
  CHECK(k(s.treatments[0], k_sol) == 0.31);  // by its key
  CHECK(k(s.treatments[1], k_sol) == 0.11);  // by the label in the trial
  CHECK(s.warnings.empty());
  CHECK(!s.draws);

  const Scenario own = read(with_fit + jar + "parameters = { \"k_hol@cob\" = 0.03 }\n");
  CHECK(k(own.treatments[1], k_hol, "cob") == 0.03);
  CHECK(k(own.treatments[1], k_hol) == 0.021);
  REQUIRE(own.warnings.size() == 1);
  CHECK(own.warnings[0] ==
        "'shut': k_hol@cob is that of the file, not of fit.h5; to use the fit, take it out there.");
  const Scenario set = read(with_fit + jar, invented_fit(), {"k_sol=0.2"});
  CHECK(k(set.treatments[0], k_sol) == 0.2);
}

TEST_CASE("forward: all the ways to name a fit are one", "[fit][scenario]") {
  const auto values = [](const Scenario& s) {
    return parameters_in_force(s) + std::to_string(s.draws->count);
  };
  const std::string wanted = values(read("draws = 10\n" + with_fit + jar));
  CHECK(values(read("parameters = { file = \"fit.h5\", draws = 10 }\n" + jar)) == wanted);
  CHECK(values(read("draws = 10\n" + jar + "[parameters]\nfile = \"fit.h5\"\n")) == wanted);
  CHECK(values(read(jar, invented_fit(), {"parameters=fit.h5", "draws=10"})) == wanted);
  CHECK(values(read(with_fit + "draws = 30\n" + jar, invented_fit(), {"draws=10"})) == wanted);
}

TEST_CASE("forward: a scenario without treatments, and a fit that tells none apart", "[fit][scenario]") {
  const std::string plain = jar.substr(0, jar.find("[treatment"));
  const Scenario s = read("as_in_trial = \"opened\"\n" + with_fit + plain);
  CHECK(k(s.treatments[0], k_sol) == 0.31);
  FitResult all = invented_fit();
  all.unknowns[1].targets[0].treatment = all.unknowns[2].targets[0].treatment = "";
  CHECK(k(read(with_fit + plain, all).treatments[0], k_hol) == 0.021);
  // what is estimated of one treatment goes before what is estimated of all, in any order
  FitResult both = invented_fit();
  std::swap(both.unknowns[0], both.unknowns[1]);
  both.unknowns[1].targets[0].parameter = "k_sol";
  CHECK(k(read(with_fit + jar, both).treatments[0], k_sol) == 0.31);
}

TEST_CASE("forward: sites with treatments of the same name", "[fit][scenario]") {
  FitResult fit = invented_fit();
  fit.treatments = {"north: opened", "north: closed", "south: opened", "south: closed"};
  fit.treatment_keys = fit.treatments;
  fit.unknowns[1].targets = {{"k_sol", "", "north: opened"}, {"k_sol", "", "north: closed"}};
  fit.unknowns[2].targets = {{"k_sol", "", "south: opened"}, {"k_sol", "", "south: closed"}};
  fit.unknowns[3].targets = {{"b_closed", "", "opened"}};  // of that treatment at any site
  const std::string plain = jar.substr(0, jar.find("[treatment"));
  const auto as = [&](const std::string& role) {
    return read("as_in_trial = \"" + role + "\"\n" + with_fit + plain, fit).treatments[0];
  };
  CHECK(k(as("north: opened"), k_sol) == 0.31);
  CHECK(k(as("south: opened"), k_sol) == 0.11);
  CHECK(k(as("south: opened"), b_closed) == 0.05);
  CHECK(k(as("south: closed"), b_closed) != 0.05);
  CHECK(
      mistakes_of("as_in_trial = \"opened\"\n" + with_fit + plain, fit) ==
      "farm.toml:1:15: fit.h5: its sites have estimates of their own, and 'opened' may be 'north: opened' or "
      "'south: opened'; write as_in_trial = \"north: opened\", or another, at the top of the file");
  CHECK_THAT(mistakes_of(with_fit + plain + "[treatment.opened]\n", fit),
             contains("'opened' may be 'north: opened' or 'south: opened'"));
  // where sites do not differ, a treatment needs no site
  fit.unknowns[1].targets = {{"k_sol", "", "opened"}};
  fit.unknowns[2].targets = {{"k_sol", "", "closed"}};
  CHECK(k(read(with_fit + plain + "[treatment.opened]\n", fit).treatments[0], k_sol) == 0.31);
}

TEST_CASE("forward: what is wrong is told", "[fit][scenario]") {
  CHECK(mistakes_of(with_fit + jar + "[treatment.north]\n") ==
        "farm.toml:11:12: fit.h5: it has estimates of their own for the treatments 'opened', 'closed', and "
        "'north' is none of them; write as_in_trial = \"opened\", or another, under [treatment.north]");
  CHECK(mistakes_of(with_fit + jar.substr(0, jar.find("[treatment"))) ==
        "farm.toml:1:1: fit.h5: it has estimates of their own for the treatments 'opened', 'closed', and "
        "'field' is none of them; write as_in_trial = \"opened\", or another, at the top of the file");
  CHECK(mistakes_of(with_fit + jar + "[treatment.north]\nas_in_trial = \"opend\"\n") ==
        "farm.toml:12:15: as_in_trial: fit.h5 has no treatment 'opend'; did you mean 'opened'?");
  CHECK(mistakes_of("parameters = \"fut.h5\"\n" + jar) ==
        "farm.toml:1:14: parameters: there is no file fut.h5");
  CHECK(mistakes_of(jar) ==
        "farm.toml:9:15: as_in_trial: needs a fit; write parameters = \"fit.h5\" at the top of the file");
  CHECK(mistakes_of(with_fit + "drws = 10\n" + jar) ==
        "farm.toml:2:1: unknown key `drws` in the file; did you mean 'draws'?");
  CHECK(mistakes_of("draws = 1.5\n" + with_fit + jar) ==
        "farm.toml:1:9: draws: found 1.5; wanted a whole number from 2 to 1000");
  CHECK(mistakes_of("draws = 50\n" + with_fit + jar) ==
        "farm.toml:1:9: draws: fit.h5 holds 40; wanted at most that many");
  CHECK(mistakes_of("draws = 9\nparameters = { file = \"fit.h5\", draws = 10 }\n" + jar) ==
        "farm.toml:1:1: draws: stands twice, here and under [parameters]; keep one");
  CHECK(mistakes_of(with_fit + jar + "parameters = \"fit.h5\"\n") ==
        "farm.toml:11:14: parameters: one fit holds for all treatments; write it at the top of the file, and "
        "here as_in_trial = the treatment of the trial that this one is");

  FitResult fit = invented_fit();
  fit.draws.resize(0, 0);
  fit.draws_refused = "the chains do not agree";
  CHECK(mistakes_of("draws = 50\n" + with_fit + jar, fit) ==
        "farm.toml:1:9: draws: fit.h5 holds none (the chains do not agree); leave draws out");
  fit = invented_fit();
  fit.unknowns[0].estimate = 9.0;
  fit.unknowns[1].targets[0].parameter = "k_sool";
  fit.unknowns[3].targets[0].component = "stalks";
  CHECK(mistakes_of(with_fit + jar, fit) ==
        "farm.toml:1:14: fit.h5: the estimate of k_hol is 9 1/d; wanted 0.001 to 0.3 (decay of open "
        "holocellulose at 25 C)\n"
        "farm.toml:1:14: fit.h5: it estimates `k_sool`, which this program does not have; did you mean "
        "'k_sol'?\n"
        "farm.toml:1:14: fit.h5: b_closed@stalk is of component `stalks`, which this scenario does not have; "
        "did you mean 'stalk'?");
  fit = invented_fit();
  fit.draws(0, 20) = 0.4;
  CHECK(mistakes_of("draws = 40\n" + with_fit + jar, fit) ==
        "farm.toml:2:14: fit.h5: a draw of k_hol is 0.4 1/d; wanted 0.001 to 0.3 (decay of open "
        "holocellulose at 25 C)");
}

TEST_CASE("forward: a wrong file of a fit is told", "[fit][scenario]") {
  const auto mistakes_with = [](const std::string& text) {
    return mistakes_in([&] {
      read_scenario(with_fit + jar.substr(0, jar.find("[treatment")), "farm.toml", {},
                    [&](const std::string&) { return std::optional(text); });
    });
  };
  CHECK(mistakes_with("k_hol = 3") ==
        "farm.toml:1:14: parameters: fit.h5 is neither JSON nor HDF5; wanted fit.h5 or fit.json of `fit`");
  CHECK(mistakes_with("{\"a\": 1}") ==
        "farm.toml:1:14: parameters: fit.h5 is JSON, but no fit of stoverturn");
  CHECK(mistakes_with("{\"stoverturn_fit\": 2}") ==
        "farm.toml:1:14: parameters: fit.h5 is no whole fit: it is in format 2, this program reads format 1");
  std::string text = fit_json(invented_fit());
  text.replace(text.find("\"estimate\": 0.021"), 17, "\"estimate\": \"no\"");
  CHECK(mistakes_with(text) ==
        "farm.toml:1:14: parameters: fit.h5 is no whole fit: 'estimate' holds what is no number");
}

TEST_CASE("fit.json: numbers read back exactly, draws evenly thinned", "[fit]") {
  const FitResult fit = invented_fit(1000);
  const FitResult back = read_fit_json(fit_json(fit, 300), "fit.json");
  CHECK(back.treatment_keys == fit.treatment_keys);
  REQUIRE(back.unknowns.size() == fit.unknowns.size());
  for (std::size_t i = 0; i < fit.unknowns.size(); ++i) {
    CHECK(back.unknowns[i].estimate == fit.unknowns[i].estimate);
    CHECK(back.unknowns[i].curvature.upper == fit.unknowns[i].curvature.upper);
    CHECK(back.unknowns[i].unknown.prior.mean == fit.unknowns[i].unknown.prior.mean);
    CHECK(back.unknowns[i].targets.size() == fit.unknowns[i].targets.size());
  }
  CHECK(std::isnan(back.unknowns[1].bootstrap.upper));
  CHECK(back.unknowns[1].bootstrap.lower == 0.24);
  CHECK(back.covariance == fit.covariance);
  REQUIRE(back.draws.cols() == 300);
  for (const Eigen::Index d : {0, 1, 150, 299}) CHECK(back.draws.col(d) == fit.draws.col(d * 1000 / 300));
  CHECK(thinned(5, 9) == std::vector<std::size_t>{0, 1, 2, 3, 4});
  CHECK(thinned(10, 4) == std::vector<std::size_t>{0, 2, 5, 7});
  CHECK(fit_json(back, 300).find("\"draws_in_all\": 300") != std::string::npos);
}

TEST_CASE("forward: draws that are all the estimate give a band without width", "[fit]") {
  FitResult fit = invented_fit(12);
  for (Eigen::Index i = 0; i < fit.draws.rows(); ++i) {
    fit.draws.row(i).setConstant(fit.unknowns[static_cast<std::size_t>(i)].estimate);
  }
  const Results plain = run_scenario(read(with_fit + jar, fit), {}, {});
  const Results r = run(read("draws = 12\n" + with_fit + jar, fit));
  std::size_t compared = 0;
  for (const Variable& v : plain.key_numbers) {
    INFO(v.name);
    CHECK(same(r.find(v.name).values, v.values));
    for (const char* end : {"_low", "_median", "_high"})
      CHECK(nearly_same(r.find(v.name + end).values, v.values));
    ++compared;
  }
  for (const Variable& v : plain.series) {
    INFO(v.name);
    CHECK(same(r.find(v.name).values, v.values));
    if (v.name.starts_with("cohort_")) continue;
    for (const char* end : {"_low", "_high"}) CHECK(nearly_same(r.find(v.name + end).values, v.values));
    ++compared;
  }
  CHECK(compared > 80);
}

TEST_CASE("forward: bands are the quantiles of runs with each draw set by hand, paired", "[fit]") {
  constexpr std::size_t n = 9;
  const FitResult fit = invented_fit(n);
  const Results r = run(read("draws = 9\n" + with_fit + jar, fit));
  std::vector<Results> runs;
  for (Eigen::Index d = 0; d < static_cast<Eigen::Index>(n); ++d) {
    std::vector<std::string> set;
    const char* addresses[] = {"k_hol", "k_sol@opened", "k_sol@shut", "b_closed@stalk"};
    for (Eigen::Index i = 0; i < 4; ++i) set.push_back(fmt::format("{}={}", addresses[i], fit.draws(i, d)));
    const std::string text = jar.substr(0, jar.find("as_in_trial"));
    runs.push_back(run_scenario(read_scenario(text, "farm.toml", set), {}, {}));
  }
  // type 7 of Hyndman and Fan 1996, The American Statistician 50: 361-365, written out for nine values:
  // the quantile p stands at place 8 p of 0 ... 8; 8 * 0.05 = 0.4
  const auto check = [&](const std::string& name, std::size_t i) {
    std::vector<double> x;
    for (const Results& one : runs) x.push_back(one.find(name).values.at(i));
    std::sort(x.begin(), x.end());
    INFO(name << " " << i);
    REQUIRE(x.front() < x.back());
    CHECK(nearly_same(r.find(name + "_low").values.at(i), 0.6 * x[0] + 0.4 * x[1]));
    CHECK(nearly_same(r.find(name + "_high").values.at(i), 0.6 * x[8] + 0.4 * x[7]));
    return x[4];
  };
  const std::size_t days = r.extent(Dimension::time);
  REQUIRE(days == 121);
  for (const std::size_t day : {40, 120}) {
    for (const std::size_t t : {0, 1}) {
      check("mass_left", t * days + day);
      check("nitrogen_released", t * days + day);
      check("mass_left_by_component", (t * 4 + 2) * days + day);
    }
  }
  for (const std::size_t t : {0, 1}) {
    CHECK(nearly_same(r.find("mass_left_at_median").values.at(t), check("mass_left_at", t)));
    CHECK(r.find("days_to_half_median").values.size() == 2);
  }
  CHECK(std::any_of(r.notes.begin(), r.notes.end(), [](const std::string& note) {
    return note.starts_with("Ranges hold 90 % of 9 draws of fit.h5 (posterior), the same draws for every");
  }));
}

TEST_CASE("forward: the same numbers in any order and on any thread", "[fit]") {
  const Scenario s = read("draws = 11\n" + with_fit + jar);
  const ForEach two_threads_backwards = [](std::size_t n, const std::function<void(std::size_t)>& work) {
    std::thread other([&] {
      for (std::size_t i = n; i-- > n / 2;) work(i);
    });
    for (std::size_t i = n / 2; i-- > 0;) work(i);
    other.join();
  };
  const Results a = run(s), b = run(s, two_threads_backwards);
  REQUIRE(a.series.size() == b.series.size());
  for (std::size_t v = 0; v < a.series.size(); ++v) CHECK(same(a.series[v].values, b.series[v].values));
  for (std::size_t v = 0; v < a.key_numbers.size(); ++v) {
    CHECK(same(a.key_numbers[v].values, b.key_numbers[v].values));
  }
}

TEST_CASE("forward: draws that cannot be run are left out and counted", "[fit]") {
  FitResult fit = invented_fit(10);
  // lignin is within its own bounds, but not beside the solubles: no such residue
  fit.unknowns[0].unknown.name = "lignin";
  fit.unknowns[0].targets = {{"lignin", "stalk", ""}};
  fit.unknowns[0].estimate = 0.1;
  fit.draws.row(0).setConstant(0.1);
  const ParameterRow& row = *find_parameter("lignin");
  fit.draws(0, 3) = row.upper;
  const std::string text = "draws = 10\n" + with_fit + jar + "[component.stalk]\nsoluble = 0.6\n";
  REQUIRE(row.upper + 0.6 > 0.98);  // what a component may hold of both
  const Results r = run(read(text, fit));
  const std::string note = fmt::format(
      "1 of 10 draws could not be run and are left out; the first: stalk: soluble and lignin are {:.3g} of "
      "the "
      "carbon together; wanted at most 0.98.",
      row.upper + 0.6);
  CHECK(std::find(r.notes.begin(), r.notes.end(), note) != r.notes.end());
  fit.draws.row(0).setConstant(row.upper);
  CHECK(mistakes_in([&] { run(read(text, fit)); }) ==
        fmt::format(
            "fit.h5: none of its draws could be run; the first: stalk: soluble and lignin are {:.3g} of "
            "the carbon together; wanted at most 0.98",
            row.upper + 0.6));
}

TEST_CASE("forward: progress goes on to the end; the table shows ranges within 100 columns", "[fit]") {
  std::vector<double> told;
  const Results r = run_with_bands(read("draws = 20\n" + with_fit + jar, invented_fit(), {"duration=150 d"}),
                                   {}, {}, [&](double done) { told.push_back(done); });
  CHECK(std::is_sorted(told.begin(), told.end()));
  CHECK(told.back() == 1.0);
  const std::string table = printed_table(r);
  CHECK_THAT(table, contains("    range"));
  CHECK_THAT(table, Matchers::Matches("[\\s\\S]*half lost after [0-9]+ d \\([0-9]+ to [0-9]+ d\\)[\\s\\S]*"));
  for (std::size_t begin = 0; begin < table.size();) {
    const std::size_t end = std::min(table.find('\n', begin), table.size());
    INFO(table.substr(begin, end - begin));
    CHECK(end - begin <= 100);
    begin = end + 1;
  }
  CHECK(printed_comparison(compare(r, r), "A", "B").find("_low") == std::string::npos);
}
