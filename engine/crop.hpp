#pragma once

namespace stoverturn {

/// A crop that follows the residue: what it draws from the soil. Corn of 150 days.
/// Basal coefficient K_cb 0.15, 1.15, 0.50 and stages of 30, 40, 50, 30 days: FAO-56 Tables 11 and 17, maize
/// for grain (from memory). N uptake follows a logistic curve, half of it by day 60: common practice, no
/// source. docs/model.md, Eq. 33
struct CropDay {
  double basal_coefficient = 0.0;
  double nitrogen_share_d = 0.0;  ///< share of the season's N demand that falls on this day, d-1
};
CropDay crop_on(int days_after_planting);

}  // namespace stoverturn
