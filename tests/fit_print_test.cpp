#include "scenarios/trial/fit_print.hpp"

#include <algorithm>

#include "scenarios/files/csv_write.hpp"
#include "scenarios/text/csv_text.hpp"
#include "scenarios/trial/fit_methods.hpp"
#include "tests/catch.hpp"
#include "tests/invented_fit.hpp"

using namespace stoverturn;

namespace {

bool within_page(const std::string& text) {
  for (std::size_t begin = 0; begin < text.size();) {
    const std::size_t end = std::min(text.find('\n', begin), text.size());
    const auto characters =
        std::count_if(text.begin() + static_cast<long>(begin), text.begin() + static_cast<long>(end),
                      [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; });
    if (characters > 100) return false;
    begin = end + 1;
  }
  return true;
}

std::string section(const std::string& text, const std::string& head) {
  const std::size_t begin = text.find("\n" + head + "\n");
  if (begin == std::string::npos) return "";
  return text.substr(begin + 1, text.find("\n\n", begin) - begin);
}

}  // namespace

TEST_CASE("fit print: estimates with the most trusted interval, as a paper has them", "[fit]") {
  const std::string text = printed_fit(invented_fit());
  // the prior of k_hol: 0.02 times exp(-+1.6449 * 0.5), the central 90 % of a normal distribution
  CHECK(section(text, "Estimates") ==
        "Estimates\n"
        "parameter       unit  estimate     90 % interval  by         prior\n"
        "--------------------------------------------------------------------------------------\n"
        "k_hol           1/d    0.02100  0.0171 to 0.0262  posterior  0.00879 to 0.0455, normal\n"
        "k_sol [opened]  1/d     0.3100        from 0.240  bootstrap  0.031 to 3.1, flat\n"
        "k_sol [closed]  1/d     0.1100   0.0880 to 0.132  curvature  0.011 to 1.1, flat\n"
        "b_closed@stalk        0.05000*  0.0400 to 0.0600  curvature  0.005 to 0.5, flat\n"
        "error of mass          0.04000  0.0320 to 0.0480  curvature  0.004 to 0.4, flat\n"
        "* ended on a bound\n");
  CHECK(section(text, "Fit by treatment") ==
        "Fit by treatment\n"
        "treatment        measured  unit   n  RMSE   bias  efficiency\n"
        "------------------------------------------------------------\n"
        "stalks opened ⅓  mass      %     48  3.40  -0.20        0.96\n"
        "left closed      mass      %     48  4.10   0.60        0.91\n");
  CHECK(section(text, "Derived") ==
        "Derived\n"
        "quantity                   value  90 % interval\n"
        "-----------------------------------------------\n"
        "half-life, d\n"
        "  stalks opened ⅓            141     128 to 155\n"
        "rate ratio to left closed\n"
        "  stalks opened ⅓           2.80   2.10 to 3.90\n");
  CHECK(section(text, "Look at these bags: beyond 3.5 standard deviations") ==
        "Look at these bags: beyond 3.5 standard deviations\n"
        "  trial, north.csv:18: stalks opened ⅓, mass on day 91 is 55.10 %, the fit says 70.10 (-3.8 sd)\n");
  CHECK_THAT(text, contains("  b_closed@stalk: poorly: the data hardly tell it\n"));
  CHECK_THAT(text, contains("double exponential, days at 25 C: one site only\n"));
  CHECK_THAT(text, contains("\nMethods\nInvented data were used. Nothing else was done.\n"));
  CHECK(text.find("NOT CONVERGED") == std::string::npos);
}

