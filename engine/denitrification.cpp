#include "engine/denitrification.hpp"

#include <algorithm>

#include "engine/per_lane.hpp"

namespace stoverturn {

double denitrification_wetness(double filled, double threshold) {
  const double above = (std::min(filled, 1.0) - threshold) / (1.0 - threshold);
  return above > 0.0 ? above * above : 0.0;
}

template <class Real>
Real denitrification_rate(const Parameters<Real>& p, const Driver<Real>& filled,
                          const Driver<Real>& temperature_C) {
  using std::exp;
  using std::log;
  const double threshold = first(p.wet_den);
  const Driver<Real> wetness =
      per_lane([&](double w) { return denitrification_wetness(w, threshold); }, filled);
  const Driver<Real> tens = (temperature_C - 25.0) / 10.0;
  const Real f_T = exp(Real(log(p.q10_den) * tens));
  return p.k_den * f_T * wetness;
}

template double denitrification_rate(const Parameters<double>&, const double&, const double&);
template Dual denitrification_rate(const Parameters<Dual>&, const double&, const double&);
template Lanes denitrification_rate(const Parameters<Lanes>&, const Lanes&, const Lanes&);

}  // namespace stoverturn
