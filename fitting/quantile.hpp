#pragma once
#include <vector>

namespace stoverturn {

/// An order of numbers in which NaN, a value that was never reached, comes after all others.
bool comes_before(double a, double b);

/// The quantile of sorted values at a share 0 to 1, between neighbours linearly (the seventh definition of
/// Hyndman and Fan 1996, The American Statistician 50, 361-365); NaN of none, and where it touches a NaN.
double quantile_of_sorted(const std::vector<double>& sorted, double share);

}  // namespace stoverturn
