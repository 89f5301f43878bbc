#include "engine/nitrogen_limitation.hpp"

namespace stoverturn {

template <class Real>
Demand<Real> demand(const Real& need, const Real& own, const Real& freed) {
  using std::sqrt;
  const Real y = Real(1.0) - own / (need + Real(1e-15));
  const Real m = Real(0.5) * (y + sqrt(Real(y * y + Real(0.02 * 0.02))));
  Demand<Real> d;
  d.need = need;
  d.shortage = m * need;
  d.surplus = d.shortage - need + own;
  d.freed = freed;
  return d;
}

template <class Real>
Real decayed_element(const CohortTraits<Real>& c, const DecayRates<Real>& d, Element e) {
  return c.q_sol[e] * d.sol + c.q_str[e] * (d.hol + d.lig) + c.q_mic[e] * d.rem;
}

template <class Real>
Real usable_share(const Real& x) {
  return x / (x + Real(1e-4));
}

template <class Real>
Real usable(const Real& x) {
  return x * usable_share(x);
}

template <class Real>
Reach<Real> reach(const Real& soil_reach, bool on_surface, const Real& ammonium, const Real& nitrate,
                  const Real& surface_ammonium) {
  const Real soil = ammonium + nitrate;
  const Real soil_share = soil_reach * usable_share(soil);
  const Real from_surface = on_surface ? usable(surface_ammonium) : Real(0.0);
  Reach<Real> r;
  r.total = soil_share * soil + from_surface;
  const Real of_total = Real(1.0) / (r.total + Real(1e-30));
  r.surface_share = from_surface * of_total;
  r.nitrate_share = soil_share * nitrate * of_total;
  return r;
}

template <class Real>
Real limiter(const Demand<Real>& d, const Real& f, const Real& k_upt, const Real& reach_total,
             const Real& total_need) {
  const Real total = total_need + Real(1e-15);
  const Real supply = f * (k_upt * reach_total * f * d.need + d.freed * total);
  return supply / (supply + (f * d.shortage + Real(1e-15)) * total);
}

template Demand<double> demand(const double&, const double&, const double&);
template Demand<Dual> demand(const Dual&, const Dual&, const Dual&);
template Demand<Lanes> demand(const Lanes&, const Lanes&, const Lanes&);
template double decayed_element(const CohortTraits<double>&, const DecayRates<double>&, Element);
template Dual decayed_element(const CohortTraits<Dual>&, const DecayRates<Dual>&, Element);
template Lanes decayed_element(const CohortTraits<Lanes>&, const DecayRates<Lanes>&, Element);
template double usable_share(const double&);
template double usable(const double&);
template Dual usable_share(const Dual&);
template Dual usable(const Dual&);
template Lanes usable_share(const Lanes&);
template Lanes usable(const Lanes&);
template Reach<double> reach(const double&, bool, const double&, const double&, const double&);
template Reach<Dual> reach(const Dual&, bool, const Dual&, const Dual&, const Dual&);
template Reach<Lanes> reach(const Lanes&, bool, const Lanes&, const Lanes&, const Lanes&);
template double limiter(const Demand<double>&, const double&, const double&, const double&, const double&);
template Dual limiter(const Demand<Dual>&, const Dual&, const Dual&, const Dual&, const Dual&);
template Lanes limiter(const Demand<Lanes>&, const Lanes&, const Lanes&, const Lanes&, const Lanes&);

}  // namespace stoverturn
