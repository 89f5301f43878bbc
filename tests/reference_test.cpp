/// The integrator against another: CVODE of SUNDIALS, an implicit method of variable order, on the same
/// right-hand side.
#include <algorithm>

#include "tests/crop_kinds.hpp"
#include "tests/cvode.hpp"
#include "tests/trial_jobs.hpp"

using namespace stoverturn;

namespace {

using std::chrono::sys_days;
using std::chrono::year;

std::vector<State<double>> reference_states(const Job<double>& job) {
  PoolsOde<double> ode(job.cohorts, job.field);
  // over a year of restarts BDF sums up some 300 of its own tolerances: 1e-10 would leave 0.3 of the engine's
  Cvode cvode(ode, job.layout->size(), 1e-12, 1e-14);
  State<double> x(job.layout->size(), 0.0);
  double* field = x.data() + job.layout->field();
  field[ammonium_N] = job.start.ammonium_N;
  field[nitrate_N] = job.start.nitrate_N;
  field[subsoil_nitrate_N] = job.start.subsoil_nitrate_N;
  std::vector<State<double>> states;
  for (int day = 0;; ++day) {
    for (const Event<double>& event : job.events) {
      if (event.day == day) apply<double>(event, job.cohorts, x);
    }
    states.push_back(x);
    if (day == job.days) return states;
    ode.set_day(day_factors<double>(job.drivers->days[static_cast<std::size_t>(day)], job.forms, job.field,
                                    soil_reaction(job.pH)));
    cvode.advance(x, day, day + 1.0);
  }
}

/// One year from the fifth of November on: all parts on the surface and stalks standing, urea on top in
/// November, half of the stalks buried in April, a crop of 12 g N m-2.
Trial<double> year_of_trial(const Weather& weather, int first_year) {
  WeatherDriversInput in;
  in.weather = &weather;
  in.start = sys_days{year{first_year} / 11 / 5};
  in.days = 365;
  in.mulch = {{.day = 0, .standing_added = 200.0, .surface_added = 700.0}};
  in.crops = {even_season(12.0, 185)};
  in.covers = {even_season(4.0, 10)};
  in.parameters = default_parameters();
  Trial<double> trial =
      stover(Placement::surface, std::make_shared<Drivers<double>>(weather_drivers(in).drivers), 700.0);
  trial.parts.push_back({corn("stalk"), {.length_mm = 400.0}, Placement::standing, 200.0, 0});
  trial.parts.push_back({corn("stalk"), {.length_mm = 50.0}, Placement::buried, 0.0});
  trial.events = {{5, Fertiliser<double>{4.0, 2.0, 2.0, 1.0, true}},
                  {160, Tillage<double>{{{0, 5, 0.5}, {4, 5, 0.5}}}}};
  return trial;
}

void compare(const Weather& weather, int first_year) {
  const Trial<double> trial = year_of_trial(weather, first_year);
  const auto states = states_of(job_of(trial));
  const auto reference = reference_states(job_of(trial));
  REQUIRE(states.size() == reference.size());
  double worst = 0.0;
  for (std::size_t day = 0; day < states.size(); ++day) {
    worst = std::max(worst, in_tolerances(states[day], reference[day], trial.tolerance));
  }
  CAPTURE(worst);
  // the fifth-order result is kept while the fourth-order error is controlled: all pools, every day of the
  // year, within one tolerance. CVODE's own part is below 1/100 of it.
  CHECK(worst < 1.0);

  Trial<double> halved = trial;
  halved.tolerance.relative *= 0.5;
  halved.tolerance.absolute *= 0.5;
  const auto finer = states_of(job_of(halved));
  double moved = 0.0, fine = 0.0;
  for (std::size_t day = 0; day < states.size(); ++day) {
    moved = std::max(moved, in_tolerances(states[day], finer[day], trial.tolerance));
    fine = std::max(fine, in_tolerances(finer[day], reference[day], trial.tolerance));
  }
  CAPTURE(moved, fine);
  CHECK(moved < 1.5);  // the two errors together
  CHECK(fine < 0.8 * worst);

  Trial<double> tight = trial;
  tight.tolerance.relative = tight.tolerance.absolute = 1e-10;
  const auto tightest = states_of(job_of(tight));
  double left = 0.0;
  for (std::size_t day = 0; day < states.size(); ++day) {
    left = std::max(left, in_tolerances(tightest[day], reference[day], trial.tolerance));
  }
  CAPTURE(left);
  CHECK(left < 0.05);  // 1/1000 of the tolerance and CVODE's part
}

}  // namespace

TEST_CASE("reference: CVODE agrees on exactly solvable decay", "[engine][reference]") {
  // that the reference is used rightly: solubles washed out of residue in a cold tub, no decay below -2 C:
  // S = S0 exp(-k_wash_sol (1 - b) w t) while all structure is closed
  std::vector<LoggedDay> log(20, {.temperature_C = -5.0, .water_mm = 4.0});
  const auto drivers = std::make_shared<Drivers<double>>(logged_drivers({}, log));
  const Job<double> job = job_of(stover(Placement::surface, drivers, 900.0, {"stalk"}));
  const auto states = reference_states(job);
  const Parameters<double> p = corn("stalk");
  const double w = 4.0 * p.k_wash_sol * (1.0 - p.b_closed);
  for (std::size_t day = 0; day < states.size(); ++day) {
    const double exact = 900.0 * p.carbon * p.soluble * std::exp(-w * static_cast<double>(day));
    CHECK(states[day][soluble] ==
          Approx(exact).epsilon(1e-7).margin(1e-9));  // a hundred steps a day at 1e-10
  }
}

TEST_CASE("reference: a year of New York weather against CVODE", "[engine][reference]") {
  compare(new_york(), 2013);
}

TEST_CASE("reference: a year of Ames weather against CVODE", "[engine][reference]") {
  NEEDS_SHARED("weather-ames-iowa");
  compare(ames(), 1993);
}
