#pragma once
#include "scenarios/plan/scenario_jobs.hpp"
#include "scenarios/trial/fit_plan.hpp"
#include "scenarios/trial/trial_data.hpp"

namespace stoverturn {

/// A trial with everything its fit needs, read.
struct LoadedTrial {
  TrialSource source;
  Scenario scenario;
  Climates climates;
  TrialData data;
};

/// The treatments that the data of a scenario may name, for read_trial_data.
std::vector<TrialTreatmentNames> treatment_names(const Scenario& scenario);

/// A measured number and where it comes from. Same order as the observations of the trial model.
struct ObservationOrigin {
  std::size_t trial = 0;      ///< index into the loaded trials
  std::size_t row = 0;        ///< of its data
  std::size_t treatment = 0;  ///< of the scenario
  int bag = 0;                ///< case of the bootstrap: all that was measured on one bag
  int stratum = 0;            ///< treatment, placement, component and day
  int group = 0;              ///< treatment of the whole problem, for leaving one out
  int site = 0;
};

/// What is estimated from which numbers: the fit without any choice of method.
struct FitProblem {
  std::shared_ptr<const TrialPosterior> posterior;
  /// By unknown of the posterior. Of a treatment "" goes to all, also to those without data. What differs
  /// between sites goes to the site's treatments, "north: opened". Error sizes, spreads and effects go
  /// nowhere.
  std::vector<std::vector<FitTarget>> targets;
  std::vector<ObservationOrigin> origins;
  std::vector<std::size_t> model_unknowns;  ///< parameters of the model; not spreads, effects, error sizes
  /// By treatment of the trial model: its label and its key, both behind "SITE: " where sites have names; its
  /// site, as a number; and the names of its components.
  std::vector<std::string> treatments, treatment_keys;
  std::vector<int> sites;
  std::vector<std::vector<std::string>> components;
  /// Time at 25 C and with water in plenty that a day of the run is worth, d, cumulated: by treatment of the
  /// trial model and placement, one entry a day from 0 to its last bag.
  std::vector<std::array<std::vector<double>, placements>> corrected_time_d;
  std::vector<std::string> warnings;  ///< odd bags that were kept, corrections that were made
};

/// Of FitProblem::corrected_time_d; NaN for placement -1 and after the last bag.
double corrected_time_d(const FitProblem& problem, std::size_t treatment, int placement, int day);

/// Treatments without data are not simulated. Residue is not merged before the last bag, so that bags hold
/// that of the first harvest alone. Throws InputError for estimates that touch nothing the data can see,
/// components or treatments that are not there, and data without any number that can be used. Whether
/// anything measured depends on an estimate is asked by one run with derivatives at the starting values.
FitProblem fit_problem(const FitPlan& plan, const std::vector<LoadedTrial>& trials,
                       ForEach for_each = one_after_the_other);

}  // namespace stoverturn
