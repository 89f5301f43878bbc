#include "engine/events.hpp"

#include <algorithm>
#include <functional>

#include "engine/errors.hpp"

namespace stoverturn {
namespace {

double at_most_one(double x) { return std::min(x, 1.0); }
Dual at_most_one(const Dual& x) { return x.value() < 1.0 ? x : Dual(1.0); }
Lanes at_most_one(const Lanes& x) { return x.min(1.0); }

template <class Real>
struct Apply {
  const std::vector<CohortTraits<Real>>& cohorts;
  State<Real>& x;

  Real* pools_of(int cohort) const { return x.data() + static_cast<std::size_t>(cohort) * pools; }
  Real* field() const { return x.data() + cohorts.size() * pools; }

  void count(const CohortTraits<Real>& c, const Real* amounts, FieldPool first_total) const {
    Real* total = field() + first_total;
    total[0] += carbon_in(amounts);
    total[1] += element_in(c, nitrogen, amounts);
    total[2] += element_in(c, phosphorus, amounts);
    total[3] += amounts[potassium];
    total[4] += element_in(c, sulfur, amounts);
  }

  void operator()(const Merge& merge) const {
    for (const Merge::Pair& pair : merge.cohorts) {
      for (std::size_t i = 0; i < pools; ++i) {
        pools_of(pair.to)[i] += pools_of(pair.from)[i];
        pools_of(pair.from)[i] = Real(0.0);
      }
    }
  }

  void operator()(const Harvest<Driver<Real>>& harvest) const {
    const CohortTraits<Real>& c = cohorts[static_cast<std::size_t>(harvest.cohort)];
    std::array<Real, pools> added;
    for (std::size_t i = 0; i < pools; ++i) {
      added[i] = c.fresh[i] * harvest.dry_matter_g_m2;
      pools_of(harvest.cohort)[i] += added[i];
    }
    count(c, added.data(), residue_in_C);
  }

  Real dry_matter(const std::vector<int>& of) const {
    Real mass(0.0);
    for (const int j : of) mass += carbon_in(pools_of(j)) / cohorts[static_cast<std::size_t>(j)].carbon;
    return mass;
  }

  void operator()(const Termination<Driver<Real>>& end) const {
    Real N_per_g = Real(0.0);
    for (const auto& part : end.parts) {
      const CohortTraits<Real>& c = cohorts[static_cast<std::size_t>(part.cohort)];
      N_per_g += part.share * element_in(c, nitrogen, c.fresh.data());
    }
    const Real dry_matter = field()[cover_N] / N_per_g;
    for (const auto& part : end.parts) {
      const CohortTraits<Real>& c = cohorts[static_cast<std::size_t>(part.cohort)];
      std::array<Real, pools> added;
      for (std::size_t i = 0; i < pools; ++i) {
        added[i] = c.fresh[i] * dry_matter * part.share;
        pools_of(part.cohort)[i] += added[i];
      }
      count(c, added.data(), residue_in_C);
    }
    field()[cover_returned_N] += field()[cover_N];
    field()[cover_N] = Real(0.0);
  }

  void operator()(const Removal<Driver<Real>>& removal) const {
    const Real there = dry_matter(removal.cohorts);
    const Real share =
        removal.by_mass ? at_most_one(Real(removal.amount / (there + Real(1e-12)))) : Real(removal.amount);
    field()[removed_dry_matter] += there * share;
    for (const int j : removal.cohorts) {
      const CohortTraits<Real>& c = cohorts[static_cast<std::size_t>(j)];
      std::array<Real, pools> taken;
      for (std::size_t i = 0; i < pools; ++i) {
        Real& pool = pools_of(j)[i];
        taken[i] = pool * share;
        pool -= taken[i];
      }
      count(c, taken.data(), removed_C);
      give_back(removed_N, surface_urea_N, Real(element_in(c, nitrogen, taken.data()) * removal.returned));
      give_back(removed_P, to_soil_P, Real(element_in(c, phosphorus, taken.data()) * removal.returned));
      give_back(removed_K, to_soil_K, Real(taken[potassium] * removal.returned));
      give_back(removed_S, to_soil_S, Real(element_in(c, sulfur, taken.data()) * removal.returned));
    }
  }

  void give_back(FieldPool from, FieldPool to, const Real& amount) const {
    field()[from] -= amount;
    field()[to] += amount;
  }

  void operator()(const Tillage<Driver<Real>>& tillage) const {
    const State<Real> before = x;
    for (const Move<Driver<Real>>& move : tillage.moves) {
      const Real* from = before.data() + static_cast<std::size_t>(move.from) * pools;
      for (std::size_t i = 0; i < pools; ++i) {
        const Real moved = from[i] * move.share;
        pools_of(move.from)[i] -= moved;
        pools_of(move.to)[i] += moved;
      }
    }
  }

