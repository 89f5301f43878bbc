#include "scenarios/plan/scenario.hpp"

namespace stoverturn {

std::size_t Treatment::harvest_on(std::chrono::sys_days date) const {
  std::size_t last = 0;
  for (std::size_t h = 0; h < harvests.size(); ++h) {
    if (harvests[h].date <= date) last = h;
  }
  return last;
}

double Treatment::cover_nitrogen() const {
  double N = 0.0;
  for (std::size_t c = 0; c < components.size(); ++c) {
    const Parameters<double>& p = parameters.components[c];
    if (of_cover_crop(c)) N += p.mass_share * p.nitrogen;
  }
  return N;
}

}  // namespace stoverturn
