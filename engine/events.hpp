#pragma once
#include <array>
#include <span>
#include <variant>
#include <vector>

#include "engine/cohort.hpp"

namespace stoverturn {

/// Events act in one instant at the start of a day, in the order of the variant below and then of the file.
/// Amounts have the driver type `D`: a lane without an event has zero there.     docs/model.md, Eq. 23

/// Residue of old harvests becomes one with older residue of the same component, pieces and placement, so
/// that the state stays small over many years. All of `from` joins `to`. Every pool adds, and so does every
/// content, for both have the ratios of one component: nothing is lost or made.   docs/model.md, Eq. 23
struct Merge {
  struct Pair {
    int from, to;
    bool operator==(const Pair&) const = default;
  };
  std::vector<Pair> cohorts;
};

/// Fresh dry matter falls onto a cohort.
template <class D>
struct Harvest {
  int cohort;
  D dry_matter_g_m2;
};

/// A cover crop ends: what N it holds becomes residue of these cohorts, as much dry matter as that N makes at
/// their contents. Shares are of dry matter, together 1.
template <class D>
struct Termination {
  struct Part {
    int cohort;
    D share;
  };
  std::vector<Part> parts;
};

/// Residue leaves the field (baling, grazing): the same share of each of the cohorts, or of all of them
/// together a mass of dry matter, at most what lies there. `returned` of its N, P, K and S comes back at once
/// as dung and urine: N as urea on the surface, the rest to the soil; its carbon does not.
template <class D>
struct Removal {
  std::vector<int> cohorts;
  D amount;  ///< share, or g m-2 of dry matter
  D returned;
  bool by_mass = false;
};

/// A pass of an implement: shares of cohorts move to others of the same component and harvest. All moves of a
/// pass see the state before it.
template <class D>
struct Move {
  int from, to;
  D share;
};
template <class D>
struct Tillage {
  std::vector<Move<D>> moves;
};

/// N and S in g m-2. On the surface urea and ammonium lie in pools of their own; placed in the soil they join
/// topsoil ammonium. Nitrate goes to the topsoil at once, S to the soil; so does the organic N of manure, of
/// which a part becomes mineral. `lost_N` leaves as ammonia while it is applied and is not in the others.
template <class D>
struct Fertiliser {
  D urea_N, ammonium_N, nitrate_N, sulfur;
  bool on_surface;
  D urea_in_soil_N =
      D(0.0);  ///< urea that an inhibitor keeps until it is in the soil, wherever it was spread
  D organic_N = D(0.0), stable_N = D(0.0), lost_N = D(0.0);
};

template <class D>
struct Event {
  int day;
  std::variant<Merge, Harvest<D>, Termination<D>, Removal<D>, Tillage<D>, Fertiliser<D>> what;
};

/// Sorts by day and kind; events of one day and kind keep their order.
template <class D>
void sort_events(std::vector<Event<D>>& events);

/// Eight events that differ in amounts alone, one a lane. Throws JobError where they differ in more.
Event<Lanes> in_lanes(const std::array<const Event<double>*, 8>& lanes);

template <class Real>
void apply(const Event<Driver<Real>>& event, const std::vector<CohortTraits<Real>>& cohorts, State<Real>& x);

}  // namespace stoverturn
