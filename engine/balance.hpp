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

}  // namespace stoverturn
