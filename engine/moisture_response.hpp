#pragma once
#include "engine/parameters.hpp"

namespace stoverturn {

enum class MoistureForm { pore_space, water_potential };

/// Moisture multiplier of soil, f_W [1], for water-filled pore space `filled` (0 to 1).    docs/model.md, Eq.
/// 20
///   filled/optimum up to the optimum, then falling linearly to `floor` at saturation
/// Shape of Linn and Doran 1984: most aerobic activity at 60 % of pore space filled.
double pore_space_response(double filled, double optimum, double floor);

/// The same from water potential, ln(psi/psi_dry)/ln(psi_wet/psi_dry) within 0 and 1, MPa.  docs/model.md,
/// Eq. 21 [Andren and Paustian 1987]
double water_potential_response(double psi_MPa, double dry_MPa, double wet_MPa);

/// f_W of the soil in the form chosen; `psi_MPa` is used by water_potential only.
template <class Real>
Real moisture_response(MoistureForm form, const Parameters<Real>& p, const Driver<Real>& filled,
                       const Driver<Real>& psi_MPa);

}  // namespace stoverturn
