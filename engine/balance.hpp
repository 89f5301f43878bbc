#pragma once
#include "engine/simulate.hpp"

namespace stoverturn {

/// Books of one element at one time, g m-2.                          docs/model.md, Eq. 24
template <class Real>
struct Books {
  Real in;      ///< start + everything that entered
  Real stocks;  ///< in residue and field pools
  Real out;     ///< everything that left, net to soil included
  Real residual() const { return in - stocks - out; }
};

/// C, N, P, K, S in that order.
template <class Real>
std::array<Books<Real>, 5> books(const Job<Real>& job, const State<Real>& x);

/// Net mineral N that residue has given since the first harvest, g m-2; negative while N is tied up: what
/// came in with residue less all of it that is still organic or left so. `field` are the field pools.
template <class Real>
Real net_nitrogen_released(const Real& N_in_residue, const Real* field, const Real& CN_mic) {
  return field[residue_in_N] -
         (N_in_residue + field[som_C] / CN_mic + field[dom_N] + field[dom_out_N] + field[removed_N]);
}

}  // namespace stoverturn
