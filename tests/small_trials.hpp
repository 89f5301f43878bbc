#pragma once
/// Invented trials in jars, small enough to be fitted many times in a test.
#include <boost/random/normal_distribution.hpp>

#include "engine/random_stream.hpp"
#include "fitting/trial_posterior.hpp"
#include "tests/trial_jobs.hpp"

namespace stoverturn {

/// Stalk and leaf in a jar at `temperature_C`, every need for N met, nothing washed out.
inline TrialTreatment small_jar(double temperature_C, Placement placement, int days) {
  TrialTreatment t;
  auto layout = std::make_shared<Layout>();
  layout->cohorts.push_back({0, 0, placement, 0, -1});
  layout->cohorts.push_back({1, 1, placement, 0, -1});
  t.plan.layout = layout;
  t.plan.pieces = {{.length_mm = 150.0, .spacing_mm = 50.0, .opening = 0.5}, {.shape = Shape::sheet}};
  t.plan.start = {0.0, 1e3, 0.0};
  t.plan.drivers = jar(temperature_C, days);
  t.plan.events = {{0, Harvest<double>{0, 300.0}}, {0, Harvest<double>{1, 100.0}}};
  t.plan.days = days;
  t.field = default_parameters();
  t.field.soak_mm_d = 0.0;  // else k_sol of buried bags hides behind wash-out
  t.components = {corn("stalk"), corn("leaf")};
  return t;
}

/// Slots of a parameter of the components, all alike, in one treatment.
inline void add_slots(std::vector<Slot>& slots, std::size_t treatment, const char* name,
                      std::size_t parameter) {
  for (int c = 0; c < 2; ++c) slots.push_back({treatment, c, find_parameter(name), parameter});
}

inline Unknown unknown(const char* name, Fit scale, double start, double lower, double upper,
                       Prior prior = {}) {
  return {name, "", "", scale, start, lower, upper, prior};
}
inline Unknown standard_effect(const char* name) {
  return unknown(name, Fit::linear, 0.0, -5.0, 5.0, {Prior::Shape::normal, 0.0, 1.0});
}

inline double standard_normal(std::uint64_t seed, std::uint64_t index) {
  RandomStream stream = random_stream(seed, "errors of a test", index);
  return boost::random::normal_distribution<double>()(stream);
}

}  // namespace stoverturn
