#include "scenarios/results/notes.hpp"

#include <algorithm>

namespace stoverturn {
namespace {

constexpr const char* how_sure =
    "How sure: without a fit, mass left of studies that were kept out of the calibration was off by 13 "
    "points (root mean square), nitrogen left by 21. Release and tie-up of P and S are not calibrated.";
constexpr const char* nitrogen_caution =
    "Nitrogen: state and local rules may forbid it in the fall or near water and wells; ask before "
    "spreading. "
    "Ammonium forms belong on soil below 50 degF (10 degC) that is cooling. Ammonia burns eyes, skin and "
    "lungs: goggles, "
    "gloves and clean water at hand. Agree rate and date with a licensed or certified adviser.";

constexpr const char* nitrate_caution =
    "Nitrate: what is leached and denitrified is an estimate to compare treatments by, not for a permit. "
    "Have "
    "wells near the field tested; state and local rules come first.";

/// Whether anybody is to decide on nitrogen by these numbers.
bool concerns_nitrate(const Scenario& scenario) {
  return std::any_of(scenario.treatments.begin(), scenario.treatments.end(), [](const Treatment& t) {
    return t.cover_crop || std::any_of(t.crop_seasons.begin(), t.crop_seasons.end(),
                                       [](const PlantedCrop& p) { return p.crop.grows; });
  });
}

bool spreads_nitrogen(const Scenario& scenario) {
  return std::any_of(scenario.treatments.begin(), scenario.treatments.end(), [](const Treatment& t) {
    return std::any_of(t.events.begin(), t.events.end(),
                       [](const EventPlan& e) { return std::holds_alternative<FertiliserPlan>(e); });
  });
}

}  // namespace

std::vector<std::string> standing_notes(const Scenario& scenario) {
  std::vector<std::string> notes = {how_sure};
  if (spreads_nitrogen(scenario)) notes.emplace_back(nitrogen_caution);
  if (spreads_nitrogen(scenario) || concerns_nitrate(scenario)) notes.emplace_back(nitrate_caution);
  return notes;
}

}  // namespace stoverturn
