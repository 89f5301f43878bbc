#pragma once
#include <set>

#include "scenarios/trial/fit_problem.hpp"

namespace stoverturn {

/// A treatment that is simulated: of which trial, which of its scenario's, and what its data see.
struct FitTreatment {
  std::size_t trial = 0, treatment = 0;
  std::set<int> seen;  ///< components that some number is of; -1: all together
};

/// Unknowns of the estimates, and where each goes.
struct FitUnknowns {
  std::vector<Unknown> unknowns;
  std::vector<std::vector<FitTarget>> targets;  ///< by unknown
  std::vector<ModelValue> values;               ///< by parameter of the trial model
  std::vector<std::string> value_names;         ///< for messages: "k_hol [opened]"
  std::vector<Position> value_at;
  std::vector<Slot> slots;
};

/// Spreads each estimate over treatments, components or sites. Where several write to one place the one that
/// names a component goes first, then the one that names a treatment. Starts that the file does not state are
/// the scenario's values. Mistakes: names that are not there, treatments or components without data, the same
/// estimate twice, an estimate that others leave nothing to.
FitUnknowns fit_unknowns(const FitPlan& plan, const std::vector<LoadedTrial>& trials,
                         const std::vector<FitTreatment>& treatments, Mistakes& mistakes,
                         std::vector<std::string>& warnings);

/// "north: opened"; the treatment alone where the site has no name.
std::string at_site(const std::string& site, const std::string& treatment);

/// Standard normal beforehand; four deviations either way.
Unknown effect_unknown(std::string name, std::string meaning);

/// A size, estimated on a log scale, every order of magnitude as likely beforehand.
Unknown size_unknown(std::string name, std::string unit, std::string meaning, double start, double lower,
                     double upper);

}  // namespace stoverturn
