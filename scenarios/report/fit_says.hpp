#pragma once
#include <string>
#include <vector>

#include "scenarios/trial/fit_result.hpp"

/// Sentences about a fit, written from its numbers.
namespace stoverturn {

/// At most three: how fast, what differs between treatments, how sure. A fit that has not converged has no
/// numbers to say, and says that.
std::vector<std::string> fit_says(const FitResult& fit);

/// What was done, in short.
std::vector<std::string> about_fit(const FitResult& fit);

/// Whether the model is worth it beside simple curves; empty without a comparison.
std::vector<std::string> says_of_models(const FitResult& fit);

/// What an interval of a fit does not hold.
std::vector<std::string> fit_cautions(const FitResult& fit);

}  // namespace stoverturn
