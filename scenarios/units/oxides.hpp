#pragma once

namespace stoverturn {

/// Mass of the element in its oxide, as fertiliser and feed are traded: P in P2O5, K in K2O.
inline constexpr double P_in_P2O5 = 0.4364;
inline constexpr double K_in_K2O = 0.8301;

}  // namespace stoverturn
