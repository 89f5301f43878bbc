#pragma once
#include <vector>

namespace stoverturn {

/// What an event does to the prescribed mulch; amounts in g m-2 of dry matter.
struct MulchEvent {
  int day = 0;
  double standing_kept = 1.0;       ///< share of standing mass that stays standing
  double standing_flattened = 0.0;  ///< share of it that goes to the surface
  double surface_kept = 1.0;
  double standing_added = 0.0, surface_added = 0.0;
  double removed_g_m2 = 0.0;  ///< at most what is there, in proportion from where the next two say
  bool from_standing = false, from_surface = false;
  bool operator==(const MulchEvent&) const = default;
};

/// Dry matter above ground that shades, insulates and intercepts: prescribed, so that drivers do not depend
/// on fitted rates.                                                      docs/model.md, Eq. 32
///   in between events both parts fall by `loss_d`, and standing residue falls over at `fall_d`
struct Mulch {
  double standing_g_m2 = 0.0, surface_g_m2 = 0.0;
  void apply(const MulchEvent& event);
  void step(double loss_d, double fall_d);
};

}  // namespace stoverturn
