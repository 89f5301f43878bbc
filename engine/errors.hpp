#pragma once
#include <stdexcept>
#include <string>

namespace stoverturn {

/// The integrator gave up. Carries when and where, so that a fit can turn a bad trial point into a bad score.
struct IntegrationError : std::runtime_error {
  IntegrationError(double time_d_, std::size_t state_, const std::string& cause)
      : std::runtime_error(cause), time_d(time_d_), state(state_) {}
  double time_d;      ///< days from the start of the run
  std::size_t state;  ///< index of the pool with the largest error; `what()` is the likely cause
};

/// A job that cannot be run: our own mistake or a caller's, never the weather's.
struct JobError : std::invalid_argument {
  using std::invalid_argument::invalid_argument;
};

}  // namespace stoverturn
