#pragma once

/// How likely a true difference shows.
namespace stoverturn {

/// Power of a two-sided t test at `level` (0.9: ten in a hundred false alarms) when the true difference is
/// `shift` standard errors: noncentral t, the far side left out as in R's power.t.test.
double power_of_t(double shift, double freedom, double level);

/// The same for n units (plots, rows, bags) a side, at least 2, when one side's mean has the variance
/// `variance`/n: 2n - 2 degrees of freedom, n - 1 where units are in pairs.
double power_of_units(double difference, double variance, bool paired, double level, int n);

/// Fewest units a side with that power or more. 0 where `most` do not do, and for no difference.
int units_needed(double difference, double variance, bool paired, double level, double power, int most);

}  // namespace stoverturn
