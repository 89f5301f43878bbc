#pragma once
#include <chrono>
#include <limits>
#include <string>
#include <vector>

#include <Eigen/Core>

#include "fitting/unknown.hpp"
#include "scenarios/results/results.hpp"

/// Everything a fit leaves behind: what is printed, kept in fit.h5 and fit.json, and run forward.
namespace stoverturn {

inline constexpr double not_there = std::numeric_limits<double>::quiet_NaN();

/// An interval at FitResult::level; NaN where the method was not asked for or refused to give one.
struct Between {
  double lower = not_there, upper = not_there;
};

/// Where an unknown is written to in a scenario.
struct FitTarget {
  std::string parameter;  ///< of the parameter table
  std::string component;  ///< "": of every component, or of the field
  std::string treatment;  ///< "": of every treatment
};

/// One estimated number, in its unit.
struct FittedUnknown {
  Unknown unknown;                 ///< with its bounds, start and prior
  std::vector<FitTarget> targets;  ///< none: not a parameter of the model (the size of an error, an effect)
  double estimate = not_there;     ///< the most probable point
  double se_on_scale = not_there;  ///< standard error on the fit scale, from the curvature
  std::string on_bound;            ///< "", "lower" or "upper"
  Between curvature, profile, bootstrap, posterior;
  std::string identifiable;  ///< in words; "" where not looked at
  double rhat = not_there, ess = not_there;
};

/// A derived quantity people talk in, with its interval from draws of the unknowns.
struct DerivedQuantity {
  std::string name;       ///< "half-life", "left after 1 year", "rate ratio to closed long", ...
  std::string treatment;  ///< label, with the placement where the trial has several
  std::string unit;
  double estimate = not_there;
  Between between;
};

/// How well a treatment is described.
struct FitQuality {
  std::string treatment, measure, unit;
  int n = 0;
  double rmse = not_there, bias = not_there, efficiency = not_there;
};

/// One line of the model comparison.
struct ComparedModel {
  std::string name;  ///< "this model", "double exponential, days at 25 C", ...
  int parameters = 0;
  double rmse = not_there, aicc = not_there, bic = not_there, weight = not_there;
  double left_out_treatment = not_there, left_out_site = not_there;  ///< prediction rmse
  std::string remark;                                                ///< "" or why a number is missing
};

inline constexpr double suspicious_sd = 3.5;  ///< standardised residuals beyond it are looked at

/// A measured number beside what the fit makes of it.
struct FitResidual {
  int line = 0;  ///< of the data file
  std::string data, treatment, placement, component, block, replicate, measure, unit;
  double day = 0.0, observed = not_there, predicted = not_there, sd = not_there;
  double standardised = not_there;  ///< (observed - predicted) / sd
  bool suspicious = false;          ///< beyond suspicious_sd
};

/// A predicted curve with its band at FitResult::level, daily from day 0.
struct FitCurve {
  std::string treatment;             ///< label, with placement and component where the bags are told apart
  std::string placement, component;  ///< these two alone; "": of all together
  std::string measure, unit;
  std::vector<double> estimate, median, lower, upper;  ///< by day; the last three empty without draws
};

struct FitProfile {
  std::size_t unknown = 0;
  std::vector<double> value, cost_above_best;  ///< value in the unit
};

/// How a stage of the search went, a sentence or a few numbers for the reader.
struct FitStage {
  std::string name;  ///< "multi-start", "population", "finish", "draws", ...
  std::string stop;  ///< why it ended, in words
  int evaluations = 0;
  double seconds = 0.0;
  double best_cost = not_there;
};

struct FitResult {
  std::string title, program;
  std::string units = "si";
  double level = 0.9;
  std::vector<std::string> treatments;      ///< labels
  std::vector<std::string> treatment_keys;  ///< as targets name them, by treatment; empty: by their labels
  std::vector<FittedUnknown> unknowns;
  double log_density = not_there, log_likelihood = not_there;
  int observations = 0;
  bool converged = false;

  Eigen::MatrixXd covariance;  ///< on the fit scale; empty where refused
  Eigen::MatrixXd draws;       ///< unknowns x draws, in their units
  std::string draws_are;       ///< "posterior", "bootstrap" or "normal approximation"; "" when none
  std::string draws_refused;   ///< why no draws of the posterior are given, "" otherwise
  std::vector<FitProfile> profiles;

  std::vector<FitStage> stages;
  std::vector<DerivedQuantity> derived;
  std::vector<FitQuality> quality;
  std::vector<ComparedModel> models;
  std::vector<FitResidual> residuals;
  std::vector<FitCurve> curves;
  std::chrono::sys_days start{};  ///< day 0 of the curves

  std::vector<std::string> warnings;  ///< each says what to do
  std::vector<std::string> methods;   ///< the methods paragraph, by sentence
  std::vector<KeptText> texts;        ///< "fit", "scenario", "data trial.csv", "weather ...": to run it again
  std::vector<std::pair<std::string, std::string>> checksums;  ///< of the inputs: name, SHA-256 in hex
};

}  // namespace stoverturn
