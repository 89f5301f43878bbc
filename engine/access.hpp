#pragma once
#include <limits>

#include "engine/parameters.hpp"

namespace stoverturn {

enum class Shape { stalk, sheet };

/// One class of pieces: how the residue was cut and opened.
struct Pieces {
  Shape shape = Shape::stalk;
  double length_mm = 0.0;
  double spacing_mm = std::numeric_limits<double>::infinity();  ///< between openings
  double opening = 0.0;  ///< share of the cross-section that an opening bares on both faces, 0 to 1
  bool operator==(const Pieces&) const = default;
};

/// Accessible surface to volume, mm-1.                               docs/model.md, Eq. 3
///   stalk: sigma = (2 + 2 o n)/L + 4 r/d,  n = max(0, L/s - 1)      [cut faces, openings, rind]
///   sheet: sigma = 2 r/thickness
template <class Real>
Real accessible_surface(const Pieces& pieces, const Parameters<Real>& component);

/// Rate at which closed tissue is opened at 25 C and best moisture, d-1.      docs/model.md, Eq. 4
///   a = v sigma / (1 + tau v sigma);  0 for sigma -> 0, 1/tau for sigma -> infinity
template <class Real>
Real opening_rate(const Real& sigma, const Parameters<Real>& component);

}  // namespace stoverturn
