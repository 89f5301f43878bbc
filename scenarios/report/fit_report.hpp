#pragma once
#include "scenarios/report/report.hpp"
#include "scenarios/trial/fit_result.hpp"

namespace stoverturn {

/// The page of a fit, in the order in which a researcher asks: warnings first, then data and curves, rates,
/// what the fit misses, estimates with profiles and draws, models, what the data tell, search and methods. In
/// the system of units of FitResult::units; parameters keep their own units, which are part of their
/// meaning. Lacks nothing when draws, profiles or intervals are missing: their sections are left out.
Report report_of_fit(const FitResult& fit);

}  // namespace stoverturn
