#include <cstdio>

#include "engine/simulate.hpp"

int main() {
  using namespace stoverturn;
  Job<double> job;
  auto layout = std::make_shared<Layout>();
  layout->cohorts.push_back({0, 0, Placement::buried, 0, -1});
  job.layout = layout;
  job.field = default_parameters();
  const Pieces pieces{.length_mm = 150.0};
  job.cohorts.push_back(cohort_traits<double>(layout->cohorts[0], pieces, job.field, job.field));
  job.events.push_back({0, Harvest<double>{0, 500.0}});
  job.start = {2.0, 2.0, 2.0};
  job.drivers = std::make_shared<const Drivers<double>>(constant_drivers({}, 100));
  job.days = 100;
  double left = 0.0;
  const Outcome outcome =
      simulate<double>(job, [&](int, const State<double>& x) { left = carbon_in(x.data()); });
  std::printf("%s, %.1f g C m-2 left of 220\n", outcome.message.c_str(), left);
  return outcome.ok && left > 20.0 && left < 200.0 ? 0 : 1;
}
