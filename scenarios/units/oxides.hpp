#pragma once

namespace stoverturn {

/// Mass of the element in its oxide, as fertiliser and feed are traded: P in P2O5, K in K2O. The trade's four
/// digits of 2 P / (2 P + 5 O) and 2 K / (2 K + O). All conversions between the two go through here.
inline constexpr double P_in_P2O5 = 0.4364;
inline constexpr double K_in_K2O = 0.8301;

constexpr double as_P2O5(double P) { return P / P_in_P2O5; }
constexpr double as_K2O(double K) { return K / K_in_K2O; }

}  // namespace stoverturn
