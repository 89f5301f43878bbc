/// Fit files: what is read and what wrong ones are told.
#include "scenarios/trial/fit_plan.hpp"

#include "tests/catch.hpp"
#include "tests/mistakes_in.hpp"

using namespace stoverturn;

namespace {

const std::string head = "data = \"bags.csv\"\nscenario = \"trial.toml\"\n";

FitPlan read(const std::string& text, const std::vector<std::string>& set = {}) {
  return read_fit_plan(text, "fit.toml", set);
}
std::string mistakes_of(const std::string& text, const std::vector<std::string>& set = {}) {
  return mistakes_in([&] { read(text, set); });
}

}  // namespace

TEST_CASE("fit file: a few lines are enough", "[trial]") {
  const FitPlan plan = read(head +
                            "[estimate]\n"
                            "k_hol = {}\n"
                            "\"v_mm_d\" = { vary_by = \"treatment\" }\n"
                            "\"tissue@cob\" = { start = 0.2, lower = 0.05, upper = 0.6, prior = { low = 0.1, "
                            "high = 0.4 } }\n");
  REQUIRE(plan.trials.size() == 1);
  CHECK(plan.trials[0].data_file == "bags.csv");
  CHECK(plan.trials[0].scenario_file == "trial.toml");
  CHECK(plan.trials[0].at.line == 1);
  CHECK(plan.trials[0].scenario_at.line == 2);
  REQUIRE(plan.estimates.size() == 3);
  const EstimatePlan& k = plan.estimates[0];
  CHECK(k.target.parameter == "k_hol");
  CHECK(k.unknown.scale == Fit::log);
  CHECK(k.unknown.unit == "1/d");
  CHECK(k.unknown.lower == 0.001);  // docs/parameters.md
  CHECK(k.unknown.upper == 0.3);
  CHECK(k.unknown.prior.shape == Prior::Shape::flat);
  CHECK(!k.start_given);
  CHECK(plan.estimates[1].vary_by == VaryBy::treatment);
  const EstimatePlan& cob = plan.estimates[2];
  CHECK(cob.whose == std::vector<std::string>{"cob"});
  CHECK(cob.start_given);
  CHECK(cob.unknown.start == 0.2);
  CHECK(cob.unknown.upper == 0.6);
  // central 90 % of a normal on the log scale from 0.1 to 0.4: mean ln 0.2, sd ln 2 / 1.6449 (by hand)
  CHECK(cob.unknown.prior.mean == Approx(std::log(0.2)));
  CHECK(cob.unknown.prior.sd == Approx(0.6931472 / 1.6448536));
  CHECK(plan.level == 0.9);
  CHECK(plan.tail == Tail::normal);
  CHECK(plan.errors.at(Measure::mass).absolute);
}

TEST_CASE("fit file: several trials, errors, methods and corrections", "[trial]") {
  const FitPlan plan = read(
      "title = \"two sites\"\nunits = \"us\"\n"
      "[data]\nash_free = true\ninitial_ash = \"6 %\"\n"
      "[[trial]]\nsite = \"north\"\ndata = \"n.csv\"\nscenario = \"n.toml\"\n"
      "[[trial]]\nsite = \"south\"\nscenario = \"s.toml\"\n"
      "data = { file = \"s.csv\", handling = true, bulk_density = \"1.3 g/cm3\", depth = \"8 in\", measures "
      "= "
      "[\"mass\", \"nitrogen\"] }\n"
      "[estimate]\nk_hol = { vary_by = \"site\", pooled = true }\n"
      "[error]\nmass = \"both\"\nnitrogen = \"proportional\"\ncarbon = \"as stated\"\noutliers = \"robust\"\n"
      "blocks = true\n"
      "[methods]\nlevel = \"95 %\"\nseed = 7\nstarts = 3\npopulation = false\nprofiles = false\ndraws = 0\n"
      "resamples = 500\n");
  REQUIRE(plan.trials.size() == 2);
  CHECK(plan.trials[0].site == "north");
  CHECK(plan.trials[0].ash_free);
  CHECK(plan.trials[1].ash_free);  // of [data]
  CHECK(plan.trials[1].initial_ash == Approx(0.06));
  CHECK(!plan.trials[0].start_from_handling);
  CHECK(plan.trials[1].start_from_handling);
  CHECK(plan.trials[1].soil_depth_mm == Approx(203.2));
  CHECK(plan.trials[1].measures == std::vector<Measure>{Measure::mass, Measure::nitrogen_left});
  CHECK(plan.estimates[0].pooled);
  CHECK(plan.errors.at(Measure::mass).absolute);
  CHECK(plan.errors.at(Measure::mass).proportional);
  CHECK(!plan.errors.at(Measure::nitrogen_left).absolute);
  CHECK(!plan.errors.at(Measure::carbon).absolute);
  CHECK(!plan.errors.at(Measure::carbon).proportional);
  CHECK(plan.tail == Tail::student);
  CHECK(plan.block_effects);
  CHECK(plan.level == Approx(0.95));
  CHECK(plan.seed == 7);
  CHECK(plan.draws == 0);
  CHECK(plan.profiles == ProfilesOf::none);
  CHECK(plan.resamples == 500);
}