  void operator()(const Fertiliser<Driver<Real>>& f) const {
    field()[f.on_surface ? surface_urea_N : ammonium_N] += Real(f.urea_N);
    field()[f.on_surface ? surface_ammonium_N : ammonium_N] += Real(f.ammonium_N);
    field()[ammonium_N] += Real(f.urea_in_soil_N);
    field()[nitrate_N] += Real(f.nitrate_N);
    field()[manure_N] += Real(f.organic_N);
    field()[manure_stable_N] += Real(f.stable_N);
    field()[volatilised_N] += Real(f.lost_N);
    field()[fertiliser_in_N] +=
        Real(f.urea_N + f.ammonium_N + f.nitrate_N + f.urea_in_soil_N + f.organic_N + f.stable_N + f.lost_N);
    field()[fertiliser_in_S] += Real(f.sulfur);
    field()[to_soil_S] += Real(f.sulfur);
  }
};

/// Eight events of one kind, one a lane.
template <class What>
using Eight = std::array<const What*, 8>;

/// An amount of each lane; `of` is a member or a function of an event.
template <class What, class Amount>
Lanes amounts(const Eight<What>& lanes, Amount of) {
  Lanes x;
  for (std::size_t i = 0; i < lanes.size(); ++i) x[static_cast<Eigen::Index>(i)] = std::invoke(of, *lanes[i]);
  return x;
}

/// What must be the same in all lanes.
template <class What, class Part>
auto shared(const Eight<What>& lanes, Part of) {
  for (const What* lane : lanes) {
    if (std::invoke(of, *lane) != std::invoke(of, *lanes[0])) {
      throw JobError("events of lanes differ in more than amounts");
    }
  }
  return std::invoke(of, *lanes[0]);
}

Merge joined(const Eight<Merge>& l) { return {shared(l, &Merge::cohorts)}; }

Harvest<Lanes> joined(const Eight<Harvest<double>>& l) {
  using Of = Harvest<double>;
  return {shared(l, &Of::cohort), amounts(l, &Of::dry_matter_g_m2)};
}

Removal<Lanes> joined(const Eight<Removal<double>>& l) {
  using Of = Removal<double>;
  return {shared(l, &Of::cohorts), amounts(l, &Of::amount), amounts(l, &Of::returned),
          shared(l, &Of::by_mass)};
}

Termination<Lanes> joined(const Eight<Termination<double>>& l) {
  using Of = Termination<double>;
  Termination<Lanes> lanes;
  const std::size_t parts = shared(l, [](const Of& end) { return end.parts.size(); });
  for (std::size_t i = 0; i < parts; ++i) {
    lanes.parts.push_back({shared(l, [i](const Of& end) { return end.parts[i].cohort; }),
                           amounts(l, [i](const Of& end) { return end.parts[i].share; })});
  }
  return lanes;
}

Tillage<Lanes> joined(const Eight<Tillage<double>>& l) {
  using Of = Tillage<double>;
  Tillage<Lanes> lanes;
  const std::size_t moves = shared(l, [](const Of& pass) { return pass.moves.size(); });
  for (std::size_t i = 0; i < moves; ++i) {
    lanes.moves.push_back({shared(l, [i](const Of& pass) { return pass.moves[i].from; }),
                           shared(l, [i](const Of& pass) { return pass.moves[i].to; }),
                           amounts(l, [i](const Of& pass) { return pass.moves[i].share; })});
  }
  return lanes;
}

Fertiliser<Lanes> joined(const Eight<Fertiliser<double>>& l) {
  using Of = Fertiliser<double>;
  return {amounts(l, &Of::urea_N),    amounts(l, &Of::ammonium_N), amounts(l, &Of::nitrate_N),
          amounts(l, &Of::sulfur),    shared(l, &Of::on_surface),  amounts(l, &Of::urea_in_soil_N),
          amounts(l, &Of::organic_N), amounts(l, &Of::stable_N),   amounts(l, &Of::lost_N)};
}

}  // namespace

Event<Lanes> in_lanes(const std::array<const Event<double>*, 8>& lanes) {
  const int day = shared(lanes, &Event<double>::day);
  shared(lanes, [](const Event<double>& e) { return e.what.index(); });
  return std::visit(
      [&]<class What>(const What&) {
        Eight<What> of_kind;
        for (std::size_t i = 0; i < lanes.size(); ++i) of_kind[i] = &std::get<What>(lanes[i]->what);
        return Event<Lanes>{day, joined(of_kind)};
      },
      lanes[0]->what);
}

template <class D>
void sort_events(std::vector<Event<D>>& events) {
  std::stable_sort(events.begin(), events.end(), [](const Event<D>& a, const Event<D>& b) {
    return a.day != b.day ? a.day < b.day : a.what.index() < b.what.index();
  });
}

template <class Real>
void apply(const Event<Driver<Real>>& event, const std::vector<CohortTraits<Real>>& cohorts, State<Real>& x) {
  std::visit(Apply<Real>{cohorts, x}, event.what);
}

template void sort_events(std::vector<Event<double>>&);
template void sort_events(std::vector<Event<Lanes>>&);
template void apply<double>(const Event<double>&, const std::vector<CohortTraits<double>>&, State<double>&);
template void apply<Dual>(const Event<double>&, const std::vector<CohortTraits<Dual>>&, State<Dual>&);
template void apply<Lanes>(const Event<Lanes>&, const std::vector<CohortTraits<Lanes>>&, State<Lanes>&);

}  // namespace stoverturn
