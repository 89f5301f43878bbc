#pragma once
#include "engine/parameters.hpp"

namespace stoverturn {

/// Share of topsoil nitrate that denitrifies in a day, d-1.            docs/model.md, Eq. 41
///   k_den q10_den^((T - 25)/10) f_den;  f_den = ((w - wet_den)/(1 - wet_den))^2 above wet_den, else 0
/// `filled` is the water-filled pore space w, 0 to 1; T that of the topsoil. A stated loss: no oxygen, no
/// carbon, no N2O of its own. Rates of saturated soil: Illinois trials and extension.
template <class Real>
Real denitrification_rate(const Parameters<Real>& field, const Driver<Real>& filled,
                          const Driver<Real>& temperature_C);

/// f_den for one water content.
double denitrification_wetness(double filled, double threshold);

}  // namespace stoverturn
