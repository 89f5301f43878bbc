#pragma once
#include <string>

#include "scenarios/trial/fit_result.hpp"

namespace stoverturn {

/// A fit for its reader, at most 100 columns wide: estimates with an interval of the most trusted method
/// (posterior, profile, bootstrap, curvature), quality by treatment, comparison of models, derived
/// quantities, what the data can tell, warnings, methods.
///
/// `details`: every method's interval, diagnostics, and the work of each stage of the search.
std::string printed_fit(const FitResult& fit, bool details = false);

}  // namespace stoverturn
