#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "scenarios/trial/fit_result.hpp"

namespace stoverturn {

/// Indices of `wanted` among `have`, evenly apart and in order; all of them where there are no more.
std::vector<std::size_t> thinned(std::size_t have, std::size_t wanted);

/// What other programs and runs need of a fit, as JSON: estimates, intervals, spreads, where they are written
/// to, covariance on the fit scale, and up to `most_draws` draws evenly thinned. NaN is null; numbers read
/// back exactly. docs/file-formats.md, "Fit results".
std::string fit_json(const FitResult& fit, std::size_t most_draws = 200);

/// The fit in such a text, as far as it holds it. `name` stands in messages. Throws InputError for what is
/// not JSON, not a fit, or of a newer version of this program.
FitResult read_fit_json(std::string_view text, const std::string& name);

}  // namespace stoverturn