TEST_CASE("fit file: --set sets a key of the file", "[trial]") {
  const FitPlan plan = read(head + "[estimate]\nk_hol = {}\n", {"methods.seed=9", "estimate.k_hol.start=0.02",
                                                                "data.handling=true", "units=us"});
  CHECK(plan.seed == 9);
  CHECK(plan.estimates[0].unknown.start == 0.02);
  CHECK(plan.trials[0].data_file == "bags.csv");
  CHECK(plan.trials[0].start_from_handling);
  CHECK(plan.units == "us");
  const auto profiles_set = [](const std::string& to) {
    return read(head + "[estimate]\nk_hol = {}\n", {"methods.profiles=" + to}).profiles;
  };
  CHECK(plan.profiles == ProfilesOf::model);
  CHECK(profiles_set("all") == ProfilesOf::all);
  CHECK(profiles_set("true") == ProfilesOf::model);
  CHECK(profiles_set("false") == ProfilesOf::none);
  CHECK_THAT(mistakes_of(head + "[estimate]\nk_hol = {}\n", {"methods.profiles=some"}),
             contains("profiles: found 'some'; wanted true, false or \"all\""));
  CHECK(mistakes_of(head + "[estimate]\nk_hol = {}\n", {"seed=9"}) ==
        "command line: found `--set seed=9`; wanted the path of a key of the fit file, such as "
        "methods.seed=7 or "
        "estimate.k_hol.start=0.03");
}

TEST_CASE("fit file: told from a scenario by its content", "[trial]") {
  CHECK(is_fit_plan(head));
  CHECK(is_fit_plan("[estimate]\nk_hol = {}\n"));
  CHECK(!is_fit_plan("title = \"x\"\n[harvest]\ndate = 2027-10-20\n"));
  CHECK(!is_fit_plan("not = = toml"));
}

