#pragma once
#include <functional>
#include <memory>

#include "engine/layout.hpp"
#include "engine/scalar.hpp"

namespace stoverturn {

/// Error control: a step is accepted when every pool's error is within absolute + relative |pool|.
struct Tolerance {
  double relative = 1e-7;
  double absolute = 1e-8;  ///< g m-2; a field holds some 400 g C m-2 of residue
  int most_steps_a_day = 2000;
  bool operator==(const Tolerance&) const = default;
};

struct StepCounts {
  long accepted = 0;
  long rejected = 0;
};

/// Dormand-Prince 5(4) over spans in which the right-hand side does not jump. The step size is carried from
/// span to span; the slope kept from the last step is not.
template <class Real>
class Stepper {
 public:
  using System = std::function<void(const State<Real>&, State<Real>&, double)>;
  explicit Stepper(const Tolerance& tolerance);
  ~Stepper();
  Stepper(Stepper&&) noexcept;
  Stepper& operator=(Stepper&&) noexcept;

  /// Advances `x` from `from_d` to `to_d`. Throws IntegrationError when the step limit is reached or a pool
  /// is no longer finite.
  void advance(const System& system, State<Real>& x, double from_d, double to_d);
  const StepCounts& counts() const;

 private:
  struct Inside;
  std::unique_ptr<Inside> inside_;
};

}  // namespace stoverturn
