#pragma once

namespace stoverturn {

/// [planting]: what planting day is looked at with. The limit of short pieces and the depth of the seed are
/// assumptions (common practice, no source).
struct PlantingPlan {
  double short_mm = 101.6;  ///< pieces up to this length count as short
  double seed_mm = 50.8;    ///< depth of the seed
  int build_up_years = 10;  ///< plantings of the same crop after each other
};

}  // namespace stoverturn
