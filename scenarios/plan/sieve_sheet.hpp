#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "scenarios/plan/scenario.hpp"

namespace stoverturn {

/// Pieces of one component sorted by length, as CSV: what was weighed in each class.
///
///     component,from [mm],to [mm],mass [g]        or        sieve [mm],mass [g]
///     stalk,0,20,14.1                                       0,14.1
///     stalk,20,,230                                         20,230
///
/// `sieve` is the aperture that the pieces stayed on (0: the pan); a class ends where the next larger begins.
/// A class becomes pieces of the geometric mean of its limits; one from 0 up of half its upper limit, one
/// without an end of 1.41 times its lower limit (both assumptions). `share [%]` may stand for mass.
/// `component` may be absent. Other geometry is that of `base`.
std::vector<PieceClass> read_sieve_sheet(std::string_view text, const std::string& name,
                                         const std::string& component, const Pieces& base,
                                         Mistakes& mistakes);

}  // namespace stoverturn
