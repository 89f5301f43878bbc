#pragma once
/// The fields that integrators are timed on.
#include "engine/job_plan.hpp"

namespace stoverturn {

struct BenchmarkField {
  JobPlan<double> plan;
  Parameters<double> field;
  std::vector<Parameters<double>> components;
};

/// One cohort of stalks and its field, 548 days: the "surface" case of tests/reference/desolve.R at default
/// parameters, with the climate of daily_drivers.txt.
BenchmarkField one_cohort();

/// The whole model: five years of a treatment of scenarios/examples/hollow-creek.toml.
BenchmarkField hollow_creek(const std::string& treatment = "opened_buried");

Job<double> single_job(const BenchmarkField& f, const Tolerance& tolerance);

/// Eight runs; the first is the single one, others have rates of decay apart by 2 %, and temperatures by
/// `apart_C`.
Job<Lanes> lanes_job(const BenchmarkField& f, const Tolerance& tolerance, double apart_C = 0.0);

}  // namespace stoverturn
