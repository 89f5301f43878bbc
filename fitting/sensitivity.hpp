#pragma once
#include <functional>
#include <vector>

#include "engine/job_plan.hpp"

namespace stoverturn {

/// A parameter that may be estimated: of one component of the layout, or of the field (-1).
struct FreeParameter {
  const ParameterRow* row = nullptr;
  int component = -1;
};

/// What is measured of a state, such as mass left or nitrogen of a bag.
using Observable = std::function<Dual(const Job<Dual>& job, const State<Dual>& x)>;

/// Values of an observable and their derivatives with respect to parameters.
struct Sensitivities {
  Outcome outcome;           ///< of the first pass that failed, else of the last; what follows stands when ok
  Eigen::VectorXd values;    ///< by day asked for
  Eigen::MatrixXd jacobian;  ///< days x parameters, in the observable's unit per unit of the parameter's row
};

/// Simulates once for every eight parameters with forward derivatives. A parameter of scope `driver` has no
/// derivative: std::invalid_argument. `days` ascend and lie within the plan.
Sensitivities sensitivities(const JobPlan<double>& plan, const Parameters<double>& field,
                            const std::vector<Parameters<double>>& components,
                            const std::vector<FreeParameter>& free, const std::vector<int>& days,
                            const Observable& observable);

}  // namespace stoverturn
