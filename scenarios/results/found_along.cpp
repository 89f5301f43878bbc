#include "scenarios/results/found_along.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace stoverturn {
namespace {

/// The deepest tie-up, and the days from the harvest until then and until it is given back.
struct TieUp {
  double deepest_g_m2 = 0.0;
  double deepest_d = not_measured, repaid_d = not_measured;
};

TieUp tie_up(const RunCourse& c) {
  const auto begin = c.nitrogen_released.begin(), end = c.nitrogen_released.end();
  const auto low = std::min_element(begin + c.harvest_day, end);
  TieUp found;
  if (*low >= -1e-3) return found;
  found.deepest_g_m2 = *low;
  found.deepest_d = static_cast<double>(low - begin) - c.harvest_day;
  const auto back = std::find_if(low, end, [](double n) { return n >= 0.0; });
  if (back != end) found.repaid_d = static_cast<double>(back - begin) - c.harvest_day;
  return found;
}

// clang-format off
constexpr auto numbers = std::to_array<FoundNumber>({
  {"days_to_half", Kind::time, "", "days from the first harvest until half of its residue is gone", [](const RunCourse& c) { return days_until(c.left, c.harvest_day, 0.50); }},
  {"days_to_95_lost", Kind::time, "", "days from the first harvest until 95 % of its residue is gone", [](const RunCourse& c) { return days_until(c.left, c.harvest_day, 0.05); }},
  {"tie_up_deepest", Kind::mass_per_area, "N", "lowest of nitrogen_released: the most N that residue held back at once, as a negative number (0: none)", [](const RunCourse& c) { return tie_up(c).deepest_g_m2; }},
  {"tie_up_deepest_day", Kind::time, "", "days from harvest to the deepest tie-up; N is given back from then on, unless it is the last day of the run", [](const RunCourse& c) { return tie_up(c).deepest_d; }},
  {"tie_up_repaid_day", Kind::time, "", "days from harvest until all N that was tied up has been given back", [](const RunCourse& c) { return tie_up(c).repaid_d; }},
});
// clang-format on

}  // namespace

std::span<const FoundNumber> found_numbers() { return numbers; }

double days_until(std::span<const double> left, int from, double share) {
  for (std::size_t d = static_cast<std::size_t>(from) + 1; d < left.size(); ++d) {
    if (std::isnan(left[d])) break;  // merged with older residue
    if (left[d] > share) continue;
    const double fall = left[d - 1] - left[d];
    return static_cast<double>(d) - (fall > 0.0 ? (share - left[d]) / fall : 0.0) - from;
  }
  return not_measured;
}

}  // namespace stoverturn
