#include "fitting/sensitivity.hpp"

#include <algorithm>
#include <stdexcept>
#include <string>

namespace stoverturn {
namespace {
constexpr Eigen::Index directions = Dual::DerType::RowsAtCompileTime;
}

Sensitivities sensitivities(const JobPlan<double>& plan, const Parameters<double>& field,
                            const std::vector<Parameters<double>>& components,
                            const std::vector<FreeParameter>& free, const std::vector<int>& days,
                            const Observable& observable) {
  for (const FreeParameter& f : free) {
    if (f.row->scope == Scope::driver) {
      throw std::invalid_argument(std::string(f.row->name) +
                                  " is used before the simulation and has no derivative");
    }
  }
  const Eigen::Index n = static_cast<Eigen::Index>(free.size());
  Sensitivities result;
  result.values.setZero(static_cast<Eigen::Index>(days.size()));
  result.jacobian.setZero(static_cast<Eigen::Index>(days.size()), n);

  for (Eigen::Index first = 0; first == 0 || first < n; first += directions) {
    const Eigen::Index last = std::min(n, first + directions);
    Parameters<Dual> dual_field = convert<Dual>(field);
    std::vector<Parameters<Dual>> dual_components;
    for (const Parameters<double>& c : components) dual_components.push_back(convert<Dual>(c));
    for (Eigen::Index i = first; i < last; ++i) {
      const FreeParameter& f = free[static_cast<std::size_t>(i)];
      Parameters<Dual>& owner =
          f.component < 0 ? dual_field : dual_components[static_cast<std::size_t>(f.component)];
      at(owner, *f.row).derivatives()[i - first] = 1.0;
    }
    const Job<Dual> job = make_job<Dual>(plan, dual_field, dual_components);
    std::size_t next = 0;
    result.outcome = simulate<Dual>(job, [&](int day, const State<Dual>& x) {
      if (next >= days.size() || days[next] != day) return;
      const Dual value = observable(job, x);
      const Eigen::Index row = static_cast<Eigen::Index>(next++);
      result.values[row] = value.value();
      result.jacobian.row(row).segment(first, last - first) =
          value.derivatives().head(last - first).transpose();
    });
    if (!result.outcome.ok) return result;
  }
  return result;
}

}  // namespace stoverturn
