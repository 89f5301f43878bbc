#pragma once
#include "engine/decay.hpp"

namespace stoverturn {

/// One consumer of mineral N: a cohort's decomposers, or those of dissolved organic matter.
/// g N m-2 d-1 at 25 C and best moisture.                             docs/model.md, Eq. 9
template <class Real>
struct Demand {
  Real need;      ///< N of the growth
  Real shortage;  ///< M, not covered by what was decayed (>= 0)
  Real surplus;   ///< X, decayed beyond the need (>= 0)
  Real freed;     ///< Q, from its own dead
};

///   need = g q_mic;  own = sum q_i d_i;  y = 1 - own/(need + 1e-15);  m = (y + sqrt(y^2 + 0.02^2))/2
///   M = m need;  X = M - need + own
/// so that M - X = need - own for any sign of it.
template <class Real>
Demand<Real> demand(const Real& need, const Real& own, const Real& freed);

/// Element E in what a cohort decays, sum q_i d_i, g m-2 d-1.
template <class Real>
Real decayed_element(const CohortTraits<Real>& cohort, const DecayRates<Real>& rates, Element element);

/// Draw on an almost empty pool, smooth and never more than the pool: x^2/(x + 1e-4); as a share of it.
template <class Real>
Real usable_share(const Real& x);
template <class Real>
Real usable(const Real& x);

/// Mineral N within a consumer's reach, and the parts each pool has in it.        docs/model.md, Eq. 10
///   reach = r use(A + O) + [surface only] use(A_s)
template <class Real>
struct Reach {
  Real total;
  Real surface_share, nitrate_share;  ///< the rest is topsoil ammonium
};
template <class Real>
Reach<Real> reach(const Real& soil_reach, bool on_surface, const Real& ammonium, const Real& nitrate,
                  const Real& surface_ammonium);

/// N limiter, 0 to 1.                                                 docs/model.md, Eq. 11
///   l = (U + f Q)/(U + f Q + f M + 1e-15),  U = k_upt f reach (f need)/(sum_k f_k need_k + 1e-15),
/// above and below times that sum, which saves a division
template <class Real>
Real limiter(const Demand<Real>& d, const Real& f, const Real& k_upt, const Real& reach,
             const Real& total_need);

}  // namespace stoverturn
