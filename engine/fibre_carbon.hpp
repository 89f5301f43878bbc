#pragma once

namespace stoverturn {

/// Carbon shares of the pools from a fibre analysis.                    docs/model.md, Eq. 1a
/// Polysaccharides of the cell wall as cellulose, C6H10O5: 72.066/162.141 by molar masses. Lignin: about 0.62
/// (from memory).
inline constexpr double carbon_of_polysaccharide = 0.444;
inline constexpr double carbon_of_lignin = 0.62;

/// Share of all carbon that is lignin; `carbon` and `lignin` in g per g of dry matter.
constexpr double lignin_share(double carbon, double lignin) { return carbon_of_lignin * lignin / carbon; }

/// Share of all carbon outside the neutral-detergent fibre: what the fibre does not hold. `fibre` is in g per
/// g of dry matter and holds the lignin. Negative when the fibre holds more carbon than there is.
constexpr double soluble_share(double carbon, double fibre, double lignin) {
  return 1.0 - (carbon_of_polysaccharide * (fibre - lignin) + carbon_of_lignin * lignin) / carbon;
}

}  // namespace stoverturn
