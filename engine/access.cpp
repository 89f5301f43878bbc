#include "engine/access.hpp"

#include <algorithm>

namespace stoverturn {

template <class Real>
Real accessible_surface(const Pieces& pieces, const Parameters<Real>& p) {
  if (pieces.shape == Shape::sheet) return Real(2.0) * p.rind / p.thickness_mm;
  const double n = std::max(0.0, pieces.length_mm / pieces.spacing_mm - 1.0);
  const double faces_per_mm = (2.0 + 2.0 * pieces.opening * n) / pieces.length_mm;
  return Real(faces_per_mm) + Real(4.0) * p.rind / p.diameter_mm;
}

template <class Real>
Real opening_rate(const Real& sigma, const Parameters<Real>& p) {
  const Real advance = p.v_mm_d * sigma;
  return advance / (Real(1.0) + p.tau_d * advance);
}

template double accessible_surface(const Pieces&, const Parameters<double>&);
template Dual accessible_surface(const Pieces&, const Parameters<Dual>&);
template Lanes accessible_surface(const Pieces&, const Parameters<Lanes>&);
template double opening_rate(const double&, const Parameters<double>&);
template Dual opening_rate(const Dual&, const Parameters<Dual>&);
template Lanes opening_rate(const Lanes&, const Parameters<Lanes>&);

}  // namespace stoverturn