TEST_CASE("fit print: details, and long names, stay on the page", "[fit]") {
  FitResult fit = invented_fit();
  const std::string details = printed_fit(fit, true);
  CHECK_THAT(details, contains("                                0.0165 to 0.0259  profile\n"));
  CHECK_THAT(details, contains("k_hol                 0.100  log    1.004              812\n"));
  CHECK_THAT(details, contains("(50000 runs of the model, 61.5 s)"));
  CHECK(within_page(details));
  for (FitQuality& q : fit.quality) q.treatment += std::string(90, 'x');
  for (ComparedModel& m : fit.models)
    m.name += " ⅓⅓⅓ and a long explanation of what it is and how it was made and why";
  for (FittedUnknown& u : fit.unknowns) u.unknown.name += std::string(80, 'y');
  fit.converged = false;
  CHECK(within_page(printed_fit(fit, true)));
  CHECK_THAT(printed_fit(fit), contains("\nNOT CONVERGED: do not use these estimates.\n"));
  CHECK(within_page(printed_fit(FitResult{}, true)));
}

TEST_CASE("fit print: the methods say what was done, and nothing that was not", "[fit]") {
  const auto joined = [](const std::vector<std::string>& sentences) {
    std::string all;
    for (const std::string& s : sentences) all += s + "\n";
    return all;
  };
  FitResult fit = invented_fit();
  MethodFacts facts;
  facts.data = {"trial.csv"};
  facts.weather = "the weather file north.csv";
  facts.starts = 8;
  facts.population = true;
  facts.resamples = 500;
  facts.held = {"nitrogen@stalk"};
  facts.seed = "1";
  const std::string all = joined(methods_paragraph(fit, facts));
  for (const char* said :
       {"96 measured numbers (mass) of 2 treatments, from trial.csv, were used.\n",
        "It was driven by the weather file north.csv.\n", "nitrogen@stalk was set by hand",
        "Estimated were k_hol, k_sol [opened], k_sol [closed] and b_closed@stalk, and 1 size of errors or "
        "effects, with a normal prior on the scale of the search for k_hol.\n",
        "by a population search and from 8 starting points; it satisfied the test of convergence.\n",
        "case bootstrap of 500 resamples (Efron and Tibshirani 1993)", "at most 1.004.\n", "seed 1.\n",
        "References: ter Braak"}) {
    INFO(said);
    CHECK(all.find(said) != std::string::npos);
  }
  for (FittedUnknown& u : fit.unknowns) {
    u.posterior = u.profile = u.bootstrap = u.curvature = {};
    u.rhat = not_there;
    u.unknown.prior = {};
  }
  fit.models.clear();
  fit.converged = false;
  const std::string little = joined(methods_paragraph(fit, {}));
  CHECK_THAT(little, contains("No intervals were computed."));
  CHECK_THAT(little, contains("NOT satisfied"));
  for (const char* unsaid :
       {"profile", "bootstrap", "posterior", "Chains", "References", "seed", "t distribution"}) {
    INFO(unsaid);
    CHECK(little.find(unsaid) == std::string::npos);
  }
}

TEST_CASE("fit print: tables for a supplement read back", "[fit]") {
  const Folder folder;
  write_fit_parameters_csv(folder / "parameters.csv", invented_fit());
  const CsvText parameters = read_csv(slurp(folder / "parameters.csv"), "parameters.csv");
  REQUIRE(parameters.rows.size() == 6);
  for (const CsvRow& row : parameters.rows) REQUIRE(row.size() == parameters.rows[0].size());
  CHECK(parameters.rows[0][6].text == "posterior_lower");
  CHECK(parameters.rows[1][2].text == "0.021");
  CHECK(parameters.rows[1][6].text == "0.0171");
  CHECK(parameters.rows[2][10].text == "0.24");  // of the bootstrap; it has no upper end
  CHECK(parameters.rows[2][11].text.empty());
  CHECK(parameters.rows[4][3].text == "lower");
  write_fit_residuals_csv(folder / "residuals.csv", invented_fit());
  const CsvText residuals = read_csv(slurp(folder / "residuals.csv"), "residuals.csv");
  REQUIRE(residuals.rows.size() == 3);
  for (const CsvRow& row : residuals.rows) REQUIRE(row.size() == 15);
  CHECK(residuals.rows[2][0].text == "trial, north.csv");
  CHECK(residuals.rows[2][13].text == "-3.75");
  CHECK(residuals.rows[2][14].text == "yes");
}
