#pragma once
#include <array>
#include <limits>
#include <span>
#include <vector>

namespace stoverturn {

inline constexpr std::size_t crop_stages = 5;

/// How a crop goes through its season by degree days, from planting.   docs/model.md, Eq. 33, 44, 45
struct CropKind {
  double base_C = 10.0, cap_C = 30.0;          ///< of degree_days
  std::array<double, crop_stages> stage_Kd{};  ///< degree days to each stage, rising; the last is maturity
  double uptake_midpoint_Kd = 0.0;             ///< where the logistic curve of N is half
  double uptake_width_Kd = 1.0;                ///< and its width
  double basal_early = 0.15, basal_mid = 1.15, basal_late = 0.50;  ///< K_cb of FAO-56
  std::array<double, 3>
      basal_Kd{};  ///< end of the early stage, start and end of the middle; late at maturity
  double killed_C =
      -std::numeric_limits<double>::infinity();  ///< minimum that ends it, from the second stage
};

/// A stage that was seen rather than computed: its day after planting.
struct StageSeen {
  std::size_t stage;
  int day;
};

struct DayRange {
  double tmin_C, tmax_C;
};

/// What a crop draws on one day.
struct CropDay {
  double basal_coefficient = 0.0;
  double nitrogen_g_m2_d = 0.0;  ///< demand
  bool operator==(const CropDay&) const = default;
};

/// One season, from planting on. `days` end with maturity, frost, or the days given.
struct CropCourse {
  int planting_day = 0;  ///< day of the run
  std::vector<CropDay> days;
  std::array<int, crop_stages> stage_day{};  ///< day of the run on which a stage is reached; -1: not reached
  double degree_days_Kd = 0.0;               ///< at the end
  bool operator==(const CropCourse&) const = default;
};

/// The course of a crop of `nitrogen_g_m2` under the days from its planting, at most all of them. Where
/// stages were seen, degree days are stretched between them, so that each is reached on its day; after the
/// last they run as the weather has it. N demand is its share of the logistic curve between planting and
/// maturity:
///   (L(G) - L(0))/(L(G_maturity) - L(0)),  L(G) = 1/(1 + exp((midpoint - G)/width))
/// `seen` is in order of day and stage.
CropCourse crop_course(const CropKind& kind, double nitrogen_g_m2, int planting_day,
                       std::span<const DayRange> days, std::span<const StageSeen> seen = {});

/// Share of the season's N demand taken up at G degree days, 0 to 1.    docs/model.md, Eq. 45
double nitrogen_share(const CropKind& kind, double G_Kd);

}  // namespace stoverturn
