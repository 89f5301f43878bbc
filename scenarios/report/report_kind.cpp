#include "scenarios/report/report_kind.hpp"

#include <algorithm>

namespace stoverturn {

ResultsKind kind_of_results(const Results& results) {
  const auto holds = [&](std::string_view name) {
    return std::any_of(results.key_numbers.begin(), results.key_numbers.end(),
                       [&](const Variable& v) { return v.name == name; });
  };
  if (results.sites.empty()) return ResultsKind::run;
  if (holds("share_that_pays")) return ResultsKind::timing;
  if (holds("residue_before_planting")) return ResultsKind::planting;
  return ResultsKind::ensemble;
}

}  // namespace stoverturn
