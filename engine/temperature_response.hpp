#pragma once
#include "engine/parameters.hpp"

namespace stoverturn {

enum class TemperatureForm { lloyd_taylor, q10, yan_hunt };

/// Temperature multiplier on every decay rate, f_T [1].               docs/model.md, Eq. 18
///   lloyd_taylor  exp(308.56 (1/71.02 - 1/(T + 46.02))), 1 at 25 C, held at its 35 C value above   (default)
///                 [Lloyd and Taylor 1994, Eq. 11]
///   q10           q10^((T - 25)/10)
///   yan_hunt      ((45 - T)/10) ((T + 5)/40)^(40/10) between -5 and 45 C, over its value at 25 C
///                 [Yan and Hunt 1999, with a lower limit as Yin et al. 1995]
/// `temperature_C` below -40 C counts as -40 C.
template <class Real>
Real temperature_response(TemperatureForm form, const Parameters<Real>& p, const Driver<Real>& temperature_C);

/// Rises from 0 at p.frost_C to 1 at 0 C.                             docs/model.md, Eq. 19
template <class Real>
Real frost_response(const Parameters<Real>& p, const Driver<Real>& temperature_C);

/// Temperature factor of nitrification, 1 at 25 C: ((T + 4.5)/29.5)^2, 0 below -4.5 C.  docs/model.md, Eq. 16
/// Square-root model of Ratkowsky et al. 1982 fitted to Frederick 1956.
double nitrification_temperature(double temperature_C);
Lanes nitrification_temperature(const Lanes& temperature_C);

/// The forms for one temperature; Lloyd and Taylor relative to another reference for comparison with tables.
double lloyd_taylor(double temperature_C, double reference_C = 25.0);
double yan_hunt(double temperature_C, double minimum_C = -5.0, double optimum_C = 35.0,
                double maximum_C = 45.0);

}  // namespace stoverturn
