#pragma once

namespace stoverturn {

/// Share of ammonia in ammonium and ammonia in water.                  docs/model.md, Eq. 42
///   1/(1 + 10^(pKa - pH)),  pKa = 0.09018 + 2729.92/T, T in K, 0 to 50 C      [Emerson et al. 1975]
double ammonia_share(double pH, double temperature_C);

/// Factor of the soil's pH on the loss from ammonium salts: their share of ammonia against that at pH 7.5,
/// both at 25 C, at most 10. Ammonium from urea lies in an alkaline spot of its own and does not follow it.
double ammonia_pH(double pH);

/// Factor of wind (at 2 m) on the loss of ammonia: (u/2)^power with u within 0.5 and 2.5 m/s; 1 where wind
/// was not measured. Beyond 2.5 m/s the loss rose no more in trials with slurry [Sommer et al. 1991, from
/// memory].
double wind_factor(double wind_m_s, double power);

}  // namespace stoverturn
