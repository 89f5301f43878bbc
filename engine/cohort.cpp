#include "engine/cohort.hpp"

namespace stoverturn {

template <class Real>
MicrobialRatios<Real> microbial_ratios(const Parameters<Real>& field) {
  return {Real(1.0) / field.CN_mic, Real(1.0) / field.CP_mic, Real(1.0) / field.CS_mic};
}

template <class Real>
CohortTraits<Real> cohort_traits(const Cohort& cohort, const Pieces& pieces, const Parameters<Real>& p,
                                 const Parameters<Real>& field) {
  const Stoichiometry<Real> fresh = stoichiometry(p);
  CohortTraits<Real> t;
  t.place = static_cast<std::size_t>(cohort.placement);
  t.falls_to = cohort.falls_to;
  t.k_sol = p.k_sol;
  t.k_hol = p.k_hol * p.tissue;
  t.k_lig = p.k_lig * p.tissue;
  t.k_rem = p.k_rem;
  t.k_dec = p.k_dec;
  t.p_lig = p.p_lig;
  t.opening = opening_rate(accessible_surface(pieces, p), p);
  t.lignin_share = fresh.C_lig / (fresh.C_hol + fresh.C_lig);
  t.e_sol = p.e_sol;
  t.e_hol = p.e_hol;
  t.e_lig = p.e_lig;
  t.e_rem = p.e_rem;
  t.a_rem = p.a_rem;
  t.a_som = p.a_som;
  t.k_wash_sol = p.k_wash_sol;
  t.k_leach = p.k_leach;
  t.b_closed = p.b_closed;
  t.q_sol = fresh.q_sol;
  t.q_str = fresh.q_str;
  t.q_mic = microbial_ratios(field);
  t.fresh.fill(Real(0.0));
  t.fresh[soluble] = fresh.C_sol;
  t.fresh[closed] = fresh.C_hol + fresh.C_lig;
  t.fresh[potassium] = fresh.K;
  t.fresh[phosphate] = fresh.P_inorganic;
  t.carbon = p.carbon;
  t.carbon_ash_free = p.carbon_ash_free;
  return t;
}

template <class Real>
Real carbon_in(const Real* x) {
  return x[soluble] + x[closed] + x[holocellulose] + x[lignin] + x[decomposers] + x[remains];
}

template <class Real>
Real element_in(const CohortTraits<Real>& t, Element e, const Real* x) {
  const Real organic = t.q_sol[e] * x[soluble] + t.q_str[e] * (x[closed] + x[holocellulose] + x[lignin]) +
                       t.q_mic[e] * (x[decomposers] + x[remains]);
  return e == phosphorus ? Real(organic + x[phosphate]) : organic;
}

template MicrobialRatios<double> microbial_ratios(const Parameters<double>&);
template MicrobialRatios<Dual> microbial_ratios(const Parameters<Dual>&);
template MicrobialRatios<Lanes> microbial_ratios(const Parameters<Lanes>&);
template CohortTraits<double> cohort_traits(const Cohort&, const Pieces&, const Parameters<double>&,
                                            const Parameters<double>&);
template CohortTraits<Dual> cohort_traits(const Cohort&, const Pieces&, const Parameters<Dual>&,
                                          const Parameters<Dual>&);
template CohortTraits<Lanes> cohort_traits(const Cohort&, const Pieces&, const Parameters<Lanes>&,
                                           const Parameters<Lanes>&);
template double carbon_in(const double*);
template Dual carbon_in(const Dual*);
template Lanes carbon_in(const Lanes*);
template double element_in(const CohortTraits<double>&, Element, const double*);
template Dual element_in(const CohortTraits<Dual>&, Element, const Dual*);
template Lanes element_in(const CohortTraits<Lanes>&, Element, const Lanes*);

}  // namespace stoverturn
