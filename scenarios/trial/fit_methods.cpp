#include "scenarios/trial/fit_methods.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/trial/fit_words.hpp"
#include "scenarios/trial/measure_names.hpp"

namespace stoverturn {
namespace {

/// "a", "a and b", "a, b and c"
std::string listed(const std::vector<std::string>& words) {
  if (words.size() < 2) return words.empty() ? "" : words.front();
  return fmt::format("{} and {}", fmt::join(words.begin(), words.end() - 1, ", "), words.back());
}

bool any_interval(const FitResult& fit, Between FittedUnknown::*method) {
  return std::any_of(fit.unknowns.begin(), fit.unknowns.end(),
                     [&](const FittedUnknown& u) { return is_there(u.*method); });
}

/// Sources in the order in which they are first used.
class References {
 public:
  std::string operator()(const std::string& short_name, const std::string& whole) {
    if (std::find(list_.begin(), list_.end(), whole) == list_.end()) list_.push_back(whole);
    return short_name;
  }
  const std::vector<std::string>& list() const { return list_; }

 private:
  std::vector<std::string> list_;
};

std::string data_sentence(const FitResult& fit, const MethodFacts& facts) {
  std::vector<std::string> measured;
  for (const FitQuality& q : fit.quality) {
    if (std::find(measured.begin(), measured.end(), q.measure) == measured.end())
      measured.push_back(q.measure);
  }
  return fmt::format("{} measured numbers{} of {} treatment{}{}{} were used.", fit.observations,
                     measured.empty() ? "" : fmt::format(" ({})", listed(measured)), fit.treatments.size(),
                     fit.treatments.size() == 1 ? "" : "s",
                     facts.sites.size() > 1 ? fmt::format(" at {}", listed(facts.sites)) : "",
                     facts.data.empty() ? "" : fmt::format(", from {},", listed(facts.data)));
}

std::string unknowns_sentence(const FitResult& fit) {
  std::vector<std::string> names, believed;
  std::size_t nuisance = 0;
  for (const FittedUnknown& u : fit.unknowns) {
    if (u.targets.empty()) {
      ++nuisance;
    } else {
      names.push_back(u.unknown.name);
    }
    if (u.unknown.prior.shape == Prior::Shape::normal) believed.push_back(u.unknown.name);
  }
  std::string text = fmt::format("Estimated were {}", listed(names));
  if (nuisance > 0)
    text += fmt::format(", and {} size{} of errors or effects", nuisance, nuisance > 1 ? "s" : "");
  text += believed.empty()
              ? ", with flat priors on the scales of the search within bounds"
              : fmt::format(", with a normal prior on the scale of the search for {}", listed(believed));
  return text + ".";
}

void add_model(const FitResult& fit, const MethodFacts& facts, std::vector<std::string>& text) {
  text.push_back(fmt::format(
      "Decay was simulated day by day with an ordinary differential equation model of carbon and nitrogen in "
      "solubles, holocellulose, lignin, decomposers and their remains ({}), in which tissue opens to "
      "decomposers by colonisation.",
      fit.program.empty() ? "stoverturn" : fit.program));
  if (!facts.weather.empty()) text.push_back(fmt::format("It was driven by {}.", facts.weather));
  if (facts.ash_free) text.emplace_back("Masses were corrected to ash-free dry matter.");
  if (!facts.held.empty()) {
    text.push_back(fmt::format("{} {} set by hand; all others had their defaults.", listed(facts.held),
                               facts.held.size() > 1 ? "were" : "was"));
  }
}

void add_estimation(const FitResult& fit, const MethodFacts& facts, References& cite,
                    std::vector<std::string>& text) {
  text.push_back(unknowns_sentence(fit));
  std::vector<std::string> errors;  // of what was measured alone
  for (const std::string& error : facts.errors) {
    if (std::any_of(fit.quality.begin(), fit.quality.end(),
                    [&](const FitQuality& q) { return error.starts_with(q.measure + ":"); }))
      errors.push_back(error);
  }
  if (!errors.empty()) text.push_back(fmt::format("Errors: {}.", fmt::join(errors, "; ")));
  if (facts.student_t) {
    text.push_back(fmt::format("Errors had Student's t distribution with 4 degrees of freedom ({}).",
                               cite("Lange et al. 1989",
                                    "Lange, Little, Taylor 1989, Robust statistical modeling using the t "
                                    "distribution, J Am Stat Assoc 84: 881-896")));
  }
  if (facts.block_effects) text.emplace_back("Blocks had random effects.");
  if (facts.pooled_sites) text.emplace_back("Sites were drawn together by a spread that was estimated.");
  std::string search = "The most probable point was sought";
  if (facts.population) search += " by a population search and";
  if (facts.starts > 0) search += fmt::format(" from {} starting points", facts.starts);
  search += fit.converged ? "; it satisfied the test of convergence."
                          : "; the test of convergence was NOT satisfied.";
  text.push_back(std::move(search));
}

void add_uncertainty(const FitResult& fit, const MethodFacts& facts, References& cite,
                     std::vector<std::string>& text) {
  const std::string level = fmt::format("{:.4g} %", 100.0 * fit.level);
  std::vector<std::string> ways;
  if (any_interval(fit, &FittedUnknown::posterior)) {
    ways.push_back(
        fmt::format("posterior draws{} by differential evolution Markov chains ({}; {})",
                    facts.draws > 0 ? fmt::format(", {} evaluations after burn-in,", facts.draws) : "",
                    cite("ter Braak 2006",
                         "ter Braak 2006, A Markov chain Monte Carlo version of the genetic algorithm "
                         "differential evolution, Stat Comput 16: 239-249"),
                    cite("ter Braak and Vrugt 2008",
                         "ter Braak, Vrugt 2008, Differential evolution Markov chain with "
                         "snooker updater and fewer chains, Stat Comput 18: 435-446")));
  }
  if (any_interval(fit, &FittedUnknown::profile)) {
    ways.push_back(
        fmt::format("profile likelihood ({})", cite("Raue et al. 2009",
                                                    "Raue et al. 2009, Structural and practical "
                                                    "identifiability analysis of partially observed "
                                                    "dynamical models by exploiting the profile "
                                                    "likelihood, Bioinformatics 25: 1923-1929")));
  }
  if (any_interval(fit, &FittedUnknown::bootstrap)) {
    ways.push_back(fmt::format("case bootstrap{} ({})",
                               facts.resamples > 0 ? fmt::format(" of {} resamples", facts.resamples) : "",
                               cite("Efron and Tibshirani 1993",
                                    "Efron, Tibshirani 1993, An introduction to "
                                    "the bootstrap, Chapman and Hall")));
  }
  if (any_interval(fit, &FittedUnknown::curvature)) ways.emplace_back("the curvature at the estimate");
  if (ways.empty()) {
    text.emplace_back("No intervals were computed.");
  } else {
    text.push_back(fmt::format("Intervals of {} are from {}.", level, listed(ways)));
  }
  const bool mixed = std::any_of(fit.unknowns.begin(), fit.unknowns.end(),
                                 [](const FittedUnknown& u) { return std::isfinite(u.rhat); });
  if (mixed) {
    double worst = 0.0;
    for (const FittedUnknown& u : fit.unknowns) worst = std::max(worst, std::isfinite(u.rhat) ? u.rhat : 0.0);
    text.push_back(
        fmt::format("Chains were compared by the rank-normalised scale reduction ({}), at most {:.3f}.",
                    cite("Vehtari et al. 2021",
                         "Vehtari et al. 2021, Rank-normalization, folding, and localization: an "
                         "improved R-hat, Bayesian Anal 16: 667-718"),
                    worst));
  }
  if (!fit.models.empty()) {
    text.push_back(fmt::format("Models were compared by AICc, BIC and the error of what was left out ({}).",
                               cite("Burnham and Anderson 2002",
                                    "Burnham, Anderson 2002, Model selection and "
                                    "multimodel inference, Springer")));
  }
}

}  // namespace

std::vector<std::string> methods_paragraph(const FitResult& fit, const MethodFacts& facts) {
  std::vector<std::string> text;
  References cite;
  text.push_back(data_sentence(fit, facts));
  add_model(fit, facts, text);
  add_estimation(fit, facts, cite, text);
  add_uncertainty(fit, facts, cite, text);
  if (!facts.seed.empty()) text.push_back(fmt::format("Random numbers had the seed {}.", facts.seed));
  if (!cite.list().empty()) text.push_back(fmt::format("References: {}.", fmt::join(cite.list(), "; ")));
  return text;
}

MethodFacts facts_of(const FitPlan& plan) {
  MethodFacts facts;
  for (const TrialSource& trial : plan.trials) {
    facts.data.push_back(trial.data_file.substr(trial.data_file.rfind('/') + 1));
    if (!trial.site.empty()) facts.sites.push_back(trial.site);
    facts.ash_free = facts.ash_free || trial.ash_free;
  }
  for (const auto& [measure, error] : plan.errors) {
    const std::string_view size = error.absolute && error.proportional
                                      ? "absolute and proportional, estimated"
                                  : error.absolute     ? "absolute, estimated"
                                  : error.proportional ? "proportional, estimated"
                                                       : "standard deviations of the data";
    facts.errors.push_back(fmt::format("{}: {}", name_of(measure).name, size));
  }
  facts.student_t = plan.tail == Tail::student;
  facts.block_effects = plan.block_effects;
  facts.pooled_sites = std::any_of(plan.estimates.begin(), plan.estimates.end(),
                                   [](const EstimatePlan& e) { return e.pooled; });
  facts.starts = plan.starts;
  facts.population = plan.population;
  facts.resamples = plan.resamples;
  facts.draws = plan.draws;
  facts.seed = fmt::format("{}", plan.seed);
  return facts;
}

}  // namespace stoverturn
