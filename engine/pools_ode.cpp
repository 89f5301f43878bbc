#include "engine/pools_ode.hpp"

#include <algorithm>

#include "engine/leaching.hpp"
#include "engine/mineral_nitrogen.hpp"

namespace stoverturn {
namespace {

/// N taken from and given to the mineral pools by one consumer.       docs/model.md, Eq. 35
template <class Real>
void add_exchange(const Demand<Real>& d, const Reach<Real>& within, const Real& urea_part, const Real& f,
                  const Real& l, Real* field_dxdt) {
  const Real taken = f * l * d.shortage;
  const Real given = f * (l * d.surplus + d.freed);
  const Real from_surface = within.surface_share * taken;
  const Real from_nitrate = within.nitrate_share * taken;
  field_dxdt[surface_urea_ammonium_N] -= urea_part * from_surface;
  field_dxdt[surface_ammonium_N] -= (Real(1.0) - urea_part) * from_surface;
  field_dxdt[nitrate_N] -= from_nitrate;
  field_dxdt[ammonium_N] += given - (taken - from_surface - from_nitrate);
}

/// P or S between a cohort's decomposers and the soil, no limiter. docs/model.md, Eq. 36
template <class Real>
Real net_to_soil(const CohortTraits<Real>& c, const DecayRates<Real>& d, Element e, const Real& f,
                 const Real& l) {
  const Real freed = d.death * c.q_mic[e] * (Real(1.0) - c.a_rem - c.a_som);
  return f * (l * (decayed_element(c, d, e) - d.growth * c.q_mic[e]) + freed);
}

/// Standing residue falls as it is: all pools at one rate.            docs/model.md, Eq. 37
template <class Real>
void add_fall(const Real& k_fall, const Real* x, Real* dxdt, Real* fallen_dxdt) {
  for (std::size_t i = 0; i < pools; ++i) {
    const Real falls = k_fall * x[i];
    dxdt[i] -= falls;
    fallen_dxdt[i] += falls;
  }
}

}  // namespace

template <class Real>
PoolsOde<Real>::PoolsOde(const std::vector<CohortTraits<Real>>& cohorts, const Parameters<Real>& field)
    : cohorts_(cohorts),
      field_(field),
      q_mic_(microbial_ratios(field)),
      rates_(cohorts.size()),
      demands_(cohorts.size()) {
  occupied_[static_cast<std::size_t>(Placement::buried)] = true;  // by dissolved organic matter
  for (const CohortTraits<Real>& c : cohorts) occupied_[c.place] = true;
}

template <class Real>
void PoolsOde<Real>::operator()(const State<Real>& state, State<Real>& derivative, double) {
  ++calls_;
  std::fill(derivative.begin(), derivative.end(), Real(0.0));
  const std::size_t n = cohorts_.size();
  const Real* field_x = state.data() + n * pools;
  Real* field_dxdt = derivative.data() + n * pools;

  // what every consumer would do, and the N they would all need
  const Demand<Real> dissolved = dissolved_demand(field_, q_mic_, field_x);
  Real total_need = day_.f_soil * dissolved.need;
  for (std::size_t j = 0; j < n; ++j) {
    const CohortTraits<Real>& c = cohorts_[j];
    const DecayRates<Real>& d = rates_[j] = decay_rates(c, state.data() + j * pools);
    const Real freed = d.death * c.q_mic[nitrogen] * (Real(1.0) - c.a_rem - c.a_som);
    demands_[j] = demand<Real>(d.growth * c.q_mic[nitrogen], decayed_element(c, d, nitrogen), freed);
    total_need += day_.f[c.place] * demands_[j].need;
  }

  // what each can do with the N within its reach
  const Real surface_ammonium = field_x[surface_urea_ammonium_N] + field_x[surface_ammonium_N];
  const Real urea_part = field_x[surface_urea_ammonium_N] / (surface_ammonium + Real(1e-30));
  const std::array<Real, placements> soil_reach = {field_.standing_reach, field_.contact, Real(1.0)};
  std::array<Reach<Real>, placements> within;
  for (std::size_t place = 0; place < placements; ++place) {
    if (!occupied_[place]) continue;
    const bool on_surface = place == static_cast<std::size_t>(Placement::surface);
    within[place] =
        reach(soil_reach[place], on_surface, field_x[ammonium_N], field_x[nitrate_N], surface_ammonium);
  }
  const Reach<Real>& in_soil = within[static_cast<std::size_t>(Placement::buried)];
  const Real l_dissolved = limiter(dissolved, day_.f_soil, field_.k_upt, in_soil.total, total_need);
  add_exchange(dissolved, in_soil, urea_part, day_.f_soil, l_dissolved, field_dxdt);
  add_soil_organic(field_, q_mic_, day_, l_dissolved, field_x, field_dxdt);
  add_mineral_nitrogen(field_, day_, field_x, field_dxdt);

  for (std::size_t j = 0; j < n; ++j) {
    const CohortTraits<Real>& c = cohorts_[j];
    const Real* x = state.data() + j * pools;
    Real* dxdt = derivative.data() + j * pools;
    const Real& f = day_.f[c.place];
    const Real l = limiter(demands_[j], f, field_.k_upt, within[c.place].total, total_need);
    add_decay(c, rates_[j], f, l, dxdt, field_dxdt);
    add_exchange(demands_[j], within[c.place], urea_part, f, l, field_dxdt);
    add_leaching(c, day_.water_mm_d[c.place], x, dxdt, field_dxdt);
    field_dxdt[to_soil_P] += net_to_soil(c, rates_[j], phosphorus, f, l);
    field_dxdt[to_soil_S] += net_to_soil(c, rates_[j], sulfur, f, l);
    if (c.falls_to >= 0) {
      add_fall(field_.k_fall, x, dxdt, derivative.data() + static_cast<std::size_t>(c.falls_to) * pools);
    }
  }
}

template class PoolsOde<double>;
template class PoolsOde<Dual>;
template class PoolsOde<Lanes>;

}  // namespace stoverturn
