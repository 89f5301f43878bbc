#pragma once
/// CVODE of SUNDIALS [Hindmarsh et al. 2005, from memory] on the engine's right-hand side: a reference to
/// hold integrators against.
#include <algorithm>
#include <stdexcept>
#include <string>

#include "engine/pools_ode.hpp"
#include "tests/sundials_compat.hpp"

namespace stoverturn {

inline void require_success(int flag, const char* call) {
  if (flag < 0) throw std::runtime_error(std::string(call) + " failed with " + std::to_string(flag));
}

enum class Multistep {
  bdf,   ///< implicit; Newton and a dense Jacobian by differences
  adams  ///< functional iteration, no Jacobian
};

class Cvode {
 public:
  Cvode(PoolsOde<double>& ode, std::size_t size, double relative, double absolute,
        Multistep method = Multistep::bdf)
      : ode_(ode), state_(size), slope_(size) {
    require_success(make_sundials_context(&context_), "SUNContext_Create");
    const auto n = static_cast<sunindextype>(size);
    x_ = N_VNew_Serial(n, context_);
    N_VConst(0.0, x_);
    memory_ = CVodeCreate(method == Multistep::bdf ? CV_BDF : CV_ADAMS, context_);
    require_success(CVodeInit(memory_, right_hand_side, 0.0, x_), "CVodeInit");
    require_success(CVodeSStolerances(memory_, relative, absolute), "CVodeSStolerances");
    require_success(CVodeSetUserData(memory_, this), "CVodeSetUserData");
    if (method == Multistep::bdf) {
      jacobian_ = SUNDenseMatrix(n, n, context_);
      linear_ = SUNLinSol_Dense(x_, jacobian_, context_);
      require_success(CVodeSetLinearSolver(memory_, linear_, jacobian_), "CVodeSetLinearSolver");
    } else {
      fixed_point_ = SUNNonlinSol_FixedPoint(x_, 0, context_);
      require_success(CVodeSetNonlinearSolver(memory_, fixed_point_), "CVodeSetNonlinearSolver");
    }
    require_success(CVodeSetMaxNumSteps(memory_, 100000), "CVodeSetMaxNumSteps");
  }
  Cvode(const Cvode&) = delete;
  Cvode& operator=(const Cvode&) = delete;
  ~Cvode() {
    CVodeFree(&memory_);
    if (linear_) SUNLinSolFree(linear_);
    if (jacobian_) SUNMatDestroy(jacobian_);
    if (fixed_point_) SUNNonlinSolFree(fixed_point_);
    N_VDestroy(x_);
    SUNContext_Free(&context_);
  }

  /// Begins at `from_d` without what it knew of the steps before: for a state or rates that have jumped.
  void restart(const State<double>& x, double from_d) {
    std::copy(x.begin(), x.end(), N_VGetArrayPointer(x_));
    require_success(CVodeReInit(memory_, from_d, x_), "CVodeReInit");
  }
  /// Goes on to `to_d` and not beyond.
  void go_on(State<double>& x, double to_d) {
    require_success(CVodeSetStopTime(memory_, to_d), "CVodeSetStopTime");
    sunrealtype reached = 0.0;
    require_success(CVode(memory_, to_d, x_, &reached, CV_NORMAL), "CVode");
    const sunrealtype* end = N_VGetArrayPointer(x_);
    std::copy(end, end + x.size(), x.begin());
  }
  void advance(State<double>& x, double from_d, double to_d) {
    restart(x, from_d);
    go_on(x, to_d);
  }

 private:
  static int right_hand_side(sunrealtype t, N_Vector x, N_Vector dxdt, void* self) {
    auto& cvode = *static_cast<Cvode*>(self);
    const sunrealtype* from = N_VGetArrayPointer(x);
    std::copy(from, from + cvode.state_.size(), cvode.state_.begin());
    cvode.ode_(cvode.state_, cvode.slope_, t);
    std::copy(cvode.slope_.begin(), cvode.slope_.end(), N_VGetArrayPointer(dxdt));
    return 0;
  }

  PoolsOde<double>& ode_;
  State<double> state_, slope_;
  SUNContext context_ = nullptr;
  N_Vector x_ = nullptr;
  SUNMatrix jacobian_ = nullptr;
  SUNLinearSolver linear_ = nullptr;
  SUNNonlinearSolver fixed_point_ = nullptr;
  void* memory_ = nullptr;
};

}  // namespace stoverturn
