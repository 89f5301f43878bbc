#pragma once
#include <cstddef>
#include <vector>

namespace stoverturn {

/// Where residue lies. Indexes every array "by placement".
enum class Placement { standing, surface, buried };
inline constexpr std::size_t placements = 3;

/// Elements of decomposers and organic matter that follow carbon. Indexes every array "by element".
enum Element { nitrogen, phosphorus, sulfur };
inline constexpr std::size_t elements = 3;

/// The state of one cohort, g m-2 of C, K or P.          docs/model.md, section 1
enum Pool {
  soluble,        ///< S   neutral-detergent solubles
  closed,         ///< Z   holocellulose and lignin that no decomposer has reached
  holocellulose,  ///< H   open
  lignin,         ///< L   open
  decomposers,    ///< B
  remains,        ///< R   microbial remains that stay with the residue
  potassium,      ///< K
  phosphate,      ///< Pi  inorganic P
};
inline constexpr std::size_t pools = 8;

/// The state of the field, g m-2: stocks, running totals of what entered or left, and last all that is the
/// same from one event to the next.
enum FieldPool {
  som_C,  ///< what dead decomposers handed to the soil, at the decomposers' ratios
  dom_C,
  dom_N,
  dom_P,
  dom_S,  ///< leached solubles in the topsoil
  surface_urea_N,
  surface_urea_ammonium_N,  ///< ammonium from urea, lying in an alkaline spot
  surface_ammonium_N,       ///< ammonium spread as such
  manure_N,                 ///< organic N of manure that becomes mineral
  ammonium_N,
  nitrate_N,  ///< topsoil
  subsoil_nitrate_N,
  cover_N,  ///< in a living cover crop
  deposition_in_N,
  background_in_N,
  respired_C,
  dom_out_C,
  dom_out_N,
  dom_out_P,
  dom_out_S,  ///< carried below the topsoil
  leached_N,
  volatilised_N,
  denitrified_N,
  crop_N,
  to_soil_P,
  to_soil_K,
  to_soil_S,  ///< net; P and S may be negative
  // from here on only events change a pool
  manure_stable_N,  ///< organic N of manure that stays
  residue_in_C,
  residue_in_N,
  residue_in_P,
  residue_in_K,
  residue_in_S,
  fertiliser_in_N,
  fertiliser_in_S,
  cover_returned_N,  ///< of cover_N, to residue
  removed_C,
  removed_N,
  removed_P,
  removed_K,
  removed_S,
  removed_dry_matter,  ///< no part of a balance
};
inline constexpr std::size_t field_pools = removed_dry_matter + 1;
inline constexpr std::size_t moving_field_pools = manure_stable_N;

/// In place of a harvest: all those whose residue has been merged.
inline constexpr int older_harvests = -1;
/// In place of a harvest: all terminations of a cover crop.
inline constexpr int cover_crops = -2;

/// Who a cohort is: one component of one piece class in one placement from one harvest.
struct Cohort {
  int component = 0;
  int pieces = 0;  ///< index into the piece classes
  Placement placement = Placement::surface;
  int harvest = 0;    ///< harvests that are not on the field at once may share a number
  int falls_to = -1;  ///< cohort that standing residue falls to; -1: none
  bool operator==(const Cohort&) const = default;
};

/// All cohorts a scenario will ever have, and where they stand in the state vector: 8 pools a cohort, then
/// the field.
struct Layout {
  std::vector<Cohort> cohorts;
  std::size_t size() const { return cohorts.size() * pools + field_pools; }
  std::size_t field() const { return cohorts.size() * pools; }
  std::size_t moving() const { return field() + moving_field_pools; }  ///< those that are integrated
};

template <class Real>
using State = std::vector<Real>;

}  // namespace stoverturn
