#pragma once
#include <vector>

#include "scenarios/charts/chart.hpp"
#include "scenarios/trial/fit_result.hpp"

/// Charts of a fit, in the system of units of FitResult::units. A chart without data is not made.
namespace stoverturn {

/// "data-MEASURE", one a measure: bags with one standard deviation to both sides, fitted curves with their
/// bands; a small chart for each treatment. Curves are thinned, and drawn half as long again as bags lie.
std::vector<Chart> data_charts(const FitResult& fit);

/// "derived-NAME", one a derived quantity: a dot and its interval for each treatment. What the run does not
/// reach is left out.
std::vector<Chart> derived_charts(const FitResult& fit);

/// "residuals-day", standardised, and "residuals-predicted-MEASURE" for each measure.
std::vector<Chart> residual_charts(const FitResult& fit);

/// "profiles": a small chart for each unknown that has one, cost above the best with the level at which its
/// interval ends.
std::vector<Chart> profile_charts(const FitResult& fit);

/// "draws": a small chart for each pair of at most five unknowns, those that are most tied to others.
std::vector<Chart> draws_charts(const FitResult& fit);

/// Correlations of the unknowns over their draws, on the fit scale; NaN for one that does not move. Empty
/// without at least three draws.
Eigen::MatrixXd draws_correlation(const FitResult& fit);

}  // namespace stoverturn
