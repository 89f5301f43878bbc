#pragma once
/// Problems with exact answers, for the integrator. Names and years of sources from memory; the answers are
/// checked by the order test, which fails for a wrong one.
#include <cmath>
#include <functional>
#include <string>
#include <vector>

#include "engine/integrate.hpp"

namespace stoverturn {

struct Problem {
  std::string name;
  State<double> start;
  double end;  ///< of the interval from 0 on which it is solved
  Stepper<double>::System system;
  std::function<State<double>(double t)> exact;
};

/// x' = -k x.
inline Problem decay_problem(double k = 0.7) {
  return {"decay",
          {3.0},
          8.0,
          [k](const State<double>& x, State<double>& dxdt, double) { dxdt[0] = -k * x[0]; },
          [k](double t) -> State<double> { return {3.0 * std::exp(-k * t)}; }};
}

/// One pool feeds the next, the last keeps everything [Bateman 1910].
inline Problem chain_problem(double k1 = 0.9, double k2 = 0.3) {
  return {"chain",
          {5.0, 0.0, 0.0},
          8.0,
          [k1, k2](const State<double>& x, State<double>& dxdt, double) {
            dxdt[0] = -k1 * x[0];
            dxdt[1] = k1 * x[0] - k2 * x[1];
            dxdt[2] = k2 * x[1];
          },
          [k1, k2](double t) -> State<double> {
            const double first = 5.0 * std::exp(-k1 * t);
            const double second = 5.0 * k1 / (k2 - k1) * (std::exp(-k1 * t) - std::exp(-k2 * t));
            return {first, second, 5.0 - first - second};
          }};
}

/// Resting oscillator set going by a force: x'' + 4 x = cos t, so x = (cos t - cos 2t)/3. Depends on t.
inline Problem driven_problem() {
  return {"driven oscillation",
          {0.0, 0.0},
          8.0,
          [](const State<double>& x, State<double>& dxdt, double t) {
            dxdt[0] = x[1];
            dxdt[1] = std::cos(t) - 4.0 * x[0];
          },
          [](double t) -> State<double> {
            return {(std::cos(t) - std::cos(2.0 * t)) / 3.0, (2.0 * std::sin(2.0 * t) - std::sin(t)) / 3.0};
          }};
}

/// Limited growth x' = r x (1 - x), not linear [Verhulst 1838].
inline Problem growth_problem(double r = 1.3) {
  return {"limited growth",
          {0.05},
          8.0,
          [r](const State<double>& x, State<double>& dxdt, double) { dxdt[0] = r * x[0] * (1.0 - x[0]); },
          [r](double t) -> State<double> { return {1.0 / (1.0 + 19.0 * std::exp(-r * t))}; }};
}

inline std::vector<Problem> solvable_problems() {
  return {decay_problem(), chain_problem(), driven_problem(), growth_problem()};
}

/// Growth factor of one step of size h on x' = lambda x, z = h lambda: the scheme's stability function
/// [Hairer and Wanner 1996, section IV.2; from memory, and confirmed by the order test].
inline double dormand_prince_factor(double z) {
  return 1.0 + z * (1.0 + z / 2.0 * (1.0 + z / 3.0 * (1.0 + z / 4.0 * (1.0 + z / 5.0 * (1.0 + z / 5.0)))));
}

}  // namespace stoverturn
