#pragma once
#include "scenarios/report/report.hpp"
#include "scenarios/results/results.hpp"

namespace stoverturn {

/// The results of `timing` in their units: verdicts and the choices, best first; then what an adviser asks,
/// in his order: how much sooner the stalks go, how much of the N is still there, tie-up, cover, money, the
/// soil on the day. Results that do not keep their choices give a report that says so.
Report report_of_timing(const Results& results);

}  // namespace stoverturn
