#pragma once
#include <string>
#include <vector>

#include "fitting/identifiability.hpp"

/// What to do about unknowns that a trial cannot tell apart.
namespace stoverturn {

/// What to measure, or how to lay out the trial, so that these unknowns come apart; "" where the table knows
/// nothing better than a prior. Names as in Unknown::name. Reasons are those of the model's equations
/// (docs/model.md): common practice, no source.
std::string advice_to_separate(const std::vector<std::string>& unknowns);

/// What to measure so that the data see this unknown at all; "" where the table knows nothing.
std::string advice_to_see(const std::string& unknown);

/// A plain sentence for every set that is confounded, worst first, then for every unknown that is blind. At
/// most `most` of the sets, and a count of the rest.
std::vector<std::string> identifiability_sentences(const Identifiability& said,
                                                   const std::vector<std::string>& names,
                                                   std::size_t most = 10);

}  // namespace stoverturn
