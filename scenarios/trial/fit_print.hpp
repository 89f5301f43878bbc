#pragma once
#include <string>

#include "scenarios/trial/fit_result.hpp"

namespace stoverturn {

struct FitPrint {
  bool details =
      false;  ///< every method's interval, the prior, diagnostics, how each stage of the search went
};

/// A fit for its reader, at most 100 columns wide: estimates with an interval of the most trusted method
/// (posterior, profile, bootstrap, curvature), quality by treatment, comparison of models, derived
/// quantities, what the data can tell, warnings, methods.
std::string printed_fit(const FitResult& fit, const FitPrint& how = {});

/// Estimates with every interval, for a supplement; a row an unknown. CSV as csv_write.hpp has it.
std::string fit_parameters_csv(const FitResult& fit);

/// A row a measured number, beside what the fit makes of it.
std::string fit_residuals_csv(const FitResult& fit);

}  // namespace stoverturn
