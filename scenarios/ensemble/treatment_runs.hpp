#pragma once
#include "fitting/trial_model.hpp"
#include "scenarios/ensemble/run_numbers.hpp"

namespace stoverturn {

/// The parameters of a treatment in one draw.
struct DrawnParameters {
  Parameters<double> field;
  std::vector<Parameters<double>> components, of_material;
};

/// By treatment and draw; the scenario's own where it has no draws.
std::vector<std::vector<DrawnParameters>> drawn_parameters(const Scenario& scenario, const ForEach& for_each);

/// A run that could not be integrated: its row is NaN.
struct RunFailure {
  std::size_t run;
  std::string message;
};

/// Runs of one treatment in one place: futures with every draw, draws innermost. Up to eight are simulated
/// together; the caller says which by their number alone, so that bits are the same on any machine however
/// the work is divided. Scenario, draws and numbers must outlive it.
class TreatmentRuns {
 public:
  /// `futures` are the treatment's jobs, one a future, from future `first_future` on.
  TreatmentRuns(const Scenario& scenario, std::size_t treatment, std::size_t first_future,
                std::vector<TreatmentJob> futures, const std::vector<DrawnParameters>& draws,
                const RunNumbers& numbers);

  /// Fills the rows of the `count` runs from `first` on, `numbers.columns` wide each. Any thread.
  std::vector<RunFailure> run(std::size_t first, std::size_t count, std::span<double> rows) const;

 private:
  template <class Real>
  class Sampler;
  struct Run {
    const TreatmentJob* made;
    Treatment treatment;  ///< with the draw's parameters
    Job<double> job;
  };
  Run run_of(std::size_t run) const;

  const Scenario& scenario_;
  std::size_t treatment_, first_future_;
  std::vector<TreatmentJob> futures_;
  const std::vector<DrawnParameters>& draws_;
  const RunNumbers& numbers_;
};

}  // namespace stoverturn