TEST_CASE("fit file: mistakes say where, what was found and what was wanted", "[trial]") {
  const std::string often =
      "; set it in the scenario. Often estimated are k_sol, k_hol, k_lig, p_lig, tissue, tau_d, v_mm_d, "
      "rind, contact "
      "and N_bg";
  const std::pair<std::string, std::string> cases[] = {
      {head + "[estimate]\nk_hl = {}\n",
       "fit.toml:4:1: unknown parameter `k_hl`; did you mean 'k_hol'? (`stoverturn parameters` lists them)"},
      {head + "[estimate]\nresidue_drying = {}\n",
       "fit.toml:4:1: residue_drying cannot be estimated: it is used before the simulation, in the weather's "
       "water and "
       "temperature or in what is laid out" +
           often},
      {head + "[estimate]\ndiameter_mm = {}\n",
       "fit.toml:4:1: diameter_mm cannot be estimated: it is taken as known (diameter of a stalk or cob)" +
           often},
      {head + "[estimate]\nnitrogen = {}\n",
       "fit.toml:4:1: nitrogen cannot be estimated: what is left in bags is a share of it" + often},
      {head + "[estimate]\nk_rem = 0.03\n",
       "fit.toml:4:9: k_rem: found a number; wanted a table, such as { } or { start = 0.038, prior = { low = "
       "..., high "
       "= ... } }"},
      {head + "[estimate]\nk_hol = { lower = 0.5 }\n",
       "fit.toml:4:19: k_hol: found 0.5 1/d; wanted 0.001 to 0.3 (decay of open holocellulose at 25 C)"},
      {head + "[estimate]\nk_hol = { lower = 0.2, upper = 0.1 }\n",
       "fit.toml:4:19: lower: found bounds 0.2 to 0.1; wanted the lower one first"},
      {head + "[estimate]\nk_hol = { start = 0.2, upper = 0.1 }\n",
       "fit.toml:4:19: start: found 0.2; wanted it within the bounds 0.001 to 0.1"},
      {head + "[estimate]\nk_man = { lower = 0 }\n",
       "fit.toml:4:19: lower: found 0; k_man is estimated on the scale of its logarithm, so wanted 3e-05 to "
       "0.5"},
      {head + "[estimate]\nk_hol = { prior = { low = 0.05, high = 0.02 } }\n",
       "fit.toml:4:19: prior: found low 0.05 and high 0.02; wanted low below high"},
      {head + "[estimate]\nk_hol = { upper = 0.1, prior = { low = 0.05, high = 0.2 } }\n",
       "fit.toml:4:32: prior: 0.05 to 0.2 reaches beyond the bounds 0.001 to 0.1"},
      {head + "[estimate]\nk_hol = { prior = { low = 0.05 } }\n",
       "fit.toml:4:19: prior lacks `high`; write prior = { low = ..., high = ... }, which nine of ten such "
       "values lie "
       "between"},
      {head + "[estimate]\nk_hol = { vary_by = \"tretment\" }\n",
       "fit.toml:4:21: vary_by: found 'tretment'; wanted one of nothing, treatment, component, site; did you "
       "mean "
       "'treatment'?"},
      {head + "[estimate]\nN_bg = { vary_by = \"component\" }\n",
       "fit.toml:4:20: vary_by: N_bg is one value for the whole field and has no components"},
      {head + "[estimate]\nk_hol = { vary_by = \"site\" }\n",
       "fit.toml:4:21: vary_by: there is one trial only; sites are several [[trial]] blocks"},
      {head + "[estimate]\nk_hol = { pooled = true }\n",
       "fit.toml:4:20: pooled: draws sites together and needs vary_by = \"site\""},
      {head + "[estimate]\nk_hol = { strt = 0.1 }\n",
       "fit.toml:4:11: unknown key `strt` in k_hol; did you mean 'start'?"},
      {head,
       "fit.toml:1:1: the file lacks `estimate`; write [estimate] with k_hol = {} and what else is to be "
       "found"},
      {"[estimate]\nk_hol = {}\n",
       "fit.toml:1:1: the file lacks `data`; write data = \"trial.csv\"\n"
       "fit.toml:1:1: the file lacks `scenario`; write scenario = \"trial-scenario.toml\""},
      {head + "[estimate]\nk_hol = {}\n[error]\nmass = \"relative\"\n",
       "fit.toml:6:8: mass: found 'relative'; wanted one of absolute, proportional, both, as stated"},
      {head + "[estimate]\nk_hol = {}\n[methods]\nseed = 1.5\nstart = 3\n",
       "fit.toml:6:8: seed: found 1.5; wanted a whole number\n"
       "fit.toml:7:1: unknown key `start` in [methods]; did you mean 'starts'?"},
      {"scenario = \"t.toml\"\n[data]\nfile = \"b.csv\"\ninitial_ash = 0.06\n[estimate]\nk_hol = {}\n",
       "fit.toml:4:15: initial_ash: belongs to ash_free = true"},
      {"scenario = \"t.toml\"\n[data]\nfile = \"b.csv\"\ndepth = \"20 cm\"\n[estimate]\nk_hol = {}\n",
       "fit.toml:4:9: depth: bulk_density and depth go together: how much soil a mg/kg is of"},
      {"scenario = \"t.toml\"\n[data]\nfile = \"b.csv\"\nmeasures = [\"mas\"]\n[estimate]\nk_hol = {}\n",
       "fit.toml:4:12: measures: found 'mas'; did you mean 'mass'?"},
      {"[[trial]]\ndata = \"a.csv\"\nscenario = \"a.toml\"\n[[trial]]\nsite = \"x\"\ndata = "
       "\"b.csv\"\nscenario = "
       "\"b.toml\"\n[estimate]\nk_hol = {}\n",
       "fit.toml:1:1: [[trial]] lacks `site`; write site = \"north\""},
  };
  for (const auto& [text, message] : cases) {
    INFO(text);
    CHECK(mistakes_of(text) == message);
  }
}
