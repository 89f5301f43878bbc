#pragma once
#include <functional>
#include <limits>
#include <vector>

#include "engine/job_plan.hpp"

namespace stoverturn {

/// What a number of a trial measures. Bags hold residue of the first harvest: shares of residue count cohorts
/// of Cohort::harvest 0 alone, so plans must not merge it with older residue or give its number away.
enum class Measure {
  mass,              ///< of residue, share of what was there at the start; so are the next five
  carbon,            ///<
  nitrogen_left,     ///<
  phosphorus_left,   ///<
  potassium_left,    ///<
  sulfur_left,       ///<
  respired,          ///< CO2-C since the start, share of all residue C until then
  mineral_nitrogen,  ///< of the topsoil, g m-2
  cover,             ///< share of the soil covered, docs/model.md, Eq. 34
};
inline constexpr std::size_t measures = 9;

/// One number of the trial: of a bag, or the mean of `n` bags.
struct Observation {
  std::size_t treatment = 0;
  Measure measure = Measure::mass;
  int component = -1;  ///< index into the treatment's components; -1: all together
  int placement = -1;  ///< Placement; -1: all together
  int day = 0;         ///< of the run
  double value = 0.0;
  double sd = not_stated;  ///< between bags; NaN: not known
  int n = 1;

  static constexpr double not_stated = std::numeric_limits<double>::quiet_NaN();
};

/// One treatment of a trial: a simulation and the parameters it has where nothing is estimated.
struct TrialTreatment {
  JobPlan<double> plan;
  Parameters<double> field;
  std::vector<Parameters<double>> components;
};

/// One place that an estimated parameter is written to. Several slots may share a parameter.
struct Slot {
  std::size_t treatment = 0;
  int component = -1;  ///< -1: of the field
  const ParameterRow* row = nullptr;
  std::size_t parameter = 0;  ///< index into the vector that is estimated
};

/// Runs `work(i)` for i = 0 ... n - 1, in any order and on any thread.
using ForEach = std::function<void(std::size_t n, const std::function<void(std::size_t)>& work)>;
void one_after_the_other(std::size_t n, const std::function<void(std::size_t)>& work);

/// A trial as a function from parameters, in the units of their rows, to what would be measured. Simulations
/// end at each treatment's last bag. Each result depends on the parameters alone, never on threads.
class TrialModel {
 public:
  /// Slots of a driver parameter are refused: std::invalid_argument.
  TrialModel(std::vector<TrialTreatment> treatments, std::vector<Slot> slots, std::size_t parameters,
             std::vector<Observation> observations, ForEach for_each = one_after_the_other);

  std::size_t parameters() const { return parameters_; }
  const std::vector<Observation>& observations() const { return observations_; }
  const std::vector<TrialTreatment>& treatments() const { return treatments_; }

  /// The same trial looked at elsewhere: daily curves from bags, say. Days may reach to the end of the
  /// drivers.
  TrialModel measuring(std::vector<Observation> observations) const;

  /// Values by observation and, where asked for, derivatives (observations x parameters). False when a
  /// simulation fails.
  bool predict(const Eigen::VectorXd& x, Eigen::VectorXd& values, Eigen::MatrixXd* jacobian) const;

  /// Columns of `points` are parameter vectors, columns of `values` the predictions; NaN in those that fail.
  /// Eight points at a time share one simulation, grouped by their order.
  void predict_many(const Eigen::MatrixXd& points, Eigen::MatrixXd& values) const;

 private:
  template <class Real>
  Job<Real> job_of(std::size_t treatment, const JobPlan<Driver<Real>>& plan,
                   const std::function<Real(std::size_t parameter)>& value) const;
  bool predict_eight(std::size_t treatment, const Eigen::MatrixXd& points, Eigen::Index first,
                     Eigen::MatrixXd& values) const;
  void predict_alone(std::size_t treatment, const Eigen::VectorXd& x,
                     Eigen::Ref<Eigen::VectorXd> values) const;

  std::vector<TrialTreatment> treatments_;
  std::vector<JobPlan<Lanes>> lanes_;
  std::vector<Slot> slots_;
  std::size_t parameters_;
  std::vector<Observation> observations_;
  std::vector<std::vector<std::size_t>> of_treatment_;     ///< observations by treatment, by day
  std::vector<std::vector<std::size_t>> slot_parameters_;  ///< parameters that a treatment depends on
  ForEach for_each_;
};

}  // namespace stoverturn
