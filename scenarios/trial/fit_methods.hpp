#pragma once
#include <string>
#include <vector>

#include "scenarios/trial/fit_plan.hpp"

namespace stoverturn {

/// What was done, as far as a FitResult does not tell it. What is empty or zero was not done, or is left
/// unsaid.
struct MethodFacts {
  std::vector<std::string> data;    ///< files of measured numbers
  std::vector<std::string> sites;   ///< more than one: named
  std::string weather;              ///< "the weather file north.csv", "a log of conditions"
  bool ash_free = false;            ///< masses were corrected to ash-free dry matter
  std::vector<std::string> held;    ///< addresses of parameters set to values of the user's own
  std::vector<std::string> errors;  ///< "mass left: absolute, estimated", by measure; those measured are told
  bool student_t = false, block_effects = false, pooled_sites = false;
  int starts = 0;
  bool population = false;
  int resamples = 0;
  std::int64_t draws = 0;  ///< evaluations of the sampler after burn-in
  std::string seed;
};

/// What a fit file asks for.
MethodFacts facts_of(const FitPlan& plan);

/// The methods paragraph of a paper, by sentence, with the sources of its methods; the last sentences are the
/// references. Says what was done, and only that.
std::vector<std::string> methods_paragraph(const FitResult& fit, const MethodFacts& facts);

}  // namespace stoverturn
