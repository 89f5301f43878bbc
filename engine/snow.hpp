#pragma once

namespace stoverturn {

/// Snow pack as water, mm.                                            docs/model.md, Eq. 27
///   precipitation is snow when the daily mean is below snow_C;  melt = factor max(0, T)
struct SnowPack {
  double water_mm = 0.0;
  /// Takes a day's precipitation; returns rain and melt, mm.
  double step(double mean_C, double precipitation_mm, double snow_C, double melt_mm_per_K);
  /// Where the depth was measured and is 0, nothing lies from the days before: what the estimate still holds
  /// is returned as melt, mm. Before step().
  double gone();
  /// Deep enough to insulate: 5 mm of water, some 50 mm of fresh snow.
  bool covers() const { return water_mm >= 5.0; }
};

}  // namespace stoverturn
