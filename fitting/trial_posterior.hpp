#pragma once
#include <array>
#include <memory>
#include <optional>

#include "fitting/scoring.hpp"
#include "fitting/trial_model.hpp"
#include "fitting/unknown.hpp"

namespace stoverturn {

/// How a parameter of the trial model follows from the unknowns: on its fit scale, that of `base`, plus
/// `spread` times `effect` where it belongs to a group (a site) with an effect of its own. Effects are
/// standard normal beforehand (a prior of their unknown), so that groups are pulled together as far as
/// `spread` is small. The value of a group, too, lies within the bounds of `base`: where it would not, the
/// density is -infinity.
struct ModelValue {
  Fit scale = Fit::linear;
  std::size_t base = 0;
  std::optional<std::size_t> spread = {}, effect = {};
};

/// Size of the errors of one measure, sd^2 = absolute^2 + (proportional * predicted)^2 of a bag, as unknowns;
/// of a mean of n bags, that over n. Neither: the sd that the data state, over sqrt(n). What is predicted
/// includes the shift of the block. Where an sd comes out as zero there is no density.
struct ErrorSize {
  std::optional<std::size_t> absolute = {}, proportional = {};
};

/// How far off a bag may be.
enum class Tail {
  normal,
  /// t of 4 degrees of freedom, robust: Lange, Little and Taylor 1989, see robust.hpp. The sizes are its
  /// scale, not its standard deviation, which is sqrt(2) as large; a mean of n bags is taken as t, too.
  student,
};

struct TrialErrors {
  std::array<ErrorSize, measures> size;
  Tail tail = Tail::normal;
  /// Effect of a block, by observation, in units of `shift_spread`: what is measured is moved by
  /// spread * effect. Empty: none.
  std::vector<std::optional<std::size_t>> shift;
  std::optional<std::size_t> shift_spread;
};

/// How probable unknowns are, given a trial: likelihood of every observation, and the priors. docs/model.md
/// does not speak of it; docs/statistics.md, The error of a bag, does.
class TrialPosterior {
 public:
  /// `values` by parameter of the model. std::invalid_argument for indices out of range, scales that differ
  /// within a value, an observation that has no error size and no sd, bounds that are not finite or in
  /// disorder, a start beyond them, or an error size that is used for something else.
  TrialPosterior(std::shared_ptr<const TrialModel> model, std::vector<ModelValue> values,
                 std::vector<Unknown> unknowns, TrialErrors errors);

  const std::vector<Unknown>& unknowns() const { return unknowns_; }
  const TrialModel& model() const { return *model_; }

  Eigen::VectorXd start() const;  ///< z of the unknowns' starts
  Eigen::VectorXd lower() const;  ///< bounds, on the fit scale
  Eigen::VectorXd upper() const;
  Eigen::VectorXd in_units(const Eigen::VectorXd& z) const;      ///< the unknowns in their units
  Eigen::VectorXd model_values(const Eigen::VectorXd& z) const;  ///< parameters of the trial model

  /// Log density of z with its gradient. `weights` counts observations, by observation: how often each was
  /// drawn (bootstrap), or 0 for one left out; empty: each once. The result may outlive this object and be
  /// called from several threads.
  LogDensity density(std::vector<double> weights = {}) const;

  /// The same with score and expected information: two rows for each observation, one for each
  /// unknown.
  InformedDensity informed(std::vector<double> weights = {}) const;

  /// Columns of `z` are points; -infinity where one cannot be evaluated. Eight at a time share a simulation.
  void log_densities(const Eigen::MatrixXd& z, Eigen::VectorXd& values) const;

  /// Residuals over their sd, normal priors and effects after them, as least squares in all unknowns but the
  /// error sizes, which stay as in `z` (`free` says which unknowns are columns). The tail is not looked at.
  /// A residual is the prediction less what was observed, times the root of its weight.
  LeastSquares least_squares(const Eigen::VectorXd& z, std::vector<std::size_t>* free,
                             std::vector<double> weights = {}) const;

  struct Predicted {
    Eigen::VectorXd value;  ///< by observation, shifts of blocks included
    Eigen::VectorXd sd;     ///< of the observation about it
  };
  /// nullopt when a simulation fails.
  std::optional<Predicted> predicted(const Eigen::VectorXd& z) const;

  double log_likelihood(const Predicted& predicted, const std::vector<double>& weights = {}) const;

  std::vector<std::size_t> error_sizes() const;  ///< unknowns that are sizes of errors, ascending
  /// `z` with the error sizes that are most probable when predictions stay as they are; as it is where these
  /// cannot be made. One simulation.
  Eigen::VectorXd with_best_error_sizes(const Eigen::VectorXd& z,
                                        const std::vector<double>& weights = {}) const;

 private:
  struct Means {
    Eigen::VectorXd value;     // by observation, with shifts
    Eigen::MatrixXd jacobian;  // by the unknowns; empty: not asked for
  };
  void check() const;
  bool possible(const Eigen::VectorXd& z) const;
  bool means(const Eigen::VectorXd& z, bool derivatives, Means& result) const;
  void shift(const Eigen::VectorXd& z, Means& means) const;
  double sd_of(std::size_t observation, const Eigen::VectorXd& z, double predicted) const;
  double prior(const Eigen::VectorXd& z) const;
  double value(const Eigen::VectorXd& z, const Means& means, const std::vector<double>& weights) const;
  void inform(const Eigen::VectorXd& z, const Means& means, const std::vector<double>& weights,
              Eigen::VectorXd& score, Eigen::MatrixXd& root) const;
  double evaluate(const Eigen::VectorXd& z, const std::vector<double>& weights, Eigen::VectorXd* score,
                  Eigen::MatrixXd* root) const;

  std::shared_ptr<const TrialModel> model_;
  std::vector<ModelValue> values_;
  std::vector<Unknown> unknowns_;
  TrialErrors errors_;
};

}  // namespace stoverturn
