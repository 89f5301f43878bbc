#pragma once

namespace stoverturn {

/// Share of the soil that a mass of flat residue covers, 1 - exp(-A m).    docs/model.md, Eq. 34
/// Gregory 1982, Trans. ASAE 25:1333-1337. `cover_m2_g` is A, `mass_g_m2` dry matter.
double soil_cover(double cover_m2_g, double mass_g_m2);

}  // namespace stoverturn
