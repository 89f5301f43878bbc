#pragma once

namespace stoverturn {

/// Growing degree days of one day, K d.                                docs/model.md, Eq. 44
///   (min(max(Tmax, base), cap) + min(max(Tmin, base), cap))/2 - base
/// The 86/50 degF form of corn has base 10 C and cap 30 C: a maximum above the cap counts as the cap, a
/// minimum below the base as the base.
double degree_days(double tmin_C, double tmax_C, double base_C, double cap_C);

}  // namespace stoverturn
